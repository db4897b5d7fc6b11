import { BenchError } from '../fault/bench-error.ts'
import { said } from '../words/said/said.ts'
import type { LinkManners, Owed } from './link.ts'

/** What bringing a link back in step takes. Every wait in it ends by itself, or with the reason of whoever calls it off. */
export interface Conversation {
  readonly who: string
  nowMs(): number
  /** One message, paced as the instrument wants it; "" is the bare terminator. */
  say(text: string): Promise<void>
  /** One message that is answered with a line. */
  ask(text: string): Promise<void>
  /** The next line, or undefined when none has come by `dueMs`. */
  hear(dueMs: number): Promise<string | undefined>
  /** Throws away what comes until nothing has come for `quietMs`, and counts the lines; "noisy" when that is not so by `dueMs`. */
  hush(quietMs: number, dueMs: number): Promise<number | 'noisy'>
  /** What came since the conversation began, how many questions were asked in it, and when a byte last came, ms. */
  heard(): { readonly bytes: number; readonly lines: number; readonly asked: number; readonly lastByteMs: number }
  /** The number for the next sentinel. */
  nextSentinel(): number
}

/** What is known when a link is to be brought back in step. */
export interface OutOfStep {
  readonly manners: LinkManners
  /** How long the slowest unanswered question may still take, ms. */
  readonly patienceMs: number
  /** Replies that may still come. */
  readonly owed: Owed
  /** Whether nothing is believed while a reply is owed, however well the instrument answers meanwhile. */
  readonly waitsForOwed: boolean
  /** Whether the error queue may be emptied: not when it may hold the answer to a setting made just now. */
  readonly mayClear: boolean
  /** What the instrument answered when first asked who it is; null when it was not asked yet. */
  readonly identity: string | null
}

/** Tries before a link is given up: the first may lose its bytes to a deaf instrument or to a half command it still holds. */
const TRIES = 2
const IDENTITY_ROUNDS = 2
/** The second try need not wait for a slow reply once more, ms. */
const SECOND_TRY_MS = 1000

/**
 * Brings a link back in step: nothing that was said before can become the answer to the next question. Returns the identity
 * reply where it asked for one. Throws TRANSPORT_REPLY_TIMEOUT (nobody answers), TRANSPORT_REPLY_GARBLED or TRANSPORT_OUT_OF_STEP.
 */
export async function resync(talk: Conversation, known: OutOfStep): Promise<string | null> {
  const identity = await backInStep(talk, known)
  if (known.waitsForOwed) await nothingOwed(talk, known)
  return identity
}

async function backInStep(talk: Conversation, known: OutOfStep): Promise<string | null> {
  const { manners } = known
  const limitMs = known.patienceMs + manners.quietMs
  switch (manners.resync) {
    case 'drain':
      await drain(talk, known)
      return null
    case 'reopen': // the connection is new; what was said on the old one may still come out of a serial adapter
      await quiet(talk, manners.quietMs, limitMs)
      return null
    case 'sentinel':
      await attempt(talk, known, (dueMs) => sentinel(talk, manners, dueMs))
      return null
    case 'identity': {
      const { identityAsk } = manners
      if (identityAsk === null) throw new TypeError(`${talk.who}: resync by identity needs the question for it`)
      return attempt(talk, known, (dueMs) => identity(talk, manners, identityAsk, known.identity, dueMs))
    }
    default:
      return manners.resync satisfies never
  }
}

/** Runs `check` after a discard, a bare terminator and the clear; again when it found the link still out of step. */
async function attempt<T>(
  talk: Conversation,
  known: OutOfStep,
  check: (dueMs: number) => Promise<T | undefined>,
): Promise<T> {
  const { manners, patienceMs } = known
  for (let tries = 0; tries < TRIES; tries++) {
    await quiet(talk, manners.quietMs, patienceMs + manners.quietMs)
    await talk.say('') // ends a half command that the instrument may still hold
    await quiet(talk, manners.quietMs, patienceMs + manners.quietMs)
    if (manners.clear !== null && known.mayClear) await talk.say(manners.clear)
    const found = await check(talk.nowMs() + (tries === 0 ? patienceMs : Math.min(patienceMs, SECOND_TRY_MS)))
    if (found !== undefined) return found
  }
  throw notInStep(talk, known)
}

/** IEEE 488.2: sets the event status enable register to a new number and asks for it; no old reply can be that number. */
async function sentinel(talk: Conversation, manners: LinkManners, dueMs: number): Promise<true | undefined> {
  const number = talk.nextSentinel()
  await talk.say(`*ESE ${number}`)
  await talk.ask('*ESE?')
  for (;;) {
    const line = await talk.hear(dueMs)
    if (line === undefined) return undefined
    if (/^\s*\+?\d+\s*$/.test(line) && Number.parseInt(line, 10) === number) break
  }
  await talk.say('*ESE 0')
  return (await nothingMore(talk, manners)) ? true : undefined
}

/** Two identity replies alike, quiet between and after. Where it is known, old replies before it are thrown away. */
async function identity(
  talk: Conversation,
  manners: LinkManners,
  question: string,
  knownIdentity: string | null,
  dueMs: number,
): Promise<string | undefined> {
  let expected = knownIdentity
  for (let round = 0; round < IDENTITY_ROUNDS; round++) {
    await talk.ask(question)
    let line = await talk.hear(dueMs)
    while (round === 0 && expected !== null && line !== undefined && line !== expected) line = await talk.hear(dueMs)
    if (line === undefined || (expected !== null && line !== expected)) return undefined
    expected = line
    if (!(await nothingMore(talk, manners))) return undefined
  }
  return expected ?? undefined
}

/** For instruments that cannot be asked: until the replies still owed have come or may no longer come, then quiet. */
async function drain(talk: Conversation, known: OutOfStep): Promise<void> {
  const { manners, patienceMs } = known
  const dueMs = talk.nowMs() + patienceMs
  for (let owed = known.owed.count; owed > 0; owed--) {
    if ((await talk.hear(dueMs)) === undefined) break
  }
  await quiet(talk, manners.quietMs, patienceMs + manners.quietMs)
}

/**
 * An instrument that answers while its measurement still runs has proved nothing by answering: what is owed must have come, or as
 * long as it may take must have passed in silence. What was asked on the way and not answered is owed too.
 */
async function nothingOwed(talk: Conversation, { manners, owed }: OutOfStep): Promise<void> {
  const again = talk.heard().asked > (manners.resync === 'identity' ? IDENTITY_ROUNDS : 1)
  const fromMs = again ? Math.max(owed.fromMs, talk.nowMs()) : owed.fromMs
  for (let waited = false; ; waited = true) {
    const { lines, asked, lastByteMs } = talk.heard()
    if (lines >= owed.count + asked) {
      if (waited) await quiet(talk, manners.quietMs, owed.slowestMs + manners.quietMs)
      return
    }
    const dueMs = Math.max(fromMs, lastByteMs) + owed.slowestMs
    if ((await talk.hear(dueMs)) === undefined && talk.heard().lastByteMs <= lastByteMs) return
  }
}

async function quiet(talk: Conversation, quietMs: number, limitMs: number): Promise<void> {
  if ((await talk.hush(quietMs, talk.nowMs() + limitMs)) !== 'noisy') return
  throw new BenchError(
    'TRANSPORT_OUT_OF_STEP',
    talk.who,
    said('link.never-quiet', { quiet: `${quietMs} ms`, time: `${limitMs} ms` }),
  )
}

async function nothingMore(talk: Conversation, manners: LinkManners): Promise<boolean> {
  return (await talk.hush(manners.quietMs, talk.nowMs() + 2 * manners.quietMs)) === 0
}

function notInStep(talk: Conversation, known: OutOfStep): BenchError {
  const asked = known.manners.resync === 'sentinel' ? '*ESE?' : (known.manners.identityAsk ?? '')
  const { bytes, lines } = talk.heard()
  if (bytes === 0) {
    const silent = said('link.no-reply-asked', { question: asked, time: `${known.patienceMs} ms`, count: TRIES })
    return new BenchError('TRANSPORT_REPLY_TIMEOUT', talk.who, silent)
  }
  if (lines === 0) {
    const garbled = said('link.no-end-asked', { bytes, question: asked })
    return new BenchError('TRANSPORT_REPLY_GARBLED', talk.who, garbled)
  }
  const strange = said('link.none-expected', { count: lines, question: asked })
  return new BenchError('TRANSPORT_OUT_OF_STEP', talk.who, strange)
}

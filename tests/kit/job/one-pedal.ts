import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { chromium, type Page } from 'playwright-core'
import { createHand } from '../../../mocks/hand/hand.ts'
import type { LiveSource } from '../../../src/alignment/live-source.ts'
import { openFastBench } from '../../../src/commands/job/fast-bench.ts'
import type { FromPage, LiveFrame } from '../../../src/schema/messages/shown.ts'
import { openServer } from '../../../src/server/open-server.ts'
import { realClock, sleep } from '../../../src/system/clock.ts'
import { openLog } from '../../../src/system/log.ts'
import { seededRng } from '../../../src/system/rng.ts'
import { type VirtualClock, virtualClock } from '../../../src/system/virtual-clock.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { joinLive } from '../links/live-client.ts'
import { CHROMIUM } from '../program/chromium.ts'
import { runCommand } from '../program/run-command.ts'
import { startService } from '../program/service.ts'
import { type SetOverSocket, setOverSocket } from './set-over-socket.ts'

export interface PedalJob {
  /** The last frame of the job. */
  readonly done: LiveFrame
  /** What each press of the pedal was for. */
  readonly presses: readonly FromPage['kind'][]
  /** How often the supply was off for safety and the person went on from the screen, as only a screen can. */
  readonly stops: readonly string[]
  /** What the hands wanted that no pedal can say. */
  readonly odd: readonly string[]
  /** Steps that were opened again in the list of steps, as a weak band end asks for. */
  readonly opened: readonly string[]
  /** What the set's page refused. */
  readonly refused: readonly string[]
  /** What `verify` says of its record, and its exit code. */
  readonly verified: { readonly code: number | null; readonly out: string }
}

interface PedalWork {
  /** Title of the procedure, as the job form has it. */
  readonly sheet: string
  /** Gives up after so many real seconds. */
  readonly longestS: number
}

/** What a press may stand for. The settings of a set are read off its menu and typed: no pedal writes words. */
const PEDAL: ReadonlySet<FromPage['kind']> = new Set(['ready', 'confirm', 'next', 'go on'])

type Closers = (() => unknown)[]

/**
 * A whole job in a browser: from the job form on the gauge page is touched by one pedal alone (PageDown), but for the settings that
 * are typed; the hands work at the set over the socket of its own page and see the frames that the gauge page shows. Rejects when the
 * job is not done in `longestS`, saying where it stands.
 */
export function jobByOnePedal(about: PedalWork & { readonly pace: number }): Promise<PedalJob> {
  return inFolder(async (folder, closers) => {
    const service = await startService(['--data', folder, '--pace', String(about.pace)])
    closers.push(() => service.close())
    const gauge = await openGauge(service.url, closers)
    const hands = await setOverSocket(service.setPage)
    closers.push(() => hands.close())
    const watcher = await joinLive(service)
    closers.push(() => watcher.close())
    const here = setInterval(() => watcher.say({ kind: 'here', visible: true }), 1000)
    closers.push(() => clearInterval(here))

    let frame: LiveFrame | null = null
    const pedal = onePedal(gauge, () => frame)
    const onFrame = handAt(hands, pedal.request, realClock(service.pace), closers)
    await begin(gauge, about.sheet)
    const done = await finished(about.longestS, pedal, (listener) =>
      watcher.socket.on('message', (data) => {
        const message = JSON.parse(String(data))
        if (message.kind !== 'frame') return
        frame = message
        onFrame(message)
        listener(message)
      }),
    )
    await pedal.atRest()
    await gauge.getByRole('button', { name: 'Close the job' }).first().click()
    const closed = await watcher.take('frame', ({ job }) => (job?.record ?? '') !== '')
    return { done, ...pedal.told, refused: hands.refused, verified: await verify(closed) }
  })
}

/** The bench runs this much ahead of the browser at most: bench ms that pass before real time gets a turn. */
const AHEAD_MS = 100

/**
 * The same on the bench whose clock jumps, which stands still while the browser is at work and while a press is on its way: however busy
 * the machine is, it costs the bench no time. Page, sockets, server, session, journal and record are the real ones; links and keeper are
 * in this process.
 */
export function fastJobByOnePedal(about: PedalWork & { readonly procedure: string }): Promise<PedalJob> {
  const clock = virtualClock()
  return clock.runUntil(
    inFolder(async (folder, closers) => {
      const { procedure } = about
      const fast = await openFastBench({ procedure, seed: null, warm: true, recordIn: folder, setPage: true }, clock)
      closers.push(() => fast.close())
      const { session } = fast
      await session.request({ kind: 'watch', id: 'first', quantity: 'RF power', target: 'maximum' }) // as the service does
      await sleep(clock, 1000, fast.signal)
      const arrivals = arrivalsAt(session)
      const server = await standingStill(
        clock,
        openServer({
          source: arrivals.source,
          port: 0,
          webRoot: 'web/dist',
          clock,
          pageClock: realClock(),
          log: openLog('pages'),
        }),
      )
      closers.push(() => server.close())
      const [gauge, hands] = await standingStill(
        clock,
        Promise.all([openGauge(server.url, closers), setOverSocket(fast.world.setPageUrl ?? '')]),
      )
      closers.push(() => hands.close())

      const pedal = onePedal(gauge, () => worded(session.latest()), arrivals.next)
      const onFrame = handAt(
        hands,
        (asked) => {
          pedal.request(asked)
          clock.standFor(pedal.atRest())
        },
        clock,
        closers,
      )
      inStep(clock, hands, fast.signal).catch(() => {}) // the bench is closed
      await standingStill(clock, begin(gauge, about.sheet))
      const done = await finished(about.longestS, pedal, (listener) =>
        session.onFrame((frame) => {
          onFrame(worded(frame))
          listener(worded(frame))
        }),
      )
      const closed = new Promise<LiveFrame>((resolve) =>
        session.onFrame((frame) => {
          if ((frame.job?.record ?? '') !== '') resolve(worded(frame))
        }),
      )
      await standingStill(clock, gauge.getByRole('button', { name: 'Close the job' }).first().click())
      const verified = await standingStill(clock, verify(await closed))
      return { done, ...pedal.told, refused: hands.refused, verified }
    }),
  )
}

async function inFolder<T>(work: (folder: string, closers: Closers) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'trimwright-pedal-'))
  const closers: Closers = [() => rmSync(folder, { recursive: true, force: true })]
  try {
    return await work(folder, closers)
  } finally {
    for (const close of closers.toReversed()) await close()
  }
}

function standingStill<T>(clock: VirtualClock, work: Promise<T>): Promise<T> {
  clock.standFor(work)
  return work
}

/** Every `AHEAD_MS` of bench time real time gets its turn: what was said to the set has arrived, pages have been sent their frames. */
async function inStep(clock: VirtualClock, hands: SetOverSocket, signal: AbortSignal): Promise<never> {
  for (;;) {
    await sleep(clock, AHEAD_MS, signal)
    clock.standFor(hands.arrived())
  }
}

/** A source that tells when the service has been asked something. */
function arrivalsAt(source: LiveSource): {
  readonly source: LiveSource
  next(kind: FromPage['kind']): Promise<void>
} {
  const waiting = new Set<(message: FromPage) => void>()
  return {
    source: {
      ...source,
      request: (message) => {
        const answer = source.request(message)
        for (const look of [...waiting]) look(message)
        return answer
      },
    },
    next: (kind) =>
      new Promise((resolve) => {
        const look = (message: FromPage) => {
          if (message.kind !== kind) return
          waiting.delete(look)
          resolve()
        }
        waiting.add(look)
      }),
  }
}

async function openGauge(url: string, closers: Closers): Promise<Page> {
  const browser = await chromium.launch(CHROMIUM)
  closers.push(() => browser.close())
  const gauge = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage()
  await gauge.goto(url)
  await gauge.getByRole('button', { name: 'Change' }).waitFor() // it steers; whoever comes later looks on
  return gauge
}

function handAt(
  hands: SetOverSocket,
  request: (message: FromPage) => void,
  clock: Parameters<typeof createHand>[0]['clock'],
  closers: Closers,
): (frame: LiveFrame) => void {
  const stopping = new AbortController()
  closers.push(() => stopping.abort(new Error('the job is over')))
  return createHand({ set: hands.set, clock, rng: seededRng(2), request, signal: stopping.signal }).onFrame
}

async function begin(gauge: Page, sheet: string): Promise<void> {
  await gauge.getByRole('button', { name: 'Change' }).click()
  await gauge.getByRole('button', { name: 'Start a job' }).click()
  await gauge.getByText(sheet, { exact: true }).click()
  await gauge.getByLabel('Serial number').fill('PEDAL-1')
  await gauge.getByLabel('The same serial').fill('PEDAL-1')
  await gauge.getByRole('button', { name: 'Begin' }).click()
}

function finished(
  longestS: number,
  pedal: Pedal,
  listen: (listener: (frame: LiveFrame) => void) => unknown,
): Promise<LiveFrame> {
  return new Promise((resolve, reject) => {
    let at = 'no frame yet'
    const tooLong = setTimeout(
      () => reject(new Error(`not done in ${longestS} s; at ${at}; after ${pedal.told.presses.length} presses`)),
      longestS * 1000,
    )
    pedal.deaf.addEventListener('abort', () => {
      clearTimeout(tooLong)
      reject(pedal.deaf.reason)
    })
    listen((now) => {
      at = `${now.step?.id}: ${now.state}, ${now.guide.words} ${now.because}`
      if (now.state === 'stopped') pedal.goOn(now.because)
      if (now.state !== 'finished') return
      clearTimeout(tooLong)
      resolve(now)
    })
  })
}

function verify({ job }: LiveFrame): Promise<PedalJob['verified']> {
  return runCommand(['verify', job?.record ?? ''])
}

/** A foot bounces: a press sooner after the last one is not counted by the page. */
const BETWEEN_PRESSES_MS = 200

/** A press that nothing came of is made again after so long, so many times. */
const ANSWERED_MS = 500
const MOST_TRIES = 5

const pause = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, Math.max(0, ms)))

type Pedal = ReturnType<typeof onePedal>

/**
 * Turns what the hands want of the service into presses of one key and words in fields, one after the other.
 * `arrived` resolves when the service has been asked for that.
 */
function onePedal(gauge: Page, frame: () => LiveFrame | null, arrived?: (kind: FromPage['kind']) => Promise<void>) {
  const presses: FromPage['kind'][] = []
  const odd: string[] = []
  const opened: string[] = []
  const stops: string[] = []
  /** Aborted when the page does not hear the pedal. */
  const deaf = new AbortController()
  let touches: Promise<unknown> = Promise.resolve()
  let pressedMs = Number.NEGATIVE_INFINITY
  const touch = (does: () => Promise<unknown>) => {
    touches = touches.then(does, does)
  }
  /** The page has drawn whatever it was sent, and sent whatever was written. */
  const drawn = () =>
    gauge.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve))))
  const press = async (kind: FromPage['kind']) => {
    const there = arrived?.(kind).then(() => 'there' as const)
    for (let tries = 0; tries < MOST_TRIES; tries += 1) {
      await pause(pressedMs + BETWEEN_PRESSES_MS - performance.now())
      await drawn() // what a press means is settled by what the page shows
      // a step that went on by itself meanwhile wants no foot
      if (!frame()?.offers.some((offer) => offer === kind)) return
      presses.push(kind)
      await gauge.keyboard.press('PageDown', { delay: 60 })
      pressedMs = performance.now()
      // one that showed the cautions further down is followed by another
      if (!there || (await Promise.race([there, pause(ANSWERED_MS)])) === 'there') return
    }
    deaf.abort(new Error(`"${kind}" was pressed ${MOST_TRIES} times and nothing came of it`))
  }
  /** No pedal goes back: a step is opened again in the list of steps. */
  const openStep = async (step: string) => {
    const there = arrived?.('open step')
    const at = frame()?.steps.findIndex(({ id }) => id === step) ?? -1
    opened.push(step)
    await gauge.getByRole('button', { name: 'Steps' }).click()
    await gauge.locator('.steps li').nth(at).getByRole('button', { name: 'Open' }).click()
    await there
  }
  const request = (asked: FromPage) => {
    const { kind } = asked
    if (PEDAL.has(kind)) touch(() => press(kind))
    else if (kind === 'note setting')
      touch(async () => {
        const column = { found: 'found', job: 'for this job', left: 'left' }[asked.column]
        await gauge.getByLabel(`${asked.name}, ${column}`, { exact: true }).fill(asked.value)
        await gauge.keyboard.press('Enter')
        await drawn()
      })
    else if (kind === 'open step') touch(() => openStep(asked.step))
    else if (kind !== 'here') odd.push(JSON.stringify(asked))
  }
  let going = false
  const goOn = (because: string) => {
    if (going) return
    going = true
    stops.push(because)
    touch(async () => {
      await gauge.getByRole('button', { name: 'Go on' }).click({ timeout: 10_000 })
      going = false
    })
  }
  return { request, goOn, deaf: deaf.signal, told: { presses, stops, odd, opened }, atRest: () => touches }
}

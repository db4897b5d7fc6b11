import { wordsOf } from '../../fault/bench-error.ts'
import type { FromStandby, StandbyStart, ToStandby } from '../../schema/messages/standby-message.ts'
import type { Clock } from '../../system/clock.ts'
import { within } from '../../system/deadline.ts'
import type { Log } from '../../system/log.ts'
import type { Words } from '../../words/said/said.ts'
import { countSilence, type Silence, STANDBY } from '../rules/silence.ts'

/** The service's end of the way to one standby. */
export interface StandbyPipe {
  say(word: ToStandby): void
  /** One listener, set before anything is said. */
  listen(ear: { word(word: FromStandby): void; gone(how: string): void }): void
  /** Ends it by force. */
  kill(): void
}

/** What making safe without the keeper has come to. */
export interface Swept {
  readonly proved: boolean
  readonly words: Words
}

/** Sees to it that a standby is there, and that somebody makes safe when the keeper is lost. */
export interface StandbyGuard {
  /** Resolves when keeper and standby hear each other, or the guard is closed. */
  readonly there: Promise<void>
  /** The standby first; where it is gone or silent it is ended and another one does it. `news`: each word on the way. Never rejects. */
  sweep(why: Words, news: (swept: Swept) => void): Promise<Swept>
  /** The keeper has ended: what only watched is ended too; who makes safe goes on. Idempotent. */
  close(): Promise<void>
}

/** What the guard works with; `factor`: clock ms per ms of real time. */
export interface GuardNeeds {
  readonly clock: Clock
  readonly log: Log
  readonly factor: number
  readonly identity: () => string
  /** Starts a standby; throws where the system cannot. */
  readonly start: (about: Pick<StandbyStart, 'begin' | 'identity'>) => StandbyPipe
}

const RESTART_MS = 500
const END_MS = 2000
const START_MS = 8000

interface Held {
  readonly pipe: StandbyPipe
  readonly silence: Silence
  silentMs: number
  acting: boolean
  spoke: boolean
  end: Swept | null
}

/** Starts the first standby and watches over it. */
export function guardStandby(needs: GuardNeeds): StandbyGuard {
  const { clock, log, factor } = needs
  const over = new AbortController()
  let current: Held | null = null
  let spare: Held | null = null
  let why: Words | null = null
  let closed = false
  let result: Swept | null = null
  let news: (swept: Swept) => void = () => {}
  let setThere = () => {}
  const there = new Promise<void>((resolve) => {
    setThere = resolve
  })
  let setSwept: (swept: Swept) => void = () => {}
  const swept = new Promise<Swept>((resolve) => {
    setSwept = resolve
  })
  let setEnded = () => {}
  const ended = new Promise<void>((resolve) => {
    setEnded = resolve
  })

  const hear = (held: Held, word: FromStandby) => {
    held.silence.heard(clock.nowMs())
    held.silentMs = 0
    held.spoke = true
    if (word.kind === 'watching') setThere()
    if (word.kind === 'taking over') held.acting = true
    if (word.kind === 'proved' || word.kind === 'not proved')
      news({ proved: word.kind === 'proved', words: word.words })
    if (word.kind === 'ended') {
      held.end = { proved: word.proved, words: word.words }
      if (held === spare) spare = null // it gave up on who still held the supply: nothing to put in its place
      if (held !== current) return
      result = held.end
      setSwept(result)
    }
  }

  const lose = (held: Held, how: string) => {
    if (held === spare) spare = null
    if (held !== current) return
    current = spare
    spare = null
    if (closed || held.end) return setEnded()
    log.warn({}, `the standby keeper is gone (${how})`)
    if (current && why !== null) current.pipe.say({ verb: 'take over', why })
    if (current) return
    clock.sleepUntil(clock.nowMs() + (why === null ? RESTART_MS * factor : 0), over.signal).then(renew, () => {})
  }

  const begin = (): Held | null => {
    try {
      const pipe = needs.start({ begin: why === null ? 'watching' : { why }, identity: needs.identity() })
      const held: Held = {
        pipe,
        silence: countSilence(clock.nowMs(), factor),
        silentMs: 0,
        acting: false,
        spoke: false,
        end: null,
      }
      pipe.listen({ word: (word) => hear(held, word), gone: (how) => lose(held, how) })
      return held
    } catch (error) {
      log.error({}, `no standby keeper: ${wordsOf(error)}`)
      return null
    }
  }
  const renew = () => {
    if (closed || current !== null) return
    current = begin()
    if (current === null) clock.sleepUntil(clock.nowMs() + RESTART_MS * factor, over.signal).then(renew, () => {})
  }

  /** Who is silent is ended; a spare that was started meanwhile takes its place. */
  const replace = () => {
    const old = current
    current = spare
    spare = null
    old?.pipe.kill()
    if (current && why !== null) current.pipe.say({ verb: 'take over', why })
    renew()
  }

  const watch = async () => {
    for (;;) {
      await clock.sleepUntil(clock.nowMs() + STANDBY.tickMs * factor, over.signal)
      const held = current
      if (!held || held.end) continue
      held.silentMs = held.silence.tick(clock.nowMs())
      // Who is being started has said nothing yet: ended too early, none would ever come up on a busy computer.
      if (!held.spoke && held.silentMs < START_MS * factor) continue
      if (held.silentMs >= STANDBY.silentMs * factor) replace()
      else if (held.silentMs >= STANDBY.doubtfulMs * factor) spare ??= begin()
      else if (spare) {
        spare.pipe.kill()
        spare = null
      }
    }
  }

  const answered = async () => {
    const held = current
    if (result) return
    if (!held) return renew()
    if (held.spoke && held.silentMs >= STANDBY.doubtfulMs * factor) return replace()
    held.pipe.say({ verb: 'take over', why: why ?? '' })
    await clock.sleepUntil(clock.nowMs() + STANDBY.answerMs * factor, over.signal)
    // Who is still being started takes over as soon as it can read; `watch` replaces it when it never does.
    if (held === current && held.spoke && !held.acting && !held.end) replace()
  }

  renew()
  watch().catch(() => {}) // ends with `over`
  return {
    there,
    sweep: (reason, tell) => {
      why = reason
      news = tell
      answered().catch(() => {}) // closed meanwhile
      return swept
    },
    close: async () => {
      if (closed) return ended
      closed = true
      setThere()
      if (current && !current.end && !current.acting) {
        await within(clock, END_MS * factor, ended, () => {})
      }
      over.abort(new Error('closed'))
      spare?.pipe.kill()
      if (current && !current.acting) current.pipe.kill()
      setEnded()
    },
  }
}

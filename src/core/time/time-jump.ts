import { type Said, said } from '../../words/said/said.ts'

/** Three clocks of one computer, read at one moment, ms. */
export interface TimeSeen {
  /** Since some start; stands still while the computer sleeps, never set. */
  readonly monoMs: number
  /** Since boot, sleep included; never set. Where there is none it is `monoMs`. */
  readonly bootMs: number
  /** Wall time since 1970; people and time servers set it. */
  readonly wallMs: number
}

/** What came between two looks at the clocks: the computer slept, or its clock was set by `byMs` (back: negative). */
export interface TimeJump {
  readonly kind: 'slept' | 'set'
  readonly byMs: number
}

/** Slower than a busy computer, faster than a person would not notice. */
const SLEPT_MS = 2000
/** Time servers slew less than 0.05 % of a tick: only a step is so large. */
const SET_MS = 500

/** What happened to time between two looks, in this order; none where all three clocks went on together. */
export function timeJumps(before: TimeSeen, now: TimeSeen): readonly TimeJump[] {
  const bootMs = now.bootMs - before.bootMs
  const sleptMs = bootMs - (now.monoMs - before.monoMs)
  const setMs = now.wallMs - before.wallMs - bootMs
  const jumps: TimeJump[] = []
  if (sleptMs > SLEPT_MS) jumps.push({ kind: 'slept', byMs: sleptMs })
  if (Math.abs(setMs) > SET_MS) jumps.push({ kind: 'set', byMs: setMs })
  return jumps
}

/** For page, log and journal; `wall` is the time after it, ISO 8601. */
export function timeJumpWords({ kind, byMs }: TimeJump, wall: string): Said {
  const span = `${(Math.abs(byMs) / 1000).toFixed(1)} s`
  if (kind === 'slept') return said('clock.slept', { span, wall })
  return byMs > 0 ? said('clock.set-forward', { span, wall }) : said('clock.set-back', { span, wall })
}

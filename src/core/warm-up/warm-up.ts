import { type Said, said, type Words } from '../../words/said/said.ts'
import { awayFromEnd, driftAt, endOf, type WarmFit, type WarmSample, warmFit } from './warm-fit.ts'

/** When a set counts as warm. */
export interface WarmUpRule {
  /** The most that it may still move, Hz a minute, above 0. */
  readonly driftHzPerMin: number
  /** Usual standard deviation of one sample, Hz; 1 where nobody says. */
  readonly noiseHz?: number
}

/** A set that is watched while it grows warm. */
export interface WarmUp {
  readonly rule: WarmUpRule
  /** Newest last; begins anew where the frequency jumped, because somebody turned an adjuster. */
  readonly samples: readonly WarmSample[]
  /** How often it began anew. */
  readonly jumps: number
  /** Fitted to all samples, and to all but the newest; null for fewer than three. */
  readonly fit: WarmFit | null
  readonly fitBefore: WarmFit | null
}

/** `too early`: no prediction yet. `warming`: it moves, or may move, more than allowed. `ready`: warm; only now may anything be captured. */
export type WarmVerdict = 'too early' | 'warming' | 'ready'

/** How the warm-up stands. */
export interface WarmView {
  readonly verdict: WarmVerdict
  /** Movement now, Hz a minute, and the half width within which it lies (95 %); null while it is too early. */
  readonly driftHzPerMin: number | null
  readonly driftDoubtHzPerMin: number | null
  /** Predicted end, Hz, and its half width (95 %). Never a result: nothing is captured from it. */
  readonly endHz: number | null
  readonly endDoubtHz: number | null
  /** Until it is expected to move less than allowed for certain, s; 0 when ready. */
  readonly readyInS: number | null
  /** Where to aim now so that it ends at the aim, Hz above the aim: how far it still is from its end. */
  readonly aimOffsetHz: number | null
  readonly words: Words
}

const USUAL_NOISE_HZ = 1
/** Before this a bend cannot be told from a slope. */
const LEAST_SAMPLES = 3
const LEAST_S = 120
const LEAST_READY_S = 30
const MOST_READY_S = 3600
/** Older samples say nothing more of the end, s; and no more than so many are kept. */
const LONGEST_S = 2400
const MOST_SAMPLES = 480
/** Two samples running on the same side, off the curve by so many standard errors and so many times the noise: somebody turned it. */
const JUMP_ERRORS = 5
const JUMP_NOISES = 8
/** Half width of 95 % of a normal distribution, in standard deviations; the tails of few samples are within the rounding up. */
const HALF_WIDTH = 2

/** Throws TypeError for a limit or a noise that is not above 0. */
export function startWarmUp(rule: WarmUpRule): WarmUp {
  if (!(rule.driftHzPerMin > 0) || !((rule.noiseHz ?? USUAL_NOISE_HZ) > 0))
    throw new TypeError(`drift of ${rule.driftHzPerMin} Hz/min or noise of ${rule.noiseHz} Hz: both are above 0`)
  return { rule, samples: [], jumps: 0, fit: null, fitBefore: null }
}

/** One sample further: every 5 s while keyed, or one a short key-down every 30 to 60 s. No number, or no later than the last: nothing changes. */
export function addWarmSample(before: WarmUp, sample: WarmSample): WarmUp {
  const last = before.samples.at(-1)
  if (!Number.isFinite(sample.hz) || !Number.isFinite(sample.atS) || (last && sample.atS <= last.atS)) return before
  const { rule } = before
  const mistake = last ? mistakeIn(before, last, sample) : 'none'
  const kept = mistake === 'jump' && last ? [last, sample] : [...before.samples, sample]
  if (mistake === 'last') kept.splice(-2, 1)
  const samples = kept.filter(({ atS }) => atS >= sample.atS - LONGEST_S).slice(-MOST_SAMPLES)
  const fitBefore = mistake === 'none' ? before.fit : mistake === 'last' ? before.fitBefore : null
  const fit = samples.length < LEAST_SAMPLES ? null : warmFit(samples, noiseOf(rule))
  return { rule, samples, jumps: before.jumps + (mistake === 'jump' ? 1 : 0), fit, fitBefore }
}

/** How it stands at `nowS`; `aimHz`: where it should end, if the words shall say how far from there it will be. */
export function warmUpOf({ rule, samples, fit }: WarmUp, nowS: number, aimHz: number | null = null): WarmView {
  const last = samples.at(-1)
  if (!fit || !last || last.atS - fit.from.atS < LEAST_S) return tooEarly(samples)
  const atS = Math.max(nowS, last.atS)
  const drift = driftAt(fit, atS)
  const end = endOf(fit)
  const isWarm = isBelow(fit, atS, rule.driftHzPerMin, HALF_WIDTH)
  const view = {
    driftHzPerMin: 60 * drift.value,
    driftDoubtHzPerMin: 60 * HALF_WIDTH * drift.error,
    endHz: end.value,
    endDoubtHz: HALF_WIDTH * end.error,
    readyInS: isWarm ? 0 : expectedIn(fit, atS, rule.driftHzPerMin),
    aimOffsetHz: awayFromEnd(fit, atS).value,
  }
  return { verdict: isWarm ? 'ready' : 'warming', ...view, words: wordsOf(view, aimHz) }
}

function tooEarly(samples: readonly WarmSample[]): WarmView {
  const needs = { least: LEAST_SAMPLES, minutes: `${LEAST_S / 60} min` }
  return {
    verdict: 'too early',
    driftHzPerMin: null,
    driftDoubtHzPerMin: null,
    endHz: null,
    endDoubtHz: null,
    readyInS: null,
    aimOffsetHz: null,
    words:
      samples.length === 1
        ? said('warm.too-early-one', needs)
        : said('warm.too-early', { ...needs, samples: samples.length }),
  }
}

function noiseOf(rule: WarmUpRule): number {
  return rule.noiseHz ?? USUAL_NOISE_HZ
}

/** A lone sample off the curve of those before it was a mistake (`last`); two on the same side are a new beginning (`jump`). */
function mistakeIn(
  { rule, samples, fitBefore }: WarmUp,
  last: WarmSample,
  sample: WarmSample,
): 'none' | 'last' | 'jump' {
  const latest = samples.at(-2)
  if (!fitBefore || !latest || latest.atS - fitBefore.from.atS < LEAST_S) return 'none'
  const noiseHz = noiseOf(rule)
  const end = endOf(fitBefore)
  const sideOf = ({ atS, hz }: WarmSample) => {
    const away = awayFromEnd(fitBefore, atS)
    const off = hz - end.value - away.value
    const errors = Math.hypot(noiseHz, end.error, away.error)
    return Math.abs(off) > Math.max(JUMP_ERRORS * errors, JUMP_NOISES * noiseHz) ? Math.sign(off) : 0
  }
  const side = sideOf(last)
  return side === 0 ? 'none' : sideOf(sample) === side ? 'jump' : 'last'
}

/** Moves less than allowed at `atS`, with so many standard errors to spare. */
function isBelow(fit: WarmFit, atS: number, limitHzPerMin: number, errors: number): boolean {
  const drift = driftAt(fit, atS)
  return 60 * (Math.abs(drift.value) + errors * drift.error) < limitHzPerMin
}

/** Seconds until it is expected to be warm, to 1 s and at least 30 s: one standard error to spare, because samples to come halve the doubt. */
function expectedIn(fit: WarmFit, atS: number, limitHzPerMin: number): number {
  let low = 0
  let high = LEAST_READY_S
  while (!isBelow(fit, atS + high, limitHzPerMin, 1)) {
    low = high
    high *= 2
  }
  while (low > 0 && high - low > 1) {
    const middle = (low + high) / 2
    if (isBelow(fit, atS + middle, limitHzPerMin, 1)) high = middle
    else low = middle
  }
  return high
}

interface Expected {
  readonly driftHzPerMin: number
  readonly endHz: number
  readonly endDoubtHz: number
  readonly readyInS: number
  readonly aimOffsetHz: number
}

function wordsOf({ driftHzPerMin, endHz, endDoubtHz, readyInS, aimOffsetHz }: Expected, aimHz: number | null): Said {
  const size = Math.abs(driftHzPerMin)
  const drift = `${size < 0.95 ? Math.max(0.1, size).toFixed(1) : Math.round(size)} Hz/min`
  const doubt = `+-${Math.max(1, Math.ceil(endDoubtHz))} Hz`
  const around = { drift, doubt, ready: readyWords(readyInS) }
  if (aimHz === null) return said('warm.end-by', { ...around, move: `${signed(-aimOffsetHz)} Hz` })
  return said('warm.end-at', { ...around, end: `${signed(endHz - aimHz)} Hz` })
}

function readyWords(readyInS: number): Said {
  if (readyInS === 0) return said('warm.warm')
  if (readyInS > MOST_READY_S) return said('warm.ready-in-more', { time: `${MOST_READY_S / 60} min` })
  if (readyInS < 60) return said('warm.ready-in-less', { time: '1 min' })
  return said('warm.ready-in', { time: `${Math.ceil(readyInS / 60)} min` })
}

function signed(hz: number): string {
  const whole = Math.round(hz)
  return whole > 0 ? `+${whole}` : `${whole}`
}

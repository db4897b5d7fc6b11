import { lineThrough } from '../statistics/least-squares.ts'
import { meanAndSpread } from '../statistics/mean-spread.ts'
import { median } from '../statistics/median.ts'
import type { SettleRule } from './settle-rule.ts'
import { counting, type Sample, sift, type Timed } from './spikes.ts'
import { capturedFrom, LINE_ERRORS, type Look, longestS, look, MEAN_ERROR, scaleAt } from './still.ts'
import type { Line } from './straight-line.ts'
import { heapsOf } from './two-heaps.ts'

export type SettleVerdict = 'waiting' | 'settling' | 'settled' | 'erratic' | 'frozen' | 'two-valued' | 'too noisy'

/** Figures of the readings in a window, in their unit; NaN while there are none. */
export interface WindowFigures {
  readonly count: number
  readonly mean: number
  /** Standard deviation about the mean (n - 1). */
  readonly spread: number
  /** Of the mean, with the meter's smoothing allowed for. */
  readonly standardError: number
  /** Unit of the readings per second. */
  readonly slope: number
  readonly windowS: number
}

/** How far a reading has come to rest since the last change. */
export interface SettleState extends WindowFigures {
  readonly verdict: SettleVerdict
  /** 0 to 1 of the way to settled. */
  readonly share: number
  /** What a capture keeps: the window's mean moved half way along its slope towards the newest reading; NaN while there is none. */
  readonly value: number
  /** Readings among those kept that were spikes and count for nothing. */
  readonly aside: number
  /** The two values that a two-valued reading jumps between. */
  readonly heaps: readonly [number, number] | null
  /** The readings that still matter, spikes among them, newest last. */
  readonly samples: readonly Sample[]
  /** The newest lies so far off that it may be a spike or a change: what the verdict was before it. null while it does not. */
  readonly doubted: SettleVerdict | null
  /** Since when every reading has passed the test; null when the last one did not. */
  readonly passingSinceS: number | null
  /** How many newest readings are the same to the last digit. */
  readonly sameInRow: number
}

const AGREE_S = 1
const MOST_SAMPLES = 200
/** A gap of more than this many intervals, and than this long, breaks the thread, s. */
const GAP_INTERVALS = 3
const GAP_S = 1.5
/** The same reading this often in a row from a meter with noise is odd; from here on it is frozen. */
const ODD_IN_ROW = 8
const FROZEN_IN_ROW = 20
const ERRATIC_SHARE = 0.1
const ERRATIC_LEAST = 3
/** Share of the way that stands for having become still; the rest is for staying so. */
const STILL_SHARE = 0.6
/** Of the way to settled, at most so much is shown while the newest reading is in doubt. */
const SHARE_IN_DOUBT = 0.99
const LEAVES_ERRORS = 1.3
const LEAST_SHORT = 3

const NONE: Captured = {
  value: Number.NaN,
  count: 0,
  mean: Number.NaN,
  spread: Number.NaN,
  standardError: Number.NaN,
  slope: Number.NaN,
  windowS: 0,
}

export function startSettling(): SettleState {
  return {
    ...NONE,
    verdict: 'waiting',
    share: 0,
    aside: 0,
    heaps: null,
    samples: [],
    doubted: null,
    passingSinceS: null,
    sameInRow: 0,
  }
}

/** One reading further; only readings after the hold-off belong here. One that is no number, or no later than the last, changes nothing. */
export function addToSettling(
  before: SettleState,
  sample: { readonly atS: number; readonly value: number },
  rule: SettleRule,
): SettleState {
  const last = before.samples.at(-1)
  if (!Number.isFinite(sample.value) || !Number.isFinite(sample.atS) || (last && sample.atS <= last.atS)) return before
  if (last && sample.atS - last.atS > Math.max(GAP_S, GAP_INTERVALS * rule.everyS))
    return addToSettling(startSettling(), sample, rule)

  const scale = scaleAt(rule, sample.value)
  const { delta } = scale
  const sigma = scale.noise.sigma * delta
  const { samples: all, inDoubt } = sift(kept(before.samples, sample, rule), sigma, delta)
  const samples = counting(all)
  const sameInRow = last?.value === sample.value ? before.sameInRow + 1 : 1
  const aside = all.length - samples.length
  const heaps = heapsOf(all, delta)
  const odd = sigma > rule.step && sameInRow >= ODD_IN_ROW
  const fault =
    odd && sameInRow > FROZEN_IN_ROW ? 'frozen' : heaps ? 'two-valued' : isErratic(aside, all.length) ? 'erratic' : null
  const memory = { samples: all, sameInRow, aside, heaps: fault === 'two-valued' ? heaps : null }
  const verdictBefore = before.doubted ?? before.verdict
  if (fault === null && inDoubt) return doubtedState(memory, before, verdictBefore)
  const seen = look(samples, rule, scale)

  if (fault === null && !odd && seen.capture) {
    const passingSinceS = before.passingSinceS ?? sample.atS
    const agreed = Math.min(1, (sample.atS - passingSinceS + 1e-9) / AGREE_S)
    const share = STILL_SHARE + (1 - STILL_SHARE) * agreed
    return stateOf(memory, capture(samples, seen.capture, delta), {
      verdict: agreed === 1 ? 'settled' : 'settling',
      share,
      passingSinceS,
    })
  }
  if (fault === null && verdictBefore === 'settled' && !leaves(before, samples, seen, delta, rule.trueForS))
    return stateOf(memory, before, { verdict: 'settled', share: 1, passingSinceS: before.passingSinceS })
  const line = seen.lines[0]
  const quiet = tooNoisy(samples, seen, rule, delta) ? 'too noisy' : line ? 'settling' : 'waiting'
  const share = fault === null ? STILL_SHARE * seen.near : 0
  return stateOf(memory, line ? capture(samples, line, delta) : NONE, {
    verdict: fault ?? quiet,
    share,
    passingSinceS: null,
  })
}

type Memory = Pick<SettleState, 'samples' | 'sameInRow' | 'aside' | 'heaps'>
type Captured = WindowFigures & { readonly value: number }
type Standing = Pick<SettleState, 'verdict' | 'share' | 'passingSinceS'>

/** One literal instead of spreads: this runs for every reading of every meter. */
function stateOf(
  memory: Memory,
  figures: Captured,
  standing: Standing,
  doubted: SettleVerdict | null = null,
): SettleState {
  return {
    verdict: standing.verdict,
    share: standing.share,
    value: figures.value,
    count: figures.count,
    mean: figures.mean,
    spread: figures.spread,
    standardError: figures.standardError,
    slope: figures.slope,
    windowS: figures.windowS,
    aside: memory.aside,
    heaps: memory.heaps,
    samples: memory.samples,
    doubted,
    passingSinceS: standing.passingSinceS,
    sameInRow: memory.sameInRow,
  }
}

/** Nobody can say yet whether the newest is a spike or a change: nothing is settled by it, and nothing that was proved is lost. */
function doubtedState(memory: Memory, before: SettleState, verdictBefore: SettleVerdict): SettleState {
  const verdict = verdictBefore === 'waiting' || verdictBefore === 'too noisy' ? verdictBefore : 'settling'
  const share = Math.min(before.share, SHARE_IN_DOUBT)
  return stateOf(memory, before, { verdict, share, passingSinceS: before.passingSinceS }, verdictBefore)
}

/** What can be said of a check too brief to settle: the figures of all readings that count; null for fewer than three. */
export function short(state: SettleState): WindowFigures | null {
  return figuresOver(counting(state.samples))
}

function figuresOver(samples: readonly Timed[]): WindowFigures | null {
  if (samples.length < LEAST_SHORT) return null
  const { mean, spread } = meanAndSpread(samples)
  const count = samples.length
  const firstS = samples[0]?.atS ?? 0
  const { slope } = lineThrough(samples.map(({ atS, value }) => ({ x: atS, y: value })))
  const windowS = (samples.at(-1)?.atS ?? firstS) - firstS
  return { count, mean, spread, standardError: spread / Math.sqrt(count), slope, windowS }
}

/** What a captured value would be made of now. */
export function restedIn(state: SettleState): Rested {
  const { verdict, value, count, mean, spread, windowS, samples } = state
  return {
    verdict,
    value,
    count,
    mean,
    spread,
    windowS,
    samples: counting(samples),
    brief: () => short(state),
    all: () => figuresOver(samples),
    aside: samples.flatMap(({ aside, atS }) => (aside ? [atS] : [])),
  }
}

/** Version 2: a spike counts for nothing, and nothing settles while the newest reading may be one. */
export function restedTwo(readings: readonly Timed[], rule: SettleRule): Rested {
  return restedIn(readings.reduce((so, one) => addToSettling(so, one, rule), startSettling()))
}

function kept(
  before: readonly Sample[],
  { atS, value }: { readonly atS: number; readonly value: number },
  rule: SettleRule,
): Sample[] {
  const sinceS = atS - longestS(rule.everyS) - 1e-9
  let from = Math.max(0, before.length + 1 - MOST_SAMPLES)
  while (from < before.length && (before[from]?.atS ?? atS) < sinceS) from += 1
  const samples = before.slice(from)
  samples.push({ atS, value, aside: false })
  return samples
}

function isErratic(aside: number, count: number): boolean {
  return aside >= ERRATIC_LEAST && aside > ERRATIC_SHARE * count
}

function capture(samples: readonly Timed[], line: Line, delta: number): Captured {
  const { mean, spread } = meanAndSpread(samples, line.from)
  return {
    value: (samples.at(-1)?.value ?? Number.NaN) + capturedFrom(line) * delta,
    count: line.count,
    mean,
    spread,
    standardError: line.seMean * delta,
    slope: line.slope * delta,
    windowS: line.windowS,
  }
}

/** A settled value is left when the newest readings are off it by delta, or the shortest line clearly runs away. */
function leaves(before: SettleState, samples: readonly Timed[], seen: Look, delta: number, trueForS: number): boolean {
  if (Math.abs(median(samples.slice(-3).map((one) => one.value)) - before.value) > delta) return true
  const line = seen.lines[0]
  return line !== undefined && (Math.abs(line.slope) - LEAVES_ERRORS * line.seSlope) * trueForS > 1
}

/** The longest window is full and noise alone, taken from neighbouring readings, keeps it from passing. */
function tooNoisy(samples: readonly Timed[], seen: Look, rule: SettleRule, delta: number): boolean {
  const line = seen.lines.at(-1)
  if (!line || line.windowS < longestS(rule.everyS) - rule.everyS - 1e-9) return false
  const bends = samples
    .slice(2)
    .map((one, index) => Math.abs(one.value - 2 * (samples[index + 1]?.value ?? 0) + (samples[index]?.value ?? 0)))
  const r = rule.smoothing
  // second differences of noise with lag-1 correlation r have 6 - 8 r + 2 r^2 times its variance
  const sigma = (1.4826 * median(bends)) / Math.sqrt(6 - 8 * r + 2 * r * r) / delta
  const asSeen = (sigma * Math.sqrt((1 + r) / (1 - r))) / (line.sigma * line.dullness)
  return LINE_ERRORS * line.seSlope * asSeen * rule.trueForS > 1 || line.seMean * asSeen > MEAN_ERROR
}

/** What the readings since the last change came to, whatever version of settling says so: what a captured value is made of. */
export interface Rested extends Pick<SettleState, 'verdict' | 'value' | 'count' | 'mean' | 'spread' | 'windowS'> {
  /** The readings that count, newest last. */
  readonly samples: readonly Timed[]
  /** Of a check too brief to settle; null for too few. */
  readonly brief: () => WindowFigures | null
  /** The same of every reading, spikes and all: where the largest seen is wanted, none is one. */
  readonly all: () => WindowFigures | null
  /** When each spike came that was set aside and counts for nothing, s; null where the version marks none. */
  readonly aside: readonly number[] | null
}

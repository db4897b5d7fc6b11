import { goesOnAfter, jumpIn } from './jump.ts'
import { type Motion, motionsOver } from './motion.ts'
import type { SettleRule } from './settle-rule.ts'
import type { Timed } from './spikes.ts'
import { type Line, linesThrough, type Noise } from './straight-line.ts'

/** One look at the readings: may the value be captured, from which of them, and how near it is. */
export interface Look {
  /** The readings to capture from; null while it is not still. */
  readonly capture: Line | null
  readonly lines: readonly Line[]
  /** 0 to 1: how nearly the best window meets the test. */
  readonly near: number
}

/** The scale of one look: the change that does not matter, in the unit of the readings, and the noise in deltas. */
export interface Scale {
  readonly delta: number
  readonly noise: Noise
}

/** What a rule means at one level, in the unit of the readings. */
export function scaleAt(rule: SettleRule, value: number): Scale {
  const delta = Math.max(rule.delta, rule.deltaOfReading * Math.abs(value))
  const sigma = Math.hypot(rule.sigma, rule.sigmaOfReading * value)
  return {
    delta,
    noise: { sigma: sigma / delta, floor: rule.step / delta / Math.sqrt(12), smoothing: rule.smoothing },
  }
}

const WINDOWS_S = [1.5, 1.75, 2, 2.25, 2.5, 2.75, 3, 3.35, 3.75, 4.2, 4.7, 5.3, 6, 6.7, 7.5, 8.6, 10]
/** The longest window holds at least so many readings of a slow meter. */
const SLOW_READINGS = 4
const SLOW_S = 10 / SLOW_READINGS
const MOTION_WINDOWS_S = [2.5, 3.5, 5, 7, 10]
/** Standard errors that the slope keeps clear of delta: in a line of its own, and where only a longer motion speaks for it. */
export const LINE_ERRORS = 1.1
const MOTION_ERRORS = 2
/** Standard errors that a longer motion is allowed before it contradicts. */
const AGAINST_ERRORS = 1
/** From this length on the line lags behind a value that dies away, and the motion may speak for it, s. */
const LONG_S = 4.75
/** Standard error of a captured mean, in deltas: at most, and good enough to look no farther back. */
export const MEAN_ERROR = 1 / 4
const GOOD_MEAN_ERROR = 0.15
/** A motion is plausible when it leaves no more than this many variances above the best one; a crest must be better by as many. */
const PLAUSIBLE = 3
const CREST_BETTER = 4
/** A motion explains the readings when what it leaves lies within this many sigmas of the noise expected. */
const EXPLAINS = 3

/** Longest stretch of readings that can matter, s. */
export function longestS(everyS: number): number {
  return Math.max(WINDOWS_S.at(-1) ?? 10, SLOW_READINGS * everyS)
}

/**
 * The growing window: still when the straight line of some window, shortest first, will not carry the value farther than
 * delta in the time it must hold, and no longer stretch that one simple motion explains says otherwise.
 */
export function look(samples: readonly Timed[], rule: SettleRule, scale: Scale): Look {
  const { trueForS } = rule
  const ahead = { scale, everyS: rule.everyS, aheadS: trueForS }
  let motions: readonly Motion[] | null = null
  let jump: number | null = null
  let capture: Line | null = null
  let near = 0
  const lines = linesThrough(samples, windowsFor(rule), scale, rule.everyS, (line, upToIt) => {
    near = Math.max(near, nearness(line, trueForS))
    const passing = passes(line, trueForS)
    if (!passing && !mayLag(line, trueForS)) return false
    const from = jump ?? jumpIn(samples, scale)
    jump = from
    if (from > line.from) return true
    motions ??= motionsOver(samples, MOTION_WINDOWS_S, scale.delta, trueForS)
    const shortest = upToIt.find((shorter) => meanIsGood(shorter, line)) ?? line
    const view = viewOf(line, shortest, scale.noise)
    if (!passing && !spokenFor(line, motions, view)) return false
    if (!contradicted(line, motions, view, () => goesOnAfter(from, samples, line, ahead))) capture = shortest
    return capture !== null
  })
  return { capture, lines, near }
}

/** Windows longer than the meter's own latency, and for a slow meter one that holds enough of its readings. */
function windowsFor(rule: SettleRule): readonly number[] {
  if (rule.latencyS <= (WINDOWS_S[0] ?? 0) && rule.everyS <= SLOW_S) return WINDOWS_S
  const lengthsS = WINDOWS_S.filter((lengthS) => lengthS >= rule.latencyS)
  return rule.everyS > SLOW_S ? [...lengthsS, longestS(rule.everyS)] : lengthsS
}

function nearness(line: Line, trueForS: number): number {
  const travel = (Math.abs(line.slope) + LINE_ERRORS * line.seSlope) * trueForS
  return Math.min(1, 1 / travel, MEAN_ERROR / line.seMean)
}

function passes(line: Line, trueForS: number): boolean {
  return line.seMean <= MEAN_ERROR && (Math.abs(line.slope) + LINE_ERRORS * line.seSlope) * trueForS <= 1
}

/** A long line that would pass but for its error: of a value that dies away it shows the slope of half its length ago. */
function mayLag(line: Line, trueForS: number): boolean {
  return line.seMean <= MEAN_ERROR && line.windowS >= LONG_S && Math.abs(line.slope) * trueForS <= 1
}

/** Whether the mean of a shorter window is already good enough, by the noise seen in the longer one. */
function meanIsGood(shorter: Line, line: Line): boolean {
  return shorter.count <= line.count && (line.sigma * line.dullness) / Math.sqrt(shorter.count) <= GOOD_MEAN_ERROR
}

/** The mean, moved half way along the slope towards the newest reading; in deltas from the newest reading. */
export function capturedFrom(line: Line): number {
  return line.mean + (line.slope * line.meanAgeS) / 2
}

/** What a longer motion is held against. */
interface View {
  readonly captured: number
  readonly count: number
  /** Of one reading, as seen in the candidate's window or stated by the driver, whichever is more. */
  readonly variance: number
  /** By how much a smoothed meter's noise adds up: (1+r)/(1-r). */
  readonly pileUp: number
}

function viewOf(line: Line, capture: Line, noise: Noise): View {
  const stated = noise.sigma * noise.sigma + noise.floor * noise.floor
  return {
    captured: capturedFrom(capture),
    count: capture.count,
    variance: Math.max(line.variance, stated),
    pileUp: (1 + noise.smoothing) / (1 - noise.smoothing),
  }
}

function spokenFor(line: Line, motions: readonly Motion[], view: View): boolean {
  const motion = motions.findLast((one) => one.from >= line.from)
  return motion !== undefined && explains(motion, view) && !goesTooFar(motion, MOTION_ERRORS, view)
}

/** Asks the longer stretches, shortest first, for as long as one motion explains them; then whether it goes on as before what broke in. */
function contradicted(line: Line, motions: readonly Motion[], view: View, goesOn: () => boolean): boolean {
  for (const motion of motions) {
    if (motion.count <= line.count && motion.from > 0) continue
    if (goesOverCrest(motion, view)) return true
    if (!explains(motion, view)) return goesOn()
    if (goesTooFar(motion, AGAINST_ERRORS, view)) return true
  }
  return false
}

function isNoise(squares: number, free: number, view: View): boolean {
  return squares / free <= view.variance * (1 + EXPLAINS * Math.sqrt((2 * view.pileUp) / Math.max(1, free)))
}

function explains(motion: Motion, view: View): boolean {
  return isNoise(motion.leastSquares, motion.count - 2, view)
}

function goesOverCrest(motion: Motion, view: View): boolean {
  const better = motion.leastSquares - motion.crestSquares > CREST_BETTER * view.variance * view.pileUp
  return better && motion.crestTravel > 1 && isNoise(motion.crestSquares, motion.count - 3, view)
}

/** Whether some plausible relaxation leaves the captured value by more than delta, with `errors` standard errors to spare. */
function goesTooFar(motion: Motion, errors: number, view: View): boolean {
  const dull = view.variance * view.pileUp
  for (const one of motion.relaxations) {
    if (one.squares > motion.leastSquares + PLAUSIBLE * dull) continue
    const travel = Math.max(
      Math.abs(one.now - view.captured),
      Math.abs(one.later - view.captured),
      Math.abs(one.later - one.now),
    )
    if (travel + errors * Math.sqrt(dull * (one.seTravel * one.seTravel + 1 / view.count)) > 1) return true
  }
  return false
}

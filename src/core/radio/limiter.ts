import { printText } from '../../quantity/print-value.ts'
import { type Said, said } from '../../words/said/said.ts'

/** Deviation seen with one tone at one level at the microphone socket; the larger peak. */
export interface LimiterPoint {
  readonly toneHz: number
  readonly levelVolts: number
  readonly deviationHz: number
}

export type LimiterVerdict =
  | 'holds'
  | 'rises with level'
  | 'rises with tone'
  | 'set too high'
  | 'not reached'
  | 'not shown'

/** What a limiter test says. */
export interface LimiterSeen {
  readonly verdict: LimiterVerdict
  /** 20 lg deviation over 20 lg level: 1 without a limiter, 0 behind one that holds; NaN where two levels of one tone are missing. */
  readonly perLevel: number
  /** The same over the tones at the highest level: 1 is 6 dB an octave straight through the limiter; NaN of a single tone. */
  readonly perTone: number
  readonly words: Said
}

/** Half way between held and passed through. */
const PASSES = 0.5
/** The test asks for 20 dB; less than 6 dB shows nothing, and a level more than 20 dB down may lie below any limiter. */
const FULL_DB = 20
const LEAST_DB = 6
const ABOUT_DB = 0.5
const LEAST_OCTAVES = 1

/**
 * Judges a limiter by deviations at several levels of one tone (+20 dB) and over the tones: behind a limiter that works the
 * deviation stays under `mostHz` and hardly follows the level. One that follows it has been defeated: restored, not set lower.
 */
export function judgeLimiter(all: readonly LimiterPoint[], mostHz: number): LimiterSeen {
  const points = all.filter(({ levelVolts, deviationHz }) => levelVolts > 0 && deviationHz > 0)
  const worst = highest(points, ({ deviationHz }) => deviationHz)
  const pair = pairOf(points)
  const run = runOf(points)
  const perLevel = pair ? slope(pair, ({ levelVolts }) => levelVolts) : Number.NaN
  const perTone = run ? slope(run, ({ toneHz }) => toneHz) : Number.NaN
  const seen = (verdict: LimiterVerdict, words: Said): LimiterSeen => ({ verdict, perLevel, perTone, words })
  if (!worst || !pair) return seen('not shown', said('limiter.not-shown'))

  const above = worst.deviationHz > mostHz
  const raised = stepDb(pair)
  const rise = { from: hz(pair.low), to: hz(pair.high), more: `${raised.toFixed(0)} dB` }
  if (perLevel > PASSES) {
    if (above || raised >= FULL_DB - ABOUT_DB) return seen('rises with level', said('limiter.rises-with-level', rise))
    return seen('not reached', said('limiter.not-reached', rise))
  }
  if (!above) return seen('holds', said('limiter.holds', { ...rise, most: hz(worst) }))
  const over = { most: hz(worst), tone: printText(worst.toneHz, 'Hz'), limit: printText(mostHz, 'Hz', 10) }
  if (perTone > PASSES) return seen('rises with tone', said('limiter.rises-with-tone', over))
  return seen('set too high', said('limiter.set-too-high', over))
}

interface Pair {
  readonly low: LimiterPoint
  readonly high: LimiterPoint
}

/** The highest level, and of its tone the lowest one within 20 dB under it; where there is none, the nearest under that. */
function pairOf(points: readonly LimiterPoint[]): Pair | undefined {
  const pairs = points.flatMap((high) => {
    const under = points.filter((low) => low.toneHz === high.toneHz && stepDb({ low, high }) >= LEAST_DB - ABOUT_DB)
    const within = under.filter((low) => stepDb({ low, high }) <= FULL_DB + ABOUT_DB)
    const low = highest(within, (one) => -one.levelVolts) ?? highest(under, (one) => one.levelVolts)
    return low ? [{ low, high }] : []
  })
  const top = Math.max(...pairs.map(({ high }) => high.levelVolts))
  return highest(
    pairs.filter(({ high }) => high.levelVolts === top),
    ({ high }) => high.deviationHz,
  )
}

/** At the highest level: from the lowest tone to the one that deviates most, an octave or more apart. */
function runOf(points: readonly LimiterPoint[]): Pair | undefined {
  const top = Math.max(...points.map(({ levelVolts }) => levelVolts))
  const loud = points.filter(({ levelVolts }) => levelVolts === top)
  const low = highest(loud, ({ toneHz }) => -toneHz)
  const high = highest(loud, ({ deviationHz }) => deviationHz)
  return low && high && high.toneHz >= low.toneHz * 2 ** LEAST_OCTAVES ? { low, high } : undefined
}

function slope({ low, high }: Pair, of: (point: LimiterPoint) => number): number {
  return Math.log(high.deviationHz / low.deviationHz) / Math.log(of(high) / of(low))
}

const stepDb = ({ low, high }: Pair) => 20 * Math.log10(high.levelVolts / low.levelVolts)
const hz = ({ deviationHz }: LimiterPoint) => printText(deviationHz, 'Hz', 10)

/** The one for which the number is highest; the first of several; undefined of none. */
function highest<T>(ones: readonly T[], of: (one: T) => number): T | undefined {
  return ones.reduce<T | undefined>((best, one) => (best === undefined || of(one) > of(best) ? one : best), undefined)
}

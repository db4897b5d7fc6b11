import { printText } from '../../quantity/print-value.ts'
import { type Said, said } from '../../words/said/said.ts'
import { besselJs, besselZero } from '../statistics/bessel.ts'

/** Modulation index of a tone: peak deviation over tone, both in Hz. */
export function modulationIndex(deviationHz: number, toneHz: number): number {
  return deviationHz / toneHz
}

/** Bandwidth that holds practically all of an FM signal, Hz: twice the peak deviation and the highest tone together (Carson). */
export function carsonHz(deviationHz: number, highestToneHz: number): number {
  return 2 * (deviationHz + highestToneHz)
}

/** Levels of the carrier and its first `count` sidebands, dB against the carrier without modulation; -Infinity at a null. */
export function sidebandsDb(index: number, count: number): readonly number[] {
  return besselJs(index, count).map((level) => 20 * Math.log10(Math.abs(level)))
}

/** The tone, Hz, at which a carrier of this peak deviation is at its first (second, ...) null: deviation over the zero of J0. */
export function nullToneHz(deviationHz: number, which = 1): number {
  return deviationHz / besselZero(0, which)
}

/** The peak deviation, Hz, of a tone whose carrier is at its first (second, ...) null. */
export function deviationAtNullHz(toneHz: number, which = 1): number {
  return toneHz * besselZero(0, which)
}

/** How far, as a share, the deviation may be off when the carrier was seen this many dB under the unmodulated one at the null. */
export function nullDoubt(depthDb: number, which = 1): number {
  const zero = besselZero(0, which)
  return 10 ** (-depthDb / 20) / (zero * Math.abs(besselJs(zero, 1)[1] ?? 0))
}

/** A modulation meter held against a carrier null. */
export interface NullCheck {
  readonly trueHz: number
  /** Of the meter, a share of the true deviation: above 0 where it shows too much. */
  readonly error: number
  /** What the null itself leaves open, a share; null where nobody saw how deep it was. */
  readonly doubt: number | null
  readonly words: Said
}

/**
 * Checks a modulation meter (`shownHz`, its peak deviation) by a carrier null: with a pure tone the deviation is raised until
 * the carrier vanishes for the first time; there it is known from the tone alone. `depthDb`: how far the carrier fell.
 */
export function checkByNull(seen: {
  readonly toneHz: number
  readonly shownHz: number
  readonly which?: number
  readonly depthDb?: number
}): NullCheck {
  const { toneHz, shownHz, which = 1, depthDb } = seen
  const trueHz = deviationAtNullHz(toneHz, which)
  const error = shownHz / trueHz - 1
  const doubt = depthDb === undefined ? null : nullDoubt(depthDb, which)
  const place = {
    tone: printText(toneHz, 'Hz'),
    which: ordinal(which),
    true: printText(trueHz, 'Hz'),
    shown: printText(shownHz, 'Hz'),
  }
  const other = Math.abs(error) > ANOTHER_NULL ? nullNear(shownHz / toneHz) : undefined
  if (other !== undefined && other !== which)
    return { trueHz, error, doubt, words: said('null.another', { ...place, other: ordinal(other) }) }
  const off = { ...place, error: errorWords(error) }
  const depth = `${Math.round(depthDb ?? 0)} dB`
  const words =
    doubt === null ? said('null.said', off) : said('null.said-with-depth', { ...off, depth, doubt: percent(doubt) })
  return { trueHz, error, doubt, words }
}

/** From this error on the person is asked which null it was; the first two lie a factor of 2.3 apart. */
const ANOTHER_NULL = 0.25
const LAST_NULL = 5
const LEAST_ERROR = 0.0005

function errorWords(error: number): Said {
  if (Math.abs(error) < LEAST_ERROR) return said('null.right')
  const by = percent(Math.abs(error))
  return error > 0 ? said('null.too-much', { by }) : said('null.too-little', { by })
}

/** The null that a meter's own index lies at, when it lies near one. */
function nullNear(index: number): number | undefined {
  for (let which = 1; which <= LAST_NULL; which++)
    if (Math.abs(index / besselZero(0, which) - 1) < ANOTHER_NULL / 2) return which
  return undefined
}

const percent = (share: number) => `${(100 * share).toFixed(1)} %`
const ORDINALS = [said('null.first'), said('null.second'), said('null.third'), said('null.fourth'), said('null.fifth')]
const ordinal = (which: number): Said => ORDINALS[which - 1] ?? said('null.th', { number: which })

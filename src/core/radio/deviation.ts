import { printText } from '../../quantity/print-value.ts'
import { type Said, said } from '../../words/said/said.ts'

/** Both peaks of FM deviation or AM depth, each as a positive number in its unit. */
export interface BothPeaks {
  readonly up: number
  readonly down: number
}

/** Both peaks as they are judged: by the larger. */
export interface PeaksSeen {
  readonly larger: number
  readonly smaller: number
  readonly side: 'up' | 'down'
  /** How much the smaller falls short of the larger, a ratio of the larger: 0 where they are alike, NaN where both are 0. */
  readonly asymmetry: number
}

/** Of both peaks the larger is set and judged; the smaller must be inside too. */
export function peaksSeen({ up, down }: BothPeaks): PeaksSeen {
  const larger = Math.max(up, down)
  const smaller = Math.min(up, down)
  return { larger, smaller, side: up >= down ? 'up' : 'down', asymmetry: (larger - smaller) / larger }
}

/** A healthy set's peaks differ by some 4 %; from here on something clips one side. */
const ONE_SIDED = 0.1

/** Both deviation peaks in words, Hz: which is judged, how far the other falls short, and what that means from `oneSided` on. */
export function peaksWords(peaks: BothPeaks, oneSided = ONE_SIDED): Said {
  const { larger, smaller, side, asymmetry } = peaksSeen(peaks)
  const fine = 10
  const both = {
    larger: printText(larger, 'Hz', fine),
    side: said(`peaks.${side}`),
    smaller: printText(smaller, 'Hz', fine),
  }
  if (!(asymmetry > 0)) return said('peaks.alike', both)
  const less = `${(100 * asymmetry).toFixed(0)} %`
  return asymmetry > oneSided ? said('peaks.one-sided', { ...both, less }) : said('peaks.less', { ...both, less })
}

/** Deviation with the residual taken off. */
export interface WithoutResidual {
  /** Root of shown^2 less residual^2: right where the residual is noise that the meter averages. */
  readonly hz: number
  /** Shown less residual: the least it can be, where the meter holds the highest peak of tone and noise together. */
  readonly leastHz: number
  readonly words: Said
}

/**
 * Takes the residual deviation (no tone, Hz) off a reading, Hz, in quadrature, and says so. null where the residual is not below
 * the reading: then nothing is known of the tone.
 */
export function withoutResidual(shownHz: number, residualHz: number): WithoutResidual | null {
  if (!(residualHz >= 0) || !(shownHz > residualHz)) return null
  const hz = Math.sqrt(shownHz ** 2 - residualHz ** 2)
  const fine = 1
  return {
    hz,
    leastHz: shownHz - residualHz,
    words: said('radio.residual-off', {
      left: printText(hz, 'Hz', fine),
      shown: printText(shownHz, 'Hz', fine),
      residual: printText(residualHz, 'Hz', fine),
    }),
  }
}

import { said, type Words } from '../../words/said/said.ts'
import type { LiveReading } from './live.ts'

/** How often single misses of one instrument are told, ms: on a noisy line not each of them is news. */
export const MISS_TOLD_MS = 60_000

/** Why a reading is old: what was missed since the last one, with its cure. */
export function lateWords(
  instrument: string,
  missed: { readonly words: Words; readonly atMs: number } | null | undefined,
  last: LiveReading | null,
): Words {
  const since = last?.reading.arrivedMs ?? Number.NEGATIVE_INFINITY
  return missed && missed.atMs > since ? missed.words : said('guide.no-answer-in-time', { instrument })
}

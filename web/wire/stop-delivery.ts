/**
 * A STOP of this page until it is known to have come through. None: nothing is owed. `id` is that of the request under way,
 * null while there is no connection to ask on.
 */
export interface OwedStop {
  readonly id: string | null
  readonly sinceMs: number
  /** It did not come through at once: that is said, large, and what came of it afterwards too. */
  readonly late: boolean
}

export type StopNews =
  /** Asked for, first or once more; `id` null: it could not be sent. */
  | { readonly kind: 'asked'; readonly id: string | null; readonly atMs: number }
  | { readonly kind: 'time'; readonly atMs: number }
  | { readonly kind: 'connection lost' }
  | { readonly kind: 'answered'; readonly id: string; readonly ok: boolean }
  /** A frame of the service: the output is off by its own reading, and nothing is bringing it up. One that was under way when STOP was pressed proves nothing. */
  | { readonly kind: 'frame'; readonly off: boolean }

/** No answer for so long, ms: it is not delivered. A service answers within a few milliseconds. */
export const STOP_ANSWER_MS = 1000

/** One piece of news further: the STOP that is still owed, or null. Only an answer or a supply that is off settles it. */
export function owedStop(owed: OwedStop | null, news: StopNews): OwedStop | null {
  if (news.kind === 'asked')
    return { id: news.id, sinceMs: owed?.sinceMs ?? news.atMs, late: owed?.late === true || news.id === null }
  if (owed === null) return null
  switch (news.kind) {
    case 'time':
      return owed.late || news.atMs - owed.sinceMs < STOP_ANSWER_MS ? owed : { ...owed, late: true }
    case 'connection lost':
      return { ...owed, id: null, late: true }
    case 'answered':
      if (news.id !== owed.id) return owed
      return news.ok ? null : { ...owed, late: true }
    case 'frame':
      return owed.late && news.off ? null : owed
  }
}

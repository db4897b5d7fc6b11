import { type Live, type LiveRule, startLive } from './live.ts'

/** One quantity that is being read: what is known of it beforehand, and its picture so far. */
export interface Measured {
  readonly rule: LiveRule
  readonly live: Live
}

/** Nothing read yet. */
export function startMeasured(rule: LiveRule): Measured {
  return { rule, live: startLive(rule) }
}

/** The same list with each picture as `made` makes it; `at` is 0 for the main quantity. */
export function eachLive(
  { measured }: { readonly measured: readonly Measured[] },
  made: (live: Live, rule: LiveRule, at: number) => Live,
): readonly Measured[] {
  return measured.map(({ rule, live }, at) => ({ rule, live: made(live, rule, at) }))
}

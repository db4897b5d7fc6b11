/** A cure and the edits that take it out again. */
export interface Mutant {
  /** Number of the item of the list of faults, as in found.ts. */
  readonly item: 1 | 2 | 3 | 4 | 5 | 6
  readonly cure: string
  /** `text` must be in `file` exactly once. */
  readonly edits: readonly { readonly file: string; readonly text: string; readonly replacement: string }[]
}

/** One for each cure; each must be found when it is taken out. */
export const MUTANTS: readonly Mutant[] = [
  { item: 1, cure: 'a wish that has ended is not carried out any more', edits: [] },
  { item: 2, cure: 'after off nothing is taken before new limits for a new wish', edits: [] },
  { item: 3, cure: 'no way up without somebody who steers', edits: [] },
  { item: 4, cure: 'off is written first on a fresh connection', edits: [] },
  { item: 5, cure: 'a standby keeper', edits: [] },
  { item: 6, cure: 'once off is proved the setpoint goes down', edits: [] },
]

import type { Rule } from './oracle.ts'

/** A cure and the edits that take it out again. */
export interface Mutant {
  /** Number of the item of the list of faults, as in found.ts; of an older guard the rule that must find it. */
  readonly item: 1 | 2 | 3 | 4 | 5 | 6 | Rule
  readonly cure: string
  /** `text` must be in `file` exactly once. */
  readonly edits: readonly { readonly file: string; readonly text: string; readonly replacement: string }[]
}

/** One for each cure and guard; each must be found when it is taken out. */
export const MUTANTS: readonly Mutant[] = [
  { item: 1, cure: 'a wish that has ended is not carried out any more', edits: [] },
  { item: 2, cure: 'after off nothing is taken before new limits for a new wish', edits: [] },
  { item: 3, cure: 'no way up without somebody who steers', edits: [] },
  { item: 4, cure: 'off is written first on a fresh connection', edits: [] },
  { item: 5, cure: 'a standby keeper', edits: [] },
  { item: 6, cure: 'once off is proved the setpoint goes down', edits: [] },
  {
    item: 'up while keyed',
    cure: 'a look that sees the key up before each step of a ramp',
    edits: [
      {
        file: 'src/keeper/keeper-limits.ts',
        text: "return limits === null || back.amps >= limits.keyedAboveAmps || back.regulation === 'current'",
        replacement: 'return limits === null',
      },
    ],
  },
  {
    item: 'not proved, not said',
    cure: 'an off that is not proved is said',
    edits: [
      {
        file: 'src/keeper/keeper-safing.ts',
        text: 'if (forMs >= KEEPER.sayUnprovedMs * patience && !safing.saidUnproved) {',
        replacement: 'if (forMs >= 60_000 * patience && !safing.saidUnproved) {',
      },
    ],
  },
  {
    item: 'not in the journal',
    cure: 'said to be captured only when it is written down',
    edits: [
      {
        file: 'src/alignment/perform.ts',
        text: "    if (!keep) return say(true, '')",
        replacement: "    say(true, '')\n    if (!keep) return",
      },
    ],
  },
  {
    item: 'high too long',
    cure: 'without a beat for 3 s the output goes off',
    edits: [
      {
        file: 'src/keeper/keep.ts',
        text: 'if (atMs >= beatDueMs(state)) return',
        replacement: 'if (atMs >= beatDueMs(state) + 30_000) return',
      },
    ],
  },
]

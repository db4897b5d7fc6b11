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
  {
    item: 1,
    cure: 'a wish that has ended is not carried out any more',
    edits: [
      {
        file: 'src/keeper/service/keeper-client.ts',
        text: 'return wish > this.#deadWish && this.#gone === null',
        replacement: 'return wish > 0 && this.#gone === null',
      },
      {
        file: 'src/keeper/rules/keeper-limits.ts',
        text: "return order.verb !== 'normal' && order.wish <= state.wishes.dead",
        replacement: "return order.verb !== 'normal' && order.wish < 0 && state.ending !== null",
      },
    ],
  },
  {
    item: 1,
    cure: 'normal overtakes what was wanted before it',
    edits: [
      {
        file: 'src/keeper/rules/keeper-orders.ts',
        text: 'const state = dropAll(endWishes(before, order.upTo), order, told, resting)',
        replacement: 'const state = resting ? before : endWishes(before, order.upTo)',
      },
    ],
  },
  {
    item: 2,
    cure: 'after off nothing is taken before new limits for a new wish',
    edits: [
      {
        file: 'src/keeper/service/keeper-client.ts',
        text: 'return wish > this.#deadWish && this.#gone === null',
        replacement: 'return wish > 0 && this.#gone === null',
      },
      {
        file: 'src/keeper/rules/keeper-safing.ts',
        text: `    ...endWishes(before, cause.upTo),
    limits: null,
    armed: false,
    locked: byItself || before.locked === null ? why : before.locked,
    target: null,`,
        replacement: '    ...before,\n    locked: byItself ? why : null,',
      },
    ],
  },
  {
    item: 3,
    cure: 'no way up without somebody who steers',
    edits: [
      {
        file: 'src/core/job/steps/job-steps.ts',
        text: 'if (!job.pagePresent && (rises || start))',
        replacement: 'if (job.nowMs < 0 && (rises || start))',
      },
    ],
  },
  {
    item: 3,
    cure: 'page gone is normal in every phase whose supply is raised',
    edits: [
      {
        file: 'src/core/job/steps/attendance.ts',
        text: 'if (present || job.armed === null || !(raised || job.key.keyed)) return next',
        replacement:
          "if (present || job.armed === null || job.phase.name !== 'work' || !(raised || job.key.keyed)) return next",
      },
    ],
  },
  {
    item: 4,
    cure: 'off is written without waiting until the link is in step, old or fresh',
    edits: [
      {
        file: 'src/transport/open-link.ts',
        text: 'if (this.#first.length > 0) {',
        replacement: 'if (this.#first.length > 99) {',
      },
      {
        file: 'src/instrument/supply.ts',
        text: '    makeSafe: () => instrument.blind(instrument.driver.makeSafe),\n',
        replacement: '',
      },
    ],
  },
  {
    item: 4,
    cure: 'off is written first on a fresh connection',
    edits: [
      {
        file: 'src/transport/open-link.ts',
        text: 'if (this.#first.length > 0) {',
        replacement: 'if (this.#first.length > 99) {',
      },
    ],
  },
  {
    item: 5,
    cure: 'a standby keeper takes over',
    edits: [
      {
        file: 'src/keeper/standby/standby.ts',
        text: "    lost: () => take(said('standby.keeper-gone')),\n    takeOver: take,",
        replacement: '    lost: () => {},\n    takeOver: () => {},',
      },
      {
        file: 'src/keeper/standby/standby.ts',
        text: 'if (silentMs >= STANDBY.silentMs * factor)\n        take(',
        replacement: 'if (silentMs >= 60_000 * factor)\n        take(',
      },
    ],
  },
  {
    item: 5,
    cure: 'a silent keeper counts as dead',
    edits: [
      {
        file: 'src/keeper/standby/standby.ts',
        text: 'if (silentMs >= STANDBY.silentMs * factor)\n        take(',
        replacement: 'if (silentMs >= 60_000 * factor)\n        take(',
      },
    ],
  },
  {
    item: 5,
    cure: 'no way up without a live standby',
    edits: [
      {
        file: 'src/keeper/rules/keeper-standby.ts',
        text: 'return state.standby ? null : refused(ALONE)',
        replacement: 'return state.standby || state.ended === null ? null : refused(ALONE)',
      },
    ],
  },
  {
    item: 6,
    cure: 'once off is proved the setpoint goes down',
    edits: [
      {
        file: 'src/keeper/rules/keeper-lowering.ts',
        text: 'if (state.back === null || isLow(volts, state.back)) return through(state)',
        replacement: 'if (state.back === null || atMs > 0 || isLow(volts, state.back)) return through(state)',
      },
    ],
  },
  {
    item: 'up while keyed',
    cure: 'a look that sees the key up before each step of a ramp',
    edits: [
      {
        file: 'src/keeper/rules/keeper-limits.ts',
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
        file: 'src/keeper/rules/keeper-safing.ts',
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
        file: 'src/keeper/rules/keep.ts',
        text: 'if (atMs >= beatDueMs(state))\n      return',
        replacement: 'if (atMs >= beatDueMs(state) + 30_000)\n      return',
      },
    ],
  },
]

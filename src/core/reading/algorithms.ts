import type { Captured } from '../../schema/messages/live-frame.ts'
import { type Acceptance, acceptance } from '../goal/acceptance.ts'
import type { Goal } from '../goal/goal.ts'
import { acceptanceZero } from '../older/acceptance-0.ts'
import { restedZero } from '../older/settling-0.ts'
import { restedOne } from '../older/settling-1.ts'
import { expandedZero } from '../older/uncertainty-0.ts'
import { DRIFT_AHEAD_S, type Drifting, driftingIn } from '../settling/drifting.ts'
import type { SettleRule } from '../settling/settle-rule.ts'
import type { Rested } from '../settling/settling.ts'
import { restedTwo } from '../settling/settling.ts'
import type { DecisionRule, Judged } from '../uncertainty/decision.ts'
import { budgetOf, type MeterDoubt, type Seen } from '../uncertainty/meter-budget.ts'
import { combine } from '../uncertainty/uncertainty.ts'

/** Each algorithm that a captured figure comes from, by the name under which its version stands in a record. */
export const ALGORITHMS = ['settling', 'drifting', 'uncertainty', 'acceptance'] as const
export type Algorithm = (typeof ALGORITHMS)[number]

/** One version of each. */
export type Versions = Readonly<Record<Algorithm, number>>

/** What a value that is captured now is worked out by. */
export const NEWEST: Versions = { settling: 2, drifting: 1, uncertainty: 1, acceptance: 1 }

/**
 * What was in use before a record named its versions, latest first. A value without names is held to be right when one of them gives
 * it; the first of all (commit 217c31d) is told by its shape and named when it is read.
 */
export const UNNAMED: readonly Versions[] = [
  { settling: 1, drifting: 1, uncertainty: 1, acceptance: 1 },
  { settling: 1, drifting: 0, uncertainty: 1, acceptance: 1 },
  { settling: 0, drifting: 0, uncertainty: 1, acceptance: 1 },
]
export const FIRST: Versions = { settling: 0, drifting: 0, uncertainty: 0, acceptance: 0 }

/** How readings come to rest: a whole fold over them. */
type Rests = (readings: readonly { readonly atS: number; readonly value: number }[], rule: SettleRule) => Rested
type Drifts = (rested: Rested, rule: SettleRule, goal: Goal) => Drifting | null
/** `newest`: the newest reading at the set. */
type Expands = (doubt: MeterDoubt, seen: Seen, newest: number) => Captured['uncertainty']
type Accepts = (judged: Judged, goal: Goal, rule: DecisionRule) => Acceptance

/** The code of one version of each. */
export interface Code {
  readonly rests: Rests
  readonly drifts: Drifts
  readonly expands: Expands
  readonly accepts: Accepts
}

const RESTS: readonly Rests[] = [restedZero, restedOne, restedTwo]
const DRIFTS: readonly Drifts[] = [() => null, evenDrift]
const EXPANDS: readonly Expands[] = [
  ({ facts }, _, newest) => expandedZero(newest, facts),
  (doubt, seen) => combine(budgetOf(doubt, seen)).expanded,
]
const ACCEPTS: readonly Accepts[] = [acceptanceZero, acceptance]

const KNOWN: Readonly<Record<Algorithm, number>> = {
  settling: RESTS.length,
  drifting: DRIFTS.length,
  uncertainty: EXPANDS.length,
  acceptance: ACCEPTS.length,
}

/** What is not at rest, but moves so evenly and slowly that it stays in its band for 15 s; null where it does not, and for a peak. */
function evenDrift(rested: Pick<Rested, 'verdict' | 'samples'>, rule: SettleRule, goal: Goal): Drifting | null {
  return goal.kind === 'peak' ? null : driftingIn(rested, rule, goal.band, DRIFT_AHEAD_S)
}

/** The code of these versions. Throws TypeError for one that is not known: ask `unknownIn` first. */
export function codeOf(versions: Versions): Code {
  const { settling, drifting, uncertainty, acceptance } = versions
  const [rests, drifts, expands, accepts] = [
    RESTS[settling],
    DRIFTS[drifting],
    EXPANDS[uncertainty],
    ACCEPTS[acceptance],
  ]
  if (!rests || !drifts || !expands || !accepts) throw new TypeError(`no such version: ${JSON.stringify(versions)}`)
  return { rests, drifts, expands, accepts }
}

/** What a record names and this program does not know, in words; none where it knows all. */
export function unknownIn(named: Readonly<Record<string, number>>): readonly string[] {
  const known = ALGORITHMS.flatMap((name): string[] => {
    const version = named[name]
    if (version === undefined) return [`no version of its ${name} is named`]
    const newest = KNOWN[name] - 1
    return version > newest ? [`its ${name} is version ${version}, known here are those up to ${newest}`] : []
  })
  const others = Object.keys(named).filter((name) => !ALGORITHMS.some((one) => one === name))
  return [...known, ...others.map((name) => `"${name}" is not known here`)]
}

/** Versions as a record names them. Throws TypeError where `unknownIn` has something to say. */
export function versionsIn(named: Readonly<Record<string, number>>): Versions {
  const of = (name: Algorithm) => {
    const version = named[name]
    if (version === undefined) throw new TypeError(`no version of ${name}`)
    return version
  }
  return {
    settling: of('settling'),
    drifting: of('drifting'),
    uncertainty: of('uncertainty'),
    acceptance: of('acceptance'),
  }
}

import type { Procedure } from '../../schema/files/procedure-file.ts'
import type { Row } from '../../schema/files/row-file.ts'
import type { RuleCard } from '../../schema/files/rule-card.ts'
import type { MeasuredStep } from '../../schema/files/step-file.ts'
import type { Intake } from '../../schema/kept/intake.ts'
import type { MeterFacts } from '../../schema/kept/reading.ts'
import type { SupplyTrip } from '../../schema/kept/supply-trip-kind.ts'
import type { Pass } from '../../schema/messages/live-frame.ts'
import { said, type Words } from '../../words/said/said.ts'
import type { Step } from '../goal/step.ts'
import type { Effects } from '../homing/effect.ts'
import type { BandChannel } from '../radio/channels.ts'
import type { DecisionRule } from '../uncertainty/decision.ts'
import { isRaised, notRaised } from './raising.ts'
import { cannotBeDone } from './step-faults.ts'

/** One thing to get through in a job: a step of the procedure in one of its passes. */
export interface Line {
  /** The step's own id, with ".found" or ".left" where it is read again. */
  readonly id: string
  readonly pass: Pass
  readonly step: Step
  /** Why it is left out from the start; null where it is done. */
  readonly leftOut: Words | null
  /** It is left out since this job cannot do it, not by choice of sheet or rule card: what was asked for is not done then. */
  readonly wanting: boolean
}

export const NOT_ALLOWED = said('plan.not-allowed-here')

/** Everything a job goes through, in the order of the file: a "read again" row becomes a line for each of its steps. Modes are held against the rule card, voltages above normal against what protects the radio from more. */
export function linesOf(procedure: Procedure, card: RuleCard | null, trip: SupplyTrip): readonly Line[] {
  const measured = new Map(procedure.steps.flatMap((row) => (row.kind === 'measure' ? [[row.id, row]] : [])))
  const { set } = procedure
  const tooHigh = notRaised(trip, set)
  return procedure.steps
    .flatMap((row) => linesOfRow(row, measured, card))
    .map((line) => {
      const leftOut = line.leftOut ?? (isRaised(line.step, set) ? tooHigh : null)
      return { ...line, leftOut, wanting: leftOut !== line.leftOut }
    })
}

/** The lines as a job with these channels does them: one that it cannot do is left out, with the reason. */
export function doableWith(lines: readonly Line[], channels: readonly BandChannel[]): readonly Line[] {
  return lines.map((line) => {
    const reason = line.leftOut === null ? cannotBeDone(line.step, channels) : ''
    return reason === '' ? line : { ...line, leftOut: reason, wanting: true }
  })
}

function linesOfRow(
  row: Row,
  measured: ReadonlyMap<string, MeasuredStep>,
  card: RuleCard | null,
): readonly Omit<Line, 'wanting'>[] {
  switch (row.kind) {
    case 'measure':
      return [{ id: row.id, pass: 'work', step: row, leftOut: leftOutBy(row, card) }]
    case 'do':
      return [{ id: row.id, pass: 'work', step: doneByHand(row), leftOut: row.leftOut }]
    case 'settings': {
      const step = unmeasured(row, 'settings', '', [])
      return [{ id: row.id, pass: row.column, step, leftOut: row.leftOut }]
    }
    case 'read again':
      return row.steps.flatMap((id, at) => {
        const again = measured.get(id)
        if (!again) return []
        const step: Step = {
          ...again,
          adjust: [],
          technique: again.technique === 'highest' ? 'highest' : 'check',
          before: at === 0 ? row.before : '',
          asksForBands: false,
        }
        return [{ id: `${id}.${row.pass}`, pass: row.pass, step, leftOut: row.leftOut ?? leftOutBy(again, card) }]
      })
    default:
      return row satisfies never
  }
}

/** A step of a mode that the card does not name is left out; AM needs a card that names it. */
function leftOutBy(step: MeasuredStep, card: RuleCard | null): Words | null {
  const allowed = card ? card.modes.includes(step.mode) : step.mode !== 'AM'
  if (!allowed) return step.leftOut ?? NOT_ALLOWED
  return step.mode === 'AM' ? null : step.leftOut
}

function doneByHand(row: Extract<Row, { kind: 'do' }>): Step {
  return { ...unmeasured(row, 'do', row.words, row.cautions), asksForBands: row.asksForBands }
}

function unmeasured(
  row: { readonly id: string; readonly row: string; readonly title: string; readonly leftOut: string | null },
  technique: 'do' | 'settings',
  before: string,
  cautions: readonly string[],
): Step {
  return {
    id: row.id,
    row: row.row,
    title: row.title,
    technique,
    before,
    asksForBands: false,
    cautions: [...cautions],
    leftOut: row.leftOut,
    stops: [{ state: 'receive', channel: null, tone: null }],
    quantity: null,
    role: null,
    target: null,
    targetWords: '',
    supplyVolts: null,
    limitAmps: null,
    band: null,
    mode: 'FM',
    where: {},
    key: null,
    adjust: [],
    aim: null,
    rule: null,
    approach: null,
    also: [],
    expect: null,
    rounds: { gainDb: 0, most: 1 },
    differenceAtMost: null,
    holdS: 0,
    drift: null,
    takesMs: 0,
    say: '',
    ifOut: '',
    sounds: 'on',
    firstKey: false,
  }
}

/** Something on the board is turned in this line. */
export function turnsSomething({ pass, step }: Pick<Line, 'pass' | 'step'>): boolean {
  return pass === 'work' && ['set', 'peak', 'dip'].includes(step.technique) && !step.adjust.includes('supply')
}

/** What is fixed for one job: the procedure, the meters of this bench, the channels of the bands in use. */
export interface JobPlan {
  readonly procedure: Procedure
  /** What is gone through, pass by pass. */
  readonly lines: readonly Line[]
  readonly ruleCard: RuleCard | null
  /** How values are accepted, chosen before measuring. */
  readonly decision: DecisionRule
  readonly serial: string
  /** What was found before the set was switched on; null where nobody was asked. */
  readonly intake: Intake | null
  readonly meters: readonly MeterFacts[]
  readonly channels: readonly BandChannel[]
  readonly spacingHz: number
  /** The bands in use, in words. */
  readonly bands: readonly string[]
  readonly middle: BandChannel | null
  /** The bench has an audio oscillator that is set by the program. */
  readonly setsTone: boolean
  /** What ends an over-voltage on this bench: nothing is raised without it. */
  readonly supplyTrip: SupplyTrip
  readonly simulated: boolean
  /** What earlier jobs on sets of this type have learned of the adjusters. */
  readonly effects: Effects
}

import { describe, expect, test } from 'vitest'
import { sha256 } from '../../src/record/chain.ts'
import { wrongGoals as wrongGoalsOf } from '../../src/record/wrong-goals.ts'
import type { KeptGoal } from '../../src/schema/kept/evidence.ts'
import type { RecordPayload } from '../../src/schema/kept/record.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { keptPayload, numbered, verifiedAs } from '../kit/job/kept-record.ts'

const wrongGoals = (payload: RecordPayload) => wrongGoalsOf(payload).map((words) => sentence(words))

/** Values of the record: the drive, peaked and expected to be 5 to 6 W; the power, 3.6 to 4.0 W, by rule at most 4 W; what was read at 15.6 V. */
const DRIVE = 15
const POWER = 16
const RAISED = [DRIVE, POWER, 17]
const FREQUENCY = 14

/** Which values are found to be judged by something else than the sheet, by their numbers. */
function wrong(change: (payload: RecordPayload) => void): readonly number[] {
  const payload = keptPayload()
  change(payload)
  return wrongGoals(payload).map((words) => Number(/^value (\d+) /.exec(words)?.[1]))
}

const goalOf = (payload: RecordPayload, number: number): KeptGoal => numbered(payload, number).evidence.goal

describe('a record is held against the sheet that it carries', () => {
  test('as it was made: nothing is found', () => {
    expect(wrong(() => {})).toEqual([])
  })

  test.each([
    ['the lower edge', { low: 3.5 }],
    ['the upper edge', { high: 4.1 }],
    ['the aim', { aim: 3.9 }],
    ['the range to aim for', { aimLow: 3.7 }],
    ['the rule limit left out', { ruleHigh: null }],
    ['a rule limit more than the sheet has', { ruleLow: 1 }],
  ])('%s of one value is another: that value is named', (_, change) => {
    expect(wrong((payload) => void Object.assign(goalOf(payload, POWER), change))).toEqual([POWER])
  })

  test('both are printed, the sheet first, and a rule limit only where there is one', () => {
    const payload = keptPayload()
    Object.assign(goalOf(payload, POWER), { low: 3.5, ruleHigh: null })
    const [words = '', ...more] = wrongGoals(payload)
    expect(more).toEqual([])
    expect(words).toMatch(/3\.6 \.\. 4, aim 3\.8 \.\. 3\.9, rule - \.\. 4, .* 3\.5 \.\. 4, aim 3\.8 \.\. 3\.9$/)
    Object.assign(goalOf(payload, POWER), { ruleLow: 1 })
    expect(wrongGoals(payload)[0]).toMatch(/3\.5 \.\. 4, aim 3\.8 \.\. 3\.9, rule 1 \.\. -$/)
  })

  test('a peak that was a dip, and a dip that was a band', () => {
    const dip = { kind: 'peak', dip: true } as const
    expect(wrong((payload) => void Object.assign(goalOf(payload, DRIVE), dip))).toEqual([DRIVE])
    const swap = (payload: RecordPayload) => {
      numbered(payload, POWER).evidence.goal = dip
    }
    expect(wrong(swap)).toEqual([POWER])
  })

  test('what a peak is expected to reach: left out, or easier than the sheet says', () => {
    expect(
      wrong((payload) => {
        numbered(payload, DRIVE).evidence.judgedAgainst = null
      }),
    ).toEqual([DRIVE])
    expect(
      wrong((payload) => {
        const { judgedAgainst } = numbered(payload, DRIVE).evidence
        if (judgedAgainst?.kind === 'band') judgedAgainst.low = 4
      }),
    ).toEqual([DRIVE])
  })

  test('a band that is judged by something else besides', () => {
    expect(
      wrong((payload) => {
        const { evidence } = numbered(payload, POWER)
        evidence.judgedAgainst = numbered(payload, DRIVE).evidence.judgedAgainst
      }),
    ).toEqual([POWER])
  })

  test('a step, or a quantity in it, that the sheet does not have', () => {
    expect(
      wrong((payload) => {
        numbered(payload, POWER).step = 'power-of-mine'
        numbered(payload, DRIVE).quantity = 'FM deviation'
      }),
    ).toEqual([DRIVE, POWER])
  })

  test('the channel plan is not in a record: the frequency of another channel passes, a wider band about it does not', () => {
    const moved = (payload: RecordPayload, lowHz: number) => {
      const goal = goalOf(payload, FREQUENCY)
      if (goal.kind !== 'band') throw new TypeError('no band')
      const by = (hz: number | null) => (hz === null ? null : hz + 10_000)
      Object.assign(goal, { low: (goal.low ?? 0) + 10_000 - lowHz, high: by(goal.high), aim: by(goal.aim) })
      Object.assign(goal, { aimLow: by(goal.aimLow), aimHigh: by(goal.aimHigh) })
    }
    expect(wrong((payload) => moved(payload, 0))).toEqual([])
    expect(wrong((payload) => moved(payload, 1))).toEqual([FREQUENCY])
  })

  test("a value from an earlier job was held against that job's sheet", () => {
    expect(
      wrong((payload) => {
        Object.assign(goalOf(payload, POWER), { low: 3.5 })
        numbered(payload, POWER).from = '20250101-080000-T1-abcd'
      }),
    ).toEqual([])
  })

  test('a supply that was not raised reads nothing above the normal voltage', () => {
    const on = (trip: RecordPayload['header']['supplyTrip']) =>
      wrong((payload) => {
        payload.header.supplyTrip = trip
      })
    expect(on('none')).toEqual(RAISED)
    expect(on('own')).toEqual([])
    expect(on(null)).toEqual([])
    expect(on({ crowbarVolts: 16.4, tried: '2025-11-02' })).toEqual([])
    expect(on({ crowbarVolts: 17, tried: '2025-11-02' })).toEqual(RAISED)
  })

  test('a sheet that cannot be read is one finding, and the record is not good', async () => {
    const payload = keptPayload()
    payload.header.procedure.text = 'format: 1\nset: ['
    payload.header.procedure.sha256 = sha256(payload.header.procedure.text)
    expect(wrongGoals(payload)).toHaveLength(1)
    expect((await verifiedAs(payload)).answer).toBe('not')
  })
})

import { expect, test } from 'vitest'
import { chassisFloats, intakeCautions } from '../../../src/core/plan/intake.ts'
import type { Intake } from '../../../src/schema/kept/intake.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { JobBench, METERS } from '../../kit/job/job-bench.ts'

const { plan } = new JobBench(METERS).job
/** The sheet's set, with the chassis as the sheet has it and as it was found. */
const found = (sheet: 'floating' | 'to supply minus', intake: Partial<Intake> | null) => ({
  procedure: { ...plan.procedure, set: { ...plan.procedure.set, chassis: sheet } },
  intake:
    intake === null
      ? null
      : ({ chassis: 'to supply minus', speaker: 'one side to chassis', tampered: '', ...intake } as const),
})

test.each([
  ['to supply minus', 'to supply minus', false],
  ['to supply minus', 'floating', true],
  ['to supply minus', 'not measured', true],
  ['floating', 'to supply minus', true],
  ['floating', 'floating', true],
] as const)('sheet says %s, found %s: floats %s', (sheet, chassis, floats) => {
  expect(chassisFloats(found(sheet, { chassis }))).toBe(floats)
})

test('nobody asked: as the sheet says, and nothing is said of it', () => {
  expect(chassisFloats(found('to supply minus', null))).toBe(false)
  expect(chassisFloats(found('floating', null))).toBe(true)
  expect(intakeCautions(found('floating', null))).toEqual([])
})

test('what was found says what hands must not do', () => {
  const of = (sheet: 'floating' | 'to supply minus', intake: Partial<Intake>) =>
    worded(intakeCautions(found(sheet, intake))).join(' ')
  expect(of('to supply minus', {})).toBe('')
  expect(of('floating', { chassis: 'to supply minus' })).toMatch(/find out why/)
  expect(of('to supply minus', { chassis: 'floating' })).toMatch(/no common on the case/)
  expect(of('to supply minus', { chassis: 'not measured' })).toMatch(/treated as floating/)
  expect(of('to supply minus', { speaker: 'bridged' })).toMatch(/^Speaker bridged: neither of its leads to earth/)
  expect(of('to supply minus', { speaker: 'not measured' })).toMatch(/treated as bridged/)
  expect(of('to supply minus', { tampered: 'wax broken' })).toMatch(/Somebody was at this set before/)
})

test('a voltmeter joined to its link is refused at the test point of a set that was found floating, though the sheet says otherwise', () => {
  const meters = METERS.map((one) => (one.quantity === 'DC voltage' ? { ...one, inputIsolated: 'no' as const } : one))
  const answer = (chassis: Intake['chassis']) => {
    const bench = new JobBench(meters)
    const { procedure, intake } = found('to supply minus', { chassis })
    bench.job = { ...bench.job, plan: { ...bench.job.plan, procedure, intake } }
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    return bench.ask({ kind: 'ready' })
  }
  expect(answer('floating')).toMatchObject({
    ok: false,
    words: expect.stringMatching(/would short the floating chassis/),
  })
  expect(answer('to supply minus').ok).toBe(true)
})

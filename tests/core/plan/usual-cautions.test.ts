import { describe, expect, test } from 'vitest'
import {
  CAUTION_OF_COVER,
  cautionsOfJob,
  cautionsOfKeying,
  LOAD_QUESTION,
} from '../../../src/core/plan/usual-cautions.ts'
import { HAZARDS } from '../../../src/schema/files/hazard.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { JobBench, METERS, WHOLE_SHEET } from '../../kit/job/job-bench.ts'

const OF_JOB = cautionsOfJob({ hazards: [] }, true).map((one) => sentence(one))
const OF_KEYING = cautionsOfKeying(true).map((one) => sentence(one))
const QUESTION = sentence(LOAD_QUESTION)

/** A procedure that names no caution at all and asks nothing. */
function silent(procedure?: string): JobBench {
  const bench = new JobBench(METERS, procedure === undefined ? {} : { procedure })
  const { plan } = bench.job
  const lines = plan.lines.map((line) => ({ ...line, step: { ...line.step, cautions: [] } }))
  bench.job = { ...bench.job, plan: { ...plan, lines, procedure: { ...plan.procedure, cautions: [] } } }
  return bench
}

/** Opens a line and gives its card. */
function card(bench: JobBench, id: string) {
  bench.ask({ kind: 'open step', step: id })
  return bench.frame().step
}

describe('cautions, whoever wrote the procedure', () => {
  test('the first card says whose rules decide and what STOP is not; once seen they are not said again', () => {
    const bench = silent()
    const [first, second] = bench.job.plan.lines.map(({ id }) => id)
    expect(card(bench, first ?? '')?.cautions).toEqual(expect.arrayContaining(OF_JOB))
    bench.ask({ kind: 'ready' })
    const next = card(bench, second ?? '')
    expect(next?.cautions.filter((one) => OF_JOB.includes(one))).toEqual([])
    expect(next?.cautionsSeen).toEqual(expect.arrayContaining(OF_JOB))
  })

  test('every keyed step brings load, burns and hot parts, also where it is opened first', () => {
    const bench = silent()
    const keyed = bench.job.plan.lines.filter(({ step }) => step.stops.some(({ state }) => state === 'transmit'))
    expect(keyed.length).toBeGreaterThan(2)
    for (const { id } of keyed) expect(card(bench, id)?.cautions, id).toEqual(expect.arrayContaining(OF_KEYING))
    const receive = bench.job.plan.lines.find(({ step }) => step.stops.every(({ state }) => state === 'receive'))
    expect(card(bench, receive?.id ?? '')?.cautions.filter((one) => OF_KEYING.includes(one))).toEqual([])
  })

  test('hot parts are said once more where the cover goes on', () => {
    const bench = silent(WHOLE_SHEET)
    const left = bench.job.plan.lines.filter(({ pass }) => pass === 'left')
    expect(left.length).toBeGreaterThan(0)
    for (const { id } of left) expect(card(bench, id)?.cautions, id).toContain(sentence(CAUTION_OF_COVER))
  })

  test.each(HAZARDS)('a radio with "%s" brings a caution of its own', (hazard) => {
    const [own = '', ...rest] = cautionsOfJob({ hazards: [hazard] }, false).map((one) => sentence(one))
    expect(rest).toEqual([])
    expect(own.length).toBeGreaterThan(40)
  })

  test('a sheet without a keyed step says nothing of keys', () => {
    expect(cautionsOfJob({ hazards: [] }, false)).toEqual([])
  })
})

describe('the load is asked for before the first key-down', () => {
  const keyedOf = (bench: JobBench) =>
    bench.job.plan.lines.filter(({ step }) => step.stops.some(({ state }) => state === 'transmit')).map(({ id }) => id)

  test('of a sheet that does not ask: at the first keyed step that is begun, once, and it is written down', () => {
    const bench = silent()
    const [one = '', other = ''] = keyedOf(bench)
    card(bench, other)
    bench.ask({ kind: 'ready' })
    expect(bench.frame()).toMatchObject({ state: 'action', guide: { words: QUESTION } })
    expect(bench.output).toBe('off')
    bench.ask({ kind: 'confirm' })
    expect(bench.job.loadIsOn).toBe(true)
    card(bench, one)
    bench.ask({ kind: 'ready' })
    expect(bench.frame().guide.words).not.toBe(QUESTION)
  })

  test('looked at and left again it is still owed, and asked once only', () => {
    const bench = silent()
    const [one = ''] = keyedOf(bench)
    card(bench, one)
    bench.ask({ kind: 'ready' })
    card(bench, one)
    bench.ask({ kind: 'ready' })
    expect(bench.job.open.actions.filter((action) => sentence(action) === QUESTION)).toHaveLength(1)
    expect(bench.job.loadIsOn).toBe(false)
  })

  test('a sheet that asks at its own first key-down is not asked twice; left out there, it is asked for at the next', () => {
    const bench = silent(WHOLE_SHEET)
    for (const { id, pass } of bench.frame().steps)
      if (pass === 'found') bench.ask({ kind: 'leave out', step: id, reason: 'for the test' })
    const first = bench.job.plan.lines.find(({ step }) => step.firstKey)
    card(bench, first?.id ?? '')
    bench.ask({ kind: 'ready' })
    expect(bench.frame()).toMatchObject({ state: 'action' })
    expect(bench.frame().guide.words).not.toBe(QUESTION)
    bench.ask({ kind: 'leave out', step: first?.id ?? '', reason: 'for the test' })
    const other = keyedOf(bench).find((id) => id !== first?.id) ?? ''
    card(bench, other)
    bench.ask({ kind: 'ready' })
    expect(bench.frame().guide.words).toBe(QUESTION)
  })
})

import { describe, expect, test } from 'vitest'
import { cannotDo, openStep, stopOf, stopWords } from '../../../../src/core/job/steps/step-open.ts'
import type { MeterFacts } from '../../../../src/schema/kept/reading.ts'
import { sentence } from '../../../../src/words/sentence/sentence.ts'
import { JobBench, METERS, quietMeter, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
const { plan } = bench.job
const atLine = (id: string, of = plan) => of.lines.findIndex((line) => line.id === id)
const opened = (id: string) => openStep(plan, atLine(id), plan.effects)

describe('a step that is opened', () => {
  test('stands at its first stop, with what has to be done first, and turns the first of its adjusters', () => {
    const drive = opened('drive')
    expect(drive).toMatchObject({ stopAt: 0, adjuster: 'DK', pass: 'work', trimmed: false, release: '' })
    expect(drive.actions).toHaveLength(1)
    expect(drive.rounds).not.toBeNull()
    expect(opened('power')).toMatchObject({ adjuster: 'PW', rounds: null })
    expect(opened('control-low')).toMatchObject({ adjuster: '', actions: [], rounds: null })
  })

  test('only the quantity that is set is brought to a target by hand; what the supply is trimmed to is not', () => {
    const sets = (id: string) => opened(id).measured.map(({ rule }) => [rule.facts.quantity, rule.set !== null])
    expect(sets('power')).toEqual([
      ['RF power', true],
      ['DC current', false],
    ])
    expect(sets('plug-volts')).toEqual([['DC voltage', false]])
    expect(sets('power-normal')).toEqual([
      ['RF power', false],
      ['DC current', false],
    ])
    expect(sets('drive')[0]).toEqual(['RF power', false])
  })

  test('volts are read behind the series resistor of the step, anything else behind none', () => {
    const ohms = (id: string) => opened(id).measured.map(({ rule }) => rule.seriesOhms)
    expect(ohms('control-voltage')).toEqual([100e3])
    expect(ohms('plug-volts')).toEqual([0])
    expect(ohms('power')).toEqual([0, 0])
  })

  test('what an adjuster is known to do comes with it, by adjuster and quantity', () => {
    const known = new Map([['PW RF power', { perS: 0.4, clockwise: 1 as const, moves: 3 }]])
    const rules = (id: string) => openStep(plan, atLine(id), known).measured.map(({ rule }) => rule.set?.usual ?? null)
    expect(rules('power')[0]).toMatchObject({ perS: 0.4 })
    expect(rules('control-voltage')).toEqual([null])
  })

  test('each stop has its channel, its tone and a goal of its own', () => {
    const ends = plan.lines[atLine('power-ends')]?.step
    if (!ends) throw new TypeError('no such step')
    expect(ends.stops.map((_, at) => stopOf(plan, ends, at).channel?.channel)).toEqual([1, 40])
    const sweep = plan.lines[atLine('deviation-sweep')]?.step
    if (!sweep) throw new TypeError('no such step')
    const words = sweep.stops.map((_, at) => sentence(stopWords({ step: sweep, ...stopOf(plan, sweep, at) })))
    expect(new Set(words).size).toBe(sweep.stops.length)
    expect(words.every((one) => /Hz$/.test(one))).toBe(true)
    expect(sentence(stopWords({ step: ends, ...stopOf(plan, ends, 1) }))).toMatch(/^\S+ 40$/)
    expect(sentence(stopWords(opened('power')))).toBe('')
    const plug = opened('plug-volts')
    expect(sentence(stopWords(plug))).toBe('receive')
    expect(sentence(opened('deviation').toneWords)).toMatch(/Hz at .*V$/)
    expect(opened('power').toneWords).toBe('')
    expect(() => stopOf(plan, ends, 2)).toThrow(TypeError)
    expect(() => openStep(plan, 999)).toThrow(TypeError)
  })

  test('a meter that is too coarse to prove the band is said; one that proves it is not', () => {
    const coarse = (accuracy: number) => {
      const meters = METERS.map((one) =>
        one.quantity === 'DC voltage' ? { ...one, accuracy: { ofReading: accuracy, floor: 0 } } : one,
      )
      const { plan: with_ } = new JobBench(meters, { procedure: WHOLE_SHEET }).job
      return openStep(with_, atLine('plug-volts', with_)).coarse.length
    }
    expect(coarse(0.01)).toBe(1)
    expect(coarse(0.0001)).toBe(0)
    expect(opened('drive').coarse).toEqual([])
  })

  test('the target in numbers; of a peak as it was written; of a wait the drift that ends it', () => {
    expect(sentence(opened('control-voltage').targetWords)).toMatch(/2\.200 \.\. 2\.600 V/)
    expect(sentence(opened('drive').targetWords)).not.toMatch(/\d/)
    expect(sentence(opened('warm-up').targetWords)).toMatch(/5 Hz .*60 s/)
  })
})

describe('a step cannot be done', () => {
  const why = (step: string, meters: readonly MeterFacts[] = METERS, trip: 'own' | 'none' = 'own', tone = true) => {
    const made = new JobBench(meters, { procedure: WHOLE_SHEET, supplyTrip: trip })
    const { plan: with_ } = made.job
    return sentence(
      cannotDo({ ...made.job, plan: { ...with_, setsTone: tone }, open: openStep(with_, atLine(step, with_)) }),
    )
  }

  test('where nobody measures what it reads, by name', () => {
    expect(why('power')).toBe('')
    const words = why('power', [quietMeter('DC voltage'), quietMeter('RF power')])
    expect(words).toContain('DC current')
    expect(words).not.toContain('RF power')
    expect(why('power', [quietMeter('DC voltage')])).toMatch(/RF power.*DC current/)
  })

  test('where it would be raised on a supply that does not trip', () => {
    expect(why('power', METERS, 'none')).not.toBe('')
    expect(why('power-normal', METERS, 'none')).toBe('')
  })

  test('where nobody makes its tone', () => {
    expect(why('deviation', METERS, 'own', false)).not.toBe('')
    expect(why('power', METERS, 'own', false)).toBe('')
  })

  test('where a meter would short the floating chassis, or nobody knows', () => {
    const with_ = (inputIsolated: MeterFacts['inputIsolated']) =>
      why('control-voltage', [{ ...quietMeter('DC voltage'), inputIsolated }])
    expect(with_('yes')).toBe('')
    expect(with_('no')).not.toBe('')
    expect(with_('unknown')).not.toBe('')
    expect(with_('unknown')).not.toBe(with_('no'))
  })
})

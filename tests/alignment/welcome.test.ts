import { expect, test } from 'vitest'
import { placesOn } from '../../src/alignment/welcome.ts'
import type { InstrumentInfo } from '../../src/bench/bench.ts'
import { loadPlans, loadProcedure } from '../../src/commands/load-procedures.ts'
import { quietMeter, WHOLE_SHEET } from '../kit/job/job-bench.ts'

const { procedure } = loadProcedure(WHOLE_SHEET, loadPlans())

const info = (name: string, more: Partial<InstrumentInfo> = {}): InstrumentInfo => ({
  name,
  driver: 'test',
  address: '',
  identity: '',
  simulated: true,
  up: true,
  calibrationDue: null,
  certificate: null,
  serial: '',
  typed: false,
  ...more,
})

/** Power typed in, counter not reached, nobody for deviation and depth, a multimeter of which nobody knows whether it is isolated, a meter that no sheet asks for. */
const BENCH = {
  sources: [{ name: 'audio tone' as const, instrument: 'oscillator' }],
  meters: [
    quietMeter('RF power', { instrument: 'wattmeter', pathLossDb: 30, typed: true }),
    quietMeter('frequency', { instrument: 'counter' }),
    quietMeter('DC voltage', { instrument: 'volts', inputIsolated: 'unknown' }),
    quietMeter('DC current', { instrument: 'supply' }),
    quietMeter('SINAD', { instrument: 'audio' }),
  ],
  instruments: () => [
    info('wattmeter', { typed: true }),
    info('counter', { up: false }),
    info('volts'),
    info('supply'),
    info('audio'),
    info('oscillator'),
  ],
}

test('each place of the bench: who is there, how it is reached, whether its input is isolated, and what is missing', () => {
  const place = { needed: true, link: 'up', isolated: 'yes', lossDb: 0 } as const
  expect(placesOn(BENCH, [procedure])).toEqual([
    { ...place, what: 'DC current', instrument: 'supply' },
    { ...place, what: 'RF power', instrument: 'wattmeter', link: 'typed', lossDb: 30 },
    { ...place, what: 'DC voltage', instrument: 'volts', isolated: 'unknown' },
    { ...place, what: 'frequency', instrument: 'counter', link: 'down' },
    { ...place, what: 'FM deviation', instrument: null, link: 'none' },
    { ...place, what: 'AM depth', instrument: null, link: 'none' },
    { ...place, what: 'tone', instrument: 'oscillator' },
    { ...place, what: 'SINAD', instrument: 'audio', needed: false },
  ])
})

test('a bench without an oscillator lacks one where a sheet has a tone', () => {
  const tone = placesOn({ ...BENCH, sources: [] }, [procedure]).find(({ what }) => what === 'tone')
  expect(tone).toMatchObject({ needed: true, instrument: null, link: 'none' })
  expect(placesOn({ ...BENCH, sources: [] }, []).some(({ what }) => what === 'tone')).toBe(false)
})

test('without a sheet everything that the bench has stands there, needed by nobody', () => {
  expect(placesOn(BENCH, []).map(({ needed, what }) => [what, needed])).toEqual([
    ['RF power', false],
    ['frequency', false],
    ['DC voltage', false],
    ['DC current', false],
    ['SINAD', false],
    ['tone', false],
  ])
})

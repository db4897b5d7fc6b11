import { expect, test } from 'vitest'
import { benchStage } from '../kit/job/bench-stage.ts'

test('two voltmeters on one bench: each reading says by which, and a value that is typed in goes to the one that is meant', async () => {
  const stage = benchStage({
    volts: { driver: 'multimeter-scpi', at: 'memory:volts' },
    dvm: { driver: 'multimeter-scpi', at: 'memory:dvm', role: 'plug' },
    read: { driver: 'typed-in', quantity: 'DC voltage', role: 'terminals' },
  })
  const says = (value: string) => ({ 'READ?': value, 'MEAS:VOLT:DC?': value, 'READ:VOLT:DC?': value })
  stage.script('volts', says('+2.4000E+00'))
  stage.script('dvm', says('+1.3600E+01'))
  const bench = await stage.open()
  bench.watch(['DC voltage'])
  await stage.clock.advance(2000)
  const seen = new Set(stage.readings.map(({ instrument, role, value }) => `${instrument} ${role} ${value}`))
  expect(seen).toEqual(new Set(['volts undefined 2.4', 'dvm plug 13.6']))
  expect(bench.typeIn('DC voltage', 13.7, '13.7 V', undefined, 'terminals')).toMatchObject({
    instrument: 'read',
    role: 'terminals',
  })
  expect(() => bench.typeIn('DC voltage', 13.7, '13.7 V')).toThrow('no meter for DC voltage is read by a person')
  await stage.clock.runUntil(bench.close())
})

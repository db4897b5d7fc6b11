import { expect, test } from 'vitest'
import { loadPlans, loadProcedure } from '../../../../src/commands/load-procedures.ts'
import type { Taken } from '../../../../src/core/job/state/job-types.ts'
import { remarksOn as saidOn } from '../../../../src/core/job/steps/remarks.ts'
import { worded } from '../../../../src/words/sentence/sentence.ts'
import { WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

/** What is remarked, as it is read. */
const remarksOn = (...about: Parameters<typeof saidOn>) => worded(saidOn(...about))

const { set } = loadProcedure(WHOLE_SHEET, loadPlans()).procedure
const about = { set, parts: [], mostDeviationHz: null }
const power: Taken = {
  number: 1,
  step: 'power-normal',
  pass: 'work',
  quantity: 'RF power',
  label: 'settled',
  value: 3.67,
  state: 'transmit',
  mode: 'FM',
  channel: 20,
  transmitHz: 27.205e6,
  supplyVolts: 13.8,
  tone: null,
  which: '',
}
const current: Taken = { ...power, quantity: 'DC current', value: 1.22 }

test('power and current that belong together say nothing; a power that is lost behind the final stage is asked about', () => {
  expect(remarksOn([], [power, current], about)).toEqual([])
  const [words, ...more] = remarksOn([], [{ ...power, value: 2.2 }, current], about)
  expect(words).toMatch(/the current says about 3\.7 W, the meter 2\.2 W: path loss, relay or meter\?/)
  expect(more).toEqual([])
})

test('without a law of the set nothing is held against it', () => {
  const none = { ...about, set: { ...set, currentLaw: null, supplyLaw: null } }
  expect(remarksOn([], [{ ...power, value: 2.2 }, current], none)).toEqual([])
})

test('power that falls with the supply as if nothing held it; the top of a peak is not taken for the set power', () => {
  const extreme: Taken = { ...power, step: 'power', supplyVolts: 15.6, value: 3.85 }
  expect(remarksOn([extreme], [power], about)).toEqual([])
  expect(remarksOn([{ ...extreme, value: 5.3 }], [power], about).join()).toMatch(
    /no reserve, or the power loop is open/,
  )
  expect(remarksOn([{ ...extreme, value: 5.3, label: 'peaked' }], [power], about)).toEqual([])
  expect(remarksOn([{ ...extreme, value: 5.3, pass: 'found' }], [power], about)).toEqual([])
})

test('control volts that do not rise with the channel; a channel read again counts with its newest value', () => {
  const volts = (channel: number, transmitHz: number, value: number): Taken => ({
    ...power,
    quantity: 'DC voltage',
    state: 'receive',
    channel,
    transmitHz,
    value,
  })
  const low = volts(1, 26.965e6, 1.6)
  const high = volts(40, 27.405e6, 3.39)
  expect(remarksOn([low], [high], about)).toEqual([])
  expect(remarksOn([low], [{ ...high, value: 1.5 }], about).join()).toMatch(/does not rise with the channel/)
  expect(remarksOn([{ ...low, value: 4.7 }, low], [high], about)).toEqual([])
})

test('both peaks are said; a limiter that passes the level on is called defeated', () => {
  const quiet: Taken = { ...power, quantity: 'FM deviation', value: 400, tone: { hz: 1000, volts: 0.003 } }
  const loud: Taken = { ...quiet, value: 1800, tone: { hz: 1000, volts: 0.03 } }
  const held = { ...about, parts: [1800, 1720], mostDeviationHz: 1950 }
  expect(remarksOn([{ ...quiet, value: 1100 }], [loud], held)).toEqual([
    'the larger peak is 1.80 kHz up, the other 1.72 kHz: 4 % less',
  ])
  expect(remarksOn([quiet], [{ ...loud, value: 4000 }], held).join()).toMatch(/limiter/)
})

test('only values of FM are held against the laws of the set, and power only against a higher supply on the same channel', () => {
  const low: Taken = { ...power, value: 2.2 }
  expect(remarksOn([], [{ ...low, mode: 'AM' }, current], about)).toEqual([])
  const extreme: Taken = { ...power, step: 'power', supplyVolts: 15.6, value: 5.3 }
  const said = (changes: Partial<Taken>) => remarksOn([{ ...extreme, ...changes }], [power], about).length
  expect(said({})).toBe(1)
  expect(said({ channel: 19 })).toBe(0)
  expect(said({ supplyVolts: 13.8 })).toBe(0)
  expect(said({ supplyVolts: 12 })).toBe(0)
  expect(said({ mode: 'AM' })).toBe(0)
  expect(said({ quantity: 'DC current' })).toBe(0)
  // read at another supply than the normal one it is no reserve
  expect(remarksOn([extreme], [{ ...power, supplyVolts: 12 }], about)).toEqual([])
  // the newest of several counts
  expect(remarksOn([extreme, { ...extreme, value: 3.85 }], [power], about)).toEqual([])
})

test('control volts of receive are not held against those of transmit, nor those without a channel', () => {
  const volts = (
    channel: number | null,
    transmitHz: number,
    value: number,
    state: Taken['state'] = 'receive',
  ): Taken => ({
    ...{ ...power, quantity: 'DC voltage', state, channel, transmitHz, value },
  })
  const low = volts(1, 26.965e6, 1.6)
  expect(remarksOn([low], [volts(40, 27.405e6, 1.5)], about)).toHaveLength(1)
  expect(remarksOn([low], [volts(40, 27.405e6, 1.5, 'transmit')], about)).toEqual([])
  expect(remarksOn([low], [volts(null, 0, 1.5)], about)).toEqual([])
  expect(remarksOn([volts(null, 0, 4)], [volts(40, 27.405e6, 3.39)], about)).toEqual([])
})

test('peaks are told of a tone, with both of them there, and not where the largest was looked for', () => {
  const loud: Taken = { ...power, quantity: 'FM deviation', value: 1800, tone: { hz: 1000, volts: 0.03 } }
  const said = (changes: Partial<Taken>, parts: readonly number[]) =>
    remarksOn([], [{ ...loud, ...changes }], { ...about, parts }).length
  expect(said({}, [1800, 1720])).toBe(1)
  expect(said({ tone: null }, [1800, 1720])).toBe(0)
  expect(said({ label: 'highest' }, [1800, 1720])).toBe(0)
  expect(said({}, [1800])).toBe(0)
  expect(said({}, [])).toBe(0)
})

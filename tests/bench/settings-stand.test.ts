import { describe, expect, test } from 'vitest'
import { openBench } from '../../src/bench/open-bench.ts'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import type { DriverFile } from '../../src/schema/files/driver-file.ts'
import type { SettingsStand } from '../../src/schema/files/settings-stand.ts'
import { benchStage } from '../kit/job/bench-stage.ts'
import { never } from '../kit/links/instrument-deps.ts'

const NONE: SettingsStand = { powerOnBit: false, mark: false, answers: [], inReading: false }
const UNIT = [{ ask: 'UNIT:POW?', replies: ['W'] }]

/** What the driver says, and what its instrument can: whether `*ESR?` tells of power-on, and what `*PSC?` answers. */
const WAYS = {
  'power-on bit': { stand: { ...NONE, powerOnBit: true }, bit: true, psc: '0' },
  mark: { stand: { ...NONE, mark: true }, bit: false, psc: '1' },
  'a question of its own': { stand: { ...NONE, answers: UNIT }, bit: false, psc: '0' },
  'all of them': { stand: { ...NONE, powerOnBit: true, mark: true, answers: UNIT }, bit: true, psc: '1' },
  'nothing said, an instrument of IEEE 488.2': { stand: null, bit: true, psc: '0' },
  'nothing said, *ESR? not known: the start messages again': { stand: null, bit: null, psc: null },
  'mark wanted, but *PSC? answers 0: the start messages again': {
    stand: { ...NONE, mark: true },
    bit: false,
    psc: '0',
  },
} as const satisfies Record<string, { stand: SettingsStand | null; bit: boolean | null; psc: string | null }>
type Way = keyof typeof WAYS

/** A power meter that reads 3.62 W, and 35.59 while it stands in dBm, as after a reset. */
async function meterStage(way: Way, joins: boolean) {
  const { stand, bit, psc } = WAYS[way]
  const driver = loadDriver('drivers', 'power-meter-scpi')
  if (!driver.link) throw new TypeError('it has a link')
  const changed: DriverFile = { ...driver, stand, link: { ...driver.link, joins } }
  const stage = benchStage({ power: { driver: 'power-meter-scpi', at: 'memory:power' } })
  let unit = 'DBM'
  let register = 128
  const power = stage.script('power', {
    'UNIT:POW W': () => {
      unit = 'W'
      return null
    },
    'UNIT:POW?': () => unit,
    'READ:POW?': () => (unit === 'W' ? '+3.62E+00' : '+3.559E+01'),
    '*PSC?': psc,
    '*ESR?': () => {
      const said = bit === null ? null : bit ? String(register) : '0'
      register = 0
      return said
    },
  })
  power.delayMs = 20
  const drivers = new Map([['power-meter-scpi', changed]])
  const bench = await stage.clock.runUntil(openBench({ ...stage.options, drivers, signal: never() }))
  const readings = stage.readings
  bench.onReading((reading) => readings.push(reading))
  return {
    ...stage,
    power,
    bench,
    readings,
    reset: () => {
      power.restart(psc !== '1')
      unit = 'DBM'
      register = 128
    },
    wrong: () => readings.filter(({ state, value }) => state !== 'good' || value !== 3.62),
    close: () => stage.clock.runUntil(bench.close()),
  }
}

const ways = Object.keys(WAYS).flatMap((way) => [true, false].map((joins) => [way as Way, joins] as const)) // the keys of a constant table

describe('an instrument that loses its settings while the link stays gives no reading that counts', () => {
  test.each(ways)('%s; several questions in one message: %s; reset at any moment of reading', async (way, joins) => {
    for (let atMs = 400; atMs < 700; atMs += 7) {
      const { clock, bench, readings, reset, wrong, close } = await meterStage(way, joins)
      bench.watch(['RF power'])
      await clock.advance(atMs)
      reset()
      await clock.advance(9000)
      expect(wrong(), `reset at ${atMs} ms`).toEqual([])
      expect(clock.nowMs() - (readings.at(-1)?.arrivedMs ?? 0), `reset at ${atMs} ms`).toBeLessThan(600)
      await close()
    }
  })

  test.each(ways)('%s; several questions in one message: %s; reset while nothing is read', async (way, joins) => {
    for (const idleMs of [0, 700, 1400, 3500, 4999, 5000, 7000]) {
      const { clock, bench, readings, reset, wrong, close } = await meterStage(way, joins)
      bench.watch(['RF power'])
      await clock.advance(1000)
      bench.watch([])
      await clock.advance(300)
      reset()
      await clock.advance(idleMs)
      bench.watch(['RF power'])
      const before = readings.length
      await clock.advance(3000)
      expect(wrong(), `read again after ${idleMs} ms`).toEqual([])
      expect(readings.length).toBeGreaterThan(before + 4)
      await close()
    }
  })
})

test('a reset is found at the next sign of life, and the settings are made again though nothing is read', async () => {
  const { clock, power, reset, close } = await meterStage('power-on bit', true)
  await clock.advance(1000)
  reset()
  power.heard.length = 0
  await clock.advance(5100)
  expect(power.heard.map(({ text }) => text)).toContain('UNIT:POW W')
  await close()
})

test('after a reset in the middle of a reading the settings are made once, not twice', async () => {
  const { clock, power, bench, readings, reset, close } = await meterStage('power-on bit', true)
  bench.watch(['RF power'])
  await clock.advance(510)
  reset()
  power.heard.length = 0
  await clock.advance(9000)
  expect(power.heard.filter(({ text }) => text === 'UNIT:POW W')).toHaveLength(1)
  expect(readings.length).toBeGreaterThan(10)
  await close()
})

test('where several questions go in one message, a reading costs no exchange more, and its raw reply is its own', async () => {
  const { clock, power, bench, readings, close } = await meterStage('all of them', true)
  await clock.advance(100)
  power.heard.length = 0
  bench.watch(['RF power'])
  const beganMs = clock.nowMs()
  await clock.advance(200)
  expect(power.heard.map(({ text, atMs }) => [text, atMs - beganMs])).toEqual(
    ['READ:POW?', '*ESR?', '*ESE?', 'UNIT:POW?'].map((text) => [text, 0]),
  )
  expect(readings).toMatchObject([{ raw: '+3.62E+00', value: 3.62, arrivedMs: beganMs + 20 }])
  await close()
})

test('an instrument that does not take its settings is down with its cause, not read', async () => {
  const stage = benchStage({ power: { driver: 'power-meter-scpi', at: 'memory:power' } })
  stage.script('power', { 'UNIT:POW?': 'DBM', 'READ:POW?': '+3.559E+01' })
  const bench = await stage.open()
  bench.watch(['RF power'])
  await stage.clock.advance(3000)
  expect(stage.readings).toEqual([])
  expect(stage.news[0]?.fault?.message).toBe(
    'power (power-meter-scpi at memory:power): its settings are not those that it was given: it was switched off and on, reset, or set by hand. Check the instrument front panel and its limits [INSTRUMENT_SETTING_DIFFERS]',
  )
  await stage.clock.runUntil(bench.close())
})

test('a clear on the way back in step takes the sign of a power-on with it: a reading after it does not count before the settings are made again', async () => {
  const driver = loadDriver('drivers', 'power-meter-scpi')
  if (!driver.link) throw new TypeError('it has a link')
  const stand = { ...NONE, powerOnBit: true }
  const clears: DriverFile = { ...driver, stand, link: { ...driver.link, clear: '*CLS' } }
  const stage = benchStage({ power: { driver: 'power-meter-scpi', at: 'memory:power' } })
  let unit = 'DBM'
  const power = stage.script('power', {
    'UNIT:POW W': () => {
      unit = 'W'
      return null
    },
    'READ:POW?': () => (unit === 'W' ? '+3.62E+00' : '+3.559E+01'),
  })
  const drivers = new Map([['power-meter-scpi', clears]])
  const bench = await stage.clock.runUntil(openBench({ ...stage.options, drivers, signal: never() }))
  bench.onReading((reading) => stage.readings.push(reading))
  bench.watch(['RF power'])
  await stage.clock.advance(1100) // between two readings
  power.restart()
  unit = 'DBM'
  power.say('READY\n') // unasked: brought in step, and *CLS clears the bit
  await stage.clock.advance(5000)
  expect(new Set(stage.readings.map(({ value }) => value))).toEqual(new Set([3.62]))
  expect(stage.clock.nowMs() - (stage.readings.at(-1)?.arrivedMs ?? 0)).toBeLessThan(600)
  await stage.clock.runUntil(bench.close())
})

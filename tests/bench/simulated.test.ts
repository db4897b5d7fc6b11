import { describe, expect, test } from 'vitest'
import type { Quantity } from '../../src/quantity/quantity.ts'
import type { Reading } from '../../src/schema/kept/reading.ts'
import { simulatedBench } from '../kit/job/simulated-bench.ts'
import { never } from '../kit/links/instrument-deps.ts'
import { clientOf } from '../mocks/kit.ts'

const ALL: readonly Quantity[] = ['DC voltage', 'RF power', 'frequency', 'FM deviation', 'AM depth']

test('every instrument of the simulated bench is up, says that it is simulated, and is the one that its entry names', async () => {
  const { bench, close } = await simulatedBench()
  expect(bench.simulated).toBe(true)
  expect(bench.instruments().map(({ name, up, simulated }) => [name, up, simulated])).toEqual(
    ['counter', 'power', 'modmeter', 'volts', 'supply', 'oscillator'].map((name) => [name, true, true]),
  )
  await close()
})

test('a keyed set with a tone is seen by every meter: volts, watts behind 30 dB, hertz, deviation', async () => {
  const { clock, world, bench, last, close } = await simulatedBench()
  await clock.runUntil(bench.source('audio tone').set({ 'audio tone': 1000, 'audio level': 0.03 }, never()))
  world.set.prod('plug')
  world.set.common('strip')
  world.set.microphone('oscillator')
  world.set.channel(20)
  world.set.key(true)
  bench.raiseEpoch('key')
  bench.watch(ALL)
  await clock.advance(6000)
  for (const quantity of ALL) expect(last(quantity), quantity).toMatchObject({ state: 'good', epoch: 1 })
  expect(last('DC voltage')?.value).toBeCloseTo(13.75, 1)
  const power = bench.meters.find(({ quantity }) => quantity === 'RF power')
  const atSet = (last('RF power')?.value ?? 0) * 10 ** ((power?.pathLossDb ?? 0) / 10)
  expect(atSet).toBeGreaterThan(2)
  expect(atSet).toBeLessThan(4)
  expect(Math.abs((last('frequency')?.value ?? 0) - 27.205e6)).toBeLessThan(2000)
  expect(last('FM deviation')?.value).toBeGreaterThan(1500)
  expect(last('FM deviation')?.parts).toHaveLength(2)
  await close()
})

test('an unkeyed set is no signal to counter and modulation meter, never a number', async () => {
  const { clock, bench, readings, close } = await simulatedBench()
  bench.watch(['frequency', 'FM deviation'])
  await clock.advance(5000)
  expect(readings.length).toBeGreaterThan(10)
  expect(new Set(readings.map(({ state, value }) => `${state} ${value}`))).toEqual(new Set(['not a number null']))
  await close()
})

describe('a fault of the link or the instrument never gives a reading that was not measured', () => {
  test.each([
    'silent',
    'late',
    'half line',
    'wrong terminator',
    'stray byte',
    'twice',
    'echo',
    'pieces',
    'overrange',
    'blank',
  ] as const)('%s', async (fault) => {
    const { clock, world, bench, readings, last, close } = await simulatedBench()
    world.set.prod('plug')
    world.set.common('strip')
    bench.watch(['DC voltage'])
    await clock.advance(3000)
    const trueVolts = last('DC voltage')?.value ?? 0
    expect(trueVolts).toBeCloseTo(13.79, 1)
    world.faults.set('volts', fault, { kind: 'chance', share: 0.3 })
    await clock.advance(30_000)
    world.faults.clear('volts')
    const numbers = readings.filter(({ state }) => state === 'good').map(({ value }) => value ?? 0)
    const settled = numbers.slice(3) // the first ones are those of a changing range
    expect(Math.max(...settled)).toBeLessThan(trueVolts + 0.1)
    expect(Math.min(...settled)).toBeGreaterThan(trueVolts - 0.1)
    const before = readings.length
    await clock.advance(20_000)
    expect(last('DC voltage')?.state).toBe('good')
    expect(readings.length).toBeGreaterThan(before + 20)
    await close()
  })
})

test('a link that is pulled for 3 s is told, and comes back by itself with its start messages', async () => {
  const { clock, world, bench, news, last, close } = await simulatedBench()
  bench.watch(['RF power'])
  await clock.advance(2000)
  world.faults.set('power', 'power cycle', { kind: 'always' }, { ms: 3000 })
  await clock.advance(20_000)
  expect(news).toEqual(['power TRANSPORT_LINK_LOST', 'power up'])
  expect(last('RF power')).toMatchObject({ state: 'good', value: 0 })
  expect(clock.nowMs() - (last('RF power')?.arrivedMs ?? 0)).toBeLessThan(1000)
  await close()
})

describe('a power meter that resets itself while its link stays wakes up in dBm: no reading of that counts', () => {
  const moments = Array.from({ length: 26 }, (_, index) => 1000 + 11 * index)
  const truth = (readings: readonly Reading[]) =>
    readings.filter(({ state, value }) => state !== 'good' || !near(value))
  const near = (watts: number | null) => watts !== null && watts < 0.01 // 2.4 mW are 3.8 dBm
  const keyed = async () => {
    const stage = await simulatedBench()
    stage.world.set.channel(20)
    stage.world.set.key(true)
    await stage.clock.advance(1000)
    return stage
  }

  test('in the middle of reading, at any moment', async () => {
    const { clock, world, bench, readings, news, close } = await keyed()
    for (const ms of moments) {
      world.set.key(false) // it would time out
      world.set.key(true)
      bench.watch(['RF power'])
      await clock.advance(ms)
      world.faults.set('power', 'reset in mid-run')
      await clock.advance(9000)
      expect(truth(readings), `reset after ${ms} ms`).toEqual([])
      expect(clock.nowMs() - (readings.at(-1)?.arrivedMs ?? 0)).toBeLessThan(1000)
    }
    expect(news.filter((one) => one !== 'power missed')).toEqual([]) // its link stays
    await close()
  })

  test('between two readings, 3.5 s apart', async () => {
    const { clock, world, bench, readings, close } = await keyed()
    for (const ms of [0, 400, 1600, 3400]) {
      bench.watch(['RF power'])
      await clock.advance(1000)
      bench.watch([])
      await clock.advance(ms)
      world.faults.set('power', 'reset in mid-run')
      await clock.advance(3500 - ms)
      bench.watch(['RF power'])
      await clock.advance(1500)
      expect(truth(readings), `reset after ${ms} ms`).toEqual([])
      expect(clock.nowMs() - (readings.at(-1)?.arrivedMs ?? 0)).toBeLessThan(1000)
    }
    await close()
  })
})

test('a counter that resets itself counts for 0.1 s: no such reading counts', async () => {
  const { clock, world, bench, readings, close } = await simulatedBench()
  world.set.channel(20)
  world.set.key(true)
  bench.watch(['frequency'])
  for (const ms of [1500, 1900, 2300, 2700]) {
    await clock.advance(ms)
    world.faults.set('counter', 'reset in mid-run')
    await clock.advance(9000)
  }
  const gates = readings.filter(({ state }) => state === 'good').map(({ beganMs, arrivedMs }) => arrivedMs - beganMs)
  expect(gates.length).toBeGreaterThan(15) // each reset costs the gate it cut short and the one after it
  expect(Math.min(...gates)).toBeGreaterThan(1000)
  await close()
})

test('an oscillator that resets itself is told within 1.5 s, and its tone comes back by itself', async () => {
  const { clock, world, bench, news, close } = await simulatedBench()
  await clock.runUntil(bench.source('audio tone').set({ 'audio tone': 1000, 'audio level': 0.03 }, never()))
  await clock.advance(3000)
  expect(news).toEqual([])
  world.faults.set('oscillator', 'reset in mid-run')
  await clock.advance(1500)
  expect(news[0]).toBe('oscillator INSTRUMENT_SETTING_DIFFERS')
  await clock.advance(3000)
  expect(news).toEqual(['oscillator INSTRUMENT_SETTING_DIFFERS', 'oscillator up'])
  const client = clientOf(clock, world.net.connect('oscillator'))
  expect(await clock.runUntil(client.ask('FREQ?;:VOLT?;:OUTP?'))).toBe('+1.0000E+03;+3.0000E-02;1')
  await close()
})

test('the supply reads back 13.8 V, 2.5 A, output on, and 16.5 V is its trip', async () => {
  const { clock, port, wait, close } = await simulatedBench()
  await clock.advance(1000)
  const seen = await clock.runUntil(port.readBack(wait()))
  expect(seen).toMatchObject({ output: 'on', regulation: 'voltage', tripped: false, setVolts: 13.8, limitAmps: 2.5 })
  expect(seen.volts).toBeCloseTo(13.8, 1)
  await close()
  await clock.runUntil(port.close())
})

describe('a voltmeter whose settings were lost looks for its range anew: what it says first counts for nothing', () => {
  test.each(['reset in mid-run', 'power cycle'] as const)('%s', async (fault) => {
    const { clock, world, bench, readings, close } = await simulatedBench()
    world.set.prod('plug')
    world.set.common('strip')
    bench.watch(['DC voltage'])
    await clock.advance(4000)
    const before = readings.length
    const volts = readings.at(-1)?.value ?? Number.NaN
    world.faults.set('volts', fault, { kind: 'next', times: 1 })
    await clock.advance(9000)
    const after = readings.slice(before).filter(({ state }) => state === 'good')
    expect(after.length).toBeGreaterThan(5)
    for (const { value } of after) expect(Math.abs((value ?? 0) - volts)).toBeLessThan(0.05)
    await close()
  })
})

import { expect, test } from 'vitest'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import type { RadioFaultName } from '../../mocks/plant/radio-faults.ts'
import type { InstrumentName } from '../../mocks/simulated-bench.ts'
import { memoryBench, spreadOf } from './kit.ts'

async function bench(asFound = RIGHT) {
  const made = await memoryBench({ asFound })
  made.bench.set.channel(20)
  const many = async (name: InstrumentName, question: string, times: number) => {
    const client = made.client(name)
    const seen: number[] = []
    for (let at = 0; at < times; at += 1) seen.push(Number(await made.run(() => client.ask(question))))
    return seen
  }
  return {
    ...made,
    set: made.bench.set,
    many,
    volts: (times: number) => many('volts', 'READ:VOLT?', times),
    lead: (prod: 'T1' | 'plug' | 'off', common: 'strip' | 'case' | 'off') => {
      made.bench.set.prod(prod)
      made.bench.set.common(common)
    },
    fault: (name: RadioFaultName) => made.bench.faults.radio(name, true),
  }
}

const most = (values: readonly number[]) => Math.max(...values.map(Math.abs))

test('common on the case: T1 wanders slowly between 0 and 0.3 V and never rests for 5 s', async () => {
  const { power, lead, volts } = await bench()
  await power(13.8)
  lead('T1', 'case')
  const seen = await volts(150)
  expect(Math.min(...seen)).toBeGreaterThan(-0.005)
  expect(Math.max(...seen)).toBeLessThan(0.305)
  const steps = seen.slice(1).map((value, at) => Math.abs(value - (seen[at] ?? Number.NaN)))
  expect(Math.max(...steps)).toBeLessThan(0.1)
  for (let from = 0; from + 25 <= seen.length; from += 5) {
    const window = seen.slice(from, from + 25)
    expect(Math.max(...window) - Math.min(...window)).toBeGreaterThan(0.1)
  }
})

test('common off: the meter floats, restless within 50 mV; prod off or slipped: within 12 mV of 0', async () => {
  const { power, lead, volts } = await bench()
  await power(13.8)
  lead('T1', 'off')
  const floating = await volts(80)
  expect(most(floating)).toBeLessThan(0.05)
  expect(spreadOf(floating).sigma).toBeGreaterThan(0.012)
  lead('T1', 'strip')
  expect((await volts(1))[0]).toBeCloseTo(2.4, 1)
  for (const common of ['strip', 'case', 'off'] as const) {
    lead('off', common)
    expect(most(await volts(60))).toBeLessThan(0.012)
  }
})

test('a prod that slips in mid-reading gives one value between, then near 0', async () => {
  const { power, lead, client, clock, volts } = await bench()
  await power(13.8)
  lead('T1', 'strip')
  const reading = client('volts').ask('READ:VOLT?')
  await clock.advance(100)
  lead('off', 'strip')
  const between = Number(await clock.runUntil(reading))
  expect(between).toBeGreaterThan(1)
  expect(between).toBeLessThan(1.4)
  expect(most(await volts(5))).toBeLessThan(0.012)
})

test('radio frequency on the lead adds one and the same 56 to 80 mV through a key-down, another at the next, none in receive', async () => {
  const { power, lead, volts, bench: one, set, clock } = await bench()
  await power(13.8)
  lead('T1', 'strip')
  one.faults.set('volts', 'lead pickup')
  const receive = spreadOf(await volts(10)).mean
  expect(Math.abs(receive - 2.4)).toBeLessThan(0.015)
  const added: number[] = []
  for (let press = 0; press < 4; press += 1) {
    set.key(true)
    await clock.advance(1000)
    const { mean, sigma } = spreadOf(await volts(16))
    expect(sigma).toBeLessThan(0.006)
    added.push(mean - 2.62)
    set.key(false)
    await clock.advance(500)
    expect(Math.abs(spreadOf(await volts(10)).mean - receive)).toBeLessThan(0.003)
  }
  expect(Math.min(...added)).toBeGreaterThan(0.05)
  expect(Math.max(...added)).toBeLessThan(0.085)
  expect(Math.max(...added) - Math.min(...added)).toBeGreaterThan(0.002)
})

test('keyed without a load: no power, nothing to count, 0.92 A instead of 1.22 A, and all of it is heat', async () => {
  const { power, set, many, clock, client, run } = await bench()
  await power(13.86)
  set.load(false)
  set.key(true)
  await clock.advance(2500)
  expect(most(await many('power', 'READ:POW?', 4))).toBe(0)
  expect(await run(() => client('counter').ask('READ:FREQ?'))).toBe('+9.91E+37')
  expect(await run(() => client('modmeter').ask('READ:FM?'))).toBe('+9.91E+37,+9.91E+37')
  expect(Math.abs(spreadOf(await many('supply', 'MEAS:CURR?', 8)).mean - 0.915)).toBeLessThan(0.015)
  set.load(true)
  await clock.advance(2500)
  expect(1000 * spreadOf(await many('power', 'READ:POW?', 8)).mean).toBeGreaterThan(3.55)
  expect(Math.abs(spreadOf(await many('supply', 'MEAS:CURR?', 8)).mean - 1.22)).toBeLessThan(0.015)
})

test.each([12.0, 13.8])('a healthy set draws 0.25 to 0.40 A in receive at %f V', async (volts) => {
  const { power, many } = await bench()
  await power(volts, 0.8)
  for (const amps of await many('supply', 'MEAS:CURR?', 6)) {
    expect(amps).toBeGreaterThan(0.25)
    expect(amps).toBeLessThan(0.4)
  }
})

test('a set that draws too much: over 0.8 A at 12 V; a limit of 0.8 A holds it, the volts fall and the display is dark', async () => {
  const free = await bench()
  free.fault('draws too much')
  await free.power(12, 5)
  expect(spreadOf(await free.many('supply', 'MEAS:CURR?', 6)).mean).toBeGreaterThan(2.5)
  expect(free.set.view().display).toBe('20')

  const limited = await bench()
  limited.fault('draws too much')
  await limited.power(12, 0.8)
  await limited.clock.advance(1000)
  const { many, run, client, set } = limited
  expect(Math.abs(spreadOf(await many('supply', 'MEAS:CURR?', 6)).mean - 0.8)).toBeLessThan(0.01)
  const terminal = spreadOf(await many('supply', 'MEAS:VOLT?', 6)).mean
  expect(terminal).toBeGreaterThan(2)
  expect(terminal).toBeLessThan(5)
  expect(await run(() => client('supply').ask('STAT:QUES:COND?'))).toBe('1')
  expect(set.view().display).toBe('')
})

test('with the leak gone the same limit lets the set work again, without touching the supply', async () => {
  const { bench: one, fault, power, set, clock } = await bench()
  fault('draws too much')
  await power(12, 0.8)
  expect(set.view().display).toBe('')
  one.faults.radio('draws too much', false)
  await clock.advance(1000)
  expect(set.view().display).toBe('20')
  expect(one.supplyTruth().amps).toBeCloseTo(0.3, 2)
})

test('a leak across the plug and the lead share the voltage as two resistances do', async () => {
  const { bench: one, fault, power } = await bench()
  fault('draws too much')
  await power(13.8, 5)
  const { volts, amps } = one.supplyTruth()
  const plug = volts - 0.05 * amps
  expect(amps).toBeCloseTo(0.3 + plug / 5, 6)
})

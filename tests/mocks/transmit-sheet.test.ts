import { expect, test } from 'vitest'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import type { InstrumentName } from '../../mocks/simulated-bench.ts'
import sheet from '../reference/transmit-sheet.json'
import { memoryBench, spreadOf } from './kit.ts'

/** What a lead of 0.05 ohm loses at about this current is added, so that the voltage is right at the plug. */
const LEAD_OHM = 0.05

/** A set that is right, warm, on channel 20, with the voltmeter at T1 against the strip. */
async function bench() {
  const made = await memoryBench({ asFound: RIGHT })
  const { set } = made.bench
  set.channel(20)
  set.prod('T1')
  set.common('strip')
  const readings = async (name: InstrumentName, question: string, times: number) => {
    const client = made.client(name)
    const rows: number[][] = []
    for (let at = 0; at < times; at += 1)
      rows.push(((await made.run(() => client.ask(question))) ?? '').split(',').map(Number))
    return rows
  }
  const mean = async (name: InstrumentName, question: string, times = 12, column = 0) =>
    spreadOf((await readings(name, question, times)).map((row) => row[column] ?? Number.NaN)).mean
  return {
    ...made,
    set,
    readings,
    mean,
    watts: async () => 1000 * (await mean('power', 'READ:POW?', 16)),
    tone: (hz: number, millivolts: number) =>
      made.run(() => made.client('oscillator').tell(`FREQ ${hz};VOLT ${millivolts} MV;:OUTP ON`)),
    /** Keys at a voltage at the plug and lets every meter settle. */
    keyAt: async (plugVolts: number, amps: number) => {
      await made.power(plugVolts + LEAD_OHM * amps)
      set.key(true)
      await made.clock.advance(2500)
    },
  }
}

test('A1: 12.0 V with a limit of 0.8 A draw 0.30 A in receive, regulated', async () => {
  const { power, mean, client, run } = await bench()
  await power(sheet.A1.supplyVolts, sheet.A1.limitAmps)
  expect(Math.abs((await mean('supply', 'MEAS:CURR?')) - sheet.A1.amps)).toBeLessThan(0.01)
  expect(Math.abs((await mean('supply', 'MEAS:VOLT?')) - 12)).toBeLessThan(0.01)
  expect(await run(() => client('supply').ask('STAT:QUES:COND?'))).toBe('2')
})

test.each(sheet.A6.channels.map((channel, at) => [channel, sheet.A6.receiveVolts[at] ?? Number.NaN]))(
  'A6: in receive on channel %i T1 shows %f V within 15 mV',
  async (channel, volts) => {
    const { power, set, mean } = await bench()
    await power(13.8)
    set.channel(channel)
    expect(Math.abs((await mean('volts', 'READ:VOLT?')) - volts)).toBeLessThan(0.015)
  },
)

test('A7: in transmit T1 shows 2.60 V within 25 mV, 2 to 5 mV restless, and falls back on release', async () => {
  const { keyAt, set, mean, readings } = await bench()
  await keyAt(13.8, 1.22)
  const { mean: keyed, sigma } = spreadOf((await readings('volts', 'READ:VOLT?', 24)).flat())
  expect(Math.abs(keyed - sheet.A7.transmitVolts)).toBeLessThan(0.025)
  expect(sigma).toBeGreaterThan(sheet.A7.noiseVolts[0] ?? 0)
  expect(sigma).toBeLessThan(sheet.A7.noiseVolts[1] ?? 0)
  set.key(false)
  expect(Math.abs((await mean('volts', 'READ:VOLT?')) - 2.4)).toBeLessThan(0.015)
})

test.each([sheet.A12, sheet.A13])(
  'A12, A13: at $plugVolts V at the plug $watts W within 1 % and $amps A within 10 mA',
  async ({ plugVolts, watts, amps }) => {
    const { keyAt, mean, watts: measured } = await bench()
    await keyAt(plugVolts, amps)
    expect(Math.abs((await measured()) / watts - 1)).toBeLessThan(0.01)
    expect(Math.abs((await mean('supply', 'MEAS:CURR?')) - amps)).toBeLessThan(0.012)
  },
)

test.each(sheet.A14.channels.map((channel, at) => [channel, sheet.A14.watts[at] ?? Number.NaN]))(
  'A14: channel %i gives %f W within 1.5 %',
  async (channel, watts) => {
    const { keyAt, set, watts: measured } = await bench()
    set.channel(channel)
    await keyAt(sheet.A14.plugVolts, 1.21)
    expect(Math.abs((await measured()) / watts - 1)).toBeLessThan(0.015)
  },
)

test('A15: at 10.8 V 1.65 W, still locked, frequency within 150 Hz', async () => {
  const { keyAt, mean, watts } = await bench()
  await keyAt(sheet.A15.plugVolts, 0.96)
  expect(Math.abs((await watts()) / sheet.A15.watts - 1)).toBeLessThan(0.015)
  expect(Math.abs((await mean('counter', 'READ:FREQ?', 2)) - 27.205e6)).toBeLessThan(sheet.A15.withinHz)
  expect(Math.abs((await mean('volts', 'READ:VOLT?')) - sheet.A7.transmitVolts)).toBeLessThan(0.025)
})

test('A16: 3 mV of 1 kHz give about 1.1 kHz, before the limiter', async () => {
  const { keyAt, set, tone, mean } = await bench()
  set.microphone('oscillator')
  await tone(1000, sheet.A16.millivolts)
  await keyAt(13.8, 1.22)
  expect(Math.abs((await mean('modmeter', 'READ:FM?')) - sheet.A16.hz)).toBeLessThan(80)
  await tone(1000, sheet.A16.millivolts / 2)
  await mean('modmeter', 'READ:FM?', 20)
  expect(Math.abs((await mean('modmeter', 'READ:FM?')) - sheet.A16.hz / 2)).toBeLessThan(60)
})

test('A17: 20 dB more give 1.78 and 1.71 kHz, the meter adding 20 to 40 Hz', async () => {
  const { keyAt, set, tone, readings } = await bench()
  set.microphone('oscillator')
  await tone(1000, sheet.A17.millivolts)
  await keyAt(13.8, 1.22)
  const rows = await readings('modmeter', 'READ:FM?', 16)
  for (const [column, hz] of [sheet.A17.upHz, sheet.A17.downHz].entries()) {
    const { mean } = spreadOf(rows.map((row) => row[column] ?? Number.NaN))
    expect(mean - hz).toBeGreaterThan(15)
    expect(mean - hz).toBeLessThan(45)
  }
})

test.each(sheet.A18.tonesHz)('A18: %i Hz at 30 mV stay within 2.0 kHz, and over 1.5 kHz', async (hz) => {
  const { keyAt, set, tone, readings } = await bench()
  set.microphone('oscillator')
  await tone(hz, sheet.A18.millivolts)
  await keyAt(13.8, 1.22)
  const seen = (await readings('modmeter', 'READ:FM?', 8)).flat()
  expect(Math.max(...seen)).toBeLessThanOrEqual(sheet.A18.atMostHz)
  expect(Math.min(...seen)).toBeGreaterThan(1500)
})

test('A18: with the limiter defeated the same sweep is over 2.0 kHz', async () => {
  const { keyAt, bench: one, set, tone, readings } = await bench()
  one.faults.radio('limiter defeated', true)
  set.microphone('oscillator')
  await tone(1000, sheet.A18.millivolts)
  await keyAt(13.8, 1.22)
  expect(Math.min(...(await readings('modmeter', 'READ:FM?', 8)).flat())).toBeGreaterThan(3 * sheet.A18.atMostHz)
})

test('A19: with the oscillator off the residual is 15 to 45 Hz, never over 80 Hz; with a leaky varactor it is over', async () => {
  const { keyAt, bench: one, set, readings } = await bench()
  set.microphone('oscillator')
  await keyAt(13.8, 1.22)
  const residual = (await readings('modmeter', 'READ:FM?', 20)).flat()
  expect(Math.abs(spreadOf(residual).mean - sheet.A19.typicalHz)).toBeLessThan(15)
  expect(Math.max(...residual)).toBeLessThanOrEqual(sheet.A19.atMostHz)
  one.faults.radio('leaky varactor', true)
  await readings('modmeter', 'READ:FM?', 8)
  expect(Math.min(...(await readings('modmeter', 'READ:FM?', 4)).flat())).toBeGreaterThan(sheet.A19.atMostHz)
})

test('A20: in AM the carrier is 1.0 W within 2 % at 13.8 V, follows PC, and PW does nothing to it', async () => {
  const { keyAt, set, watts } = await bench()
  set.mode('AM')
  await keyAt(13.8, 0.85)
  expect(Math.abs((await watts()) / sheet.A20.watts - 1)).toBeLessThan(0.02)
  set.turn('PW', -0.2)
  expect(Math.abs((await watts()) / sheet.A20.watts - 1)).toBeLessThan(0.02)
  set.turn('PC', 0.1)
  expect(Math.abs((await watts()) - 1.23)).toBeLessThan(0.03)
})

test('A21: 30 mV of 1 kHz give 85 % both ways, 10 dB more stay under 95 %, and the counter still counts', async () => {
  const { keyAt, set, tone, readings, mean } = await bench()
  set.mode('AM')
  set.microphone('oscillator')
  await tone(1000, sheet.A21.millivolts)
  await keyAt(13.8, 0.85)
  const rows = await readings('modmeter', 'READ:AM?', 12)
  for (const column of [0, 1])
    expect(Math.abs(spreadOf(rows.map((row) => row[column] ?? Number.NaN)).mean - sheet.A21.percent)).toBeLessThan(1)
  expect(Math.abs((await mean('counter', 'READ:FREQ?', 2)) - 27.205e6)).toBeLessThan(30)
  expect(await mean('modmeter', 'READ:FM?', 8)).toBeLessThan(sheet.A19.atMostHz)
  await tone(1000, sheet.A21.millivolts * 10 ** (sheet.A21.louderDb / 20))
  expect(Math.max(...(await readings('modmeter', 'READ:AM?', 12)).flat())).toBeLessThan(sheet.A21.louderAtMost)
  set.turn('PM', -0.1)
  await mean('modmeter', 'READ:AM?', 20)
  expect(Math.abs((await mean('modmeter', 'READ:AM?')) - 73.6)).toBeLessThan(1.5)
})

test('A21: a carrier of 2.4 W leaves little room upward at 13.8 V, and the meter shows it one-sided', async () => {
  const { keyAt, set, tone, readings } = await bench()
  set.mode('AM')
  set.microphone('oscillator')
  set.turn('PC', 1)
  await tone(1000, sheet.A21.millivolts)
  await keyAt(13.8, 1.06)
  const rows = await readings('modmeter', 'READ:AM?', 8)
  expect(spreadOf(rows.map(([up]) => up ?? Number.NaN)).mean).toBeLessThan(30)
  expect(spreadOf(rows.map(([, down]) => down ?? Number.NaN)).mean).toBeGreaterThan(80)
})

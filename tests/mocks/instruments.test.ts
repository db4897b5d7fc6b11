import { expect, test } from 'vitest'
import { partCycleHz } from '../../mocks/instruments/counter.ts'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { BENCHES, type InstrumentName, openSimulatedBench } from '../../mocks/simulated-bench.ts'
import type { Clock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { type Client, clientOf, type MemoryBench, memoryBench, numberOf, spreadOf } from './kit.ts'

/** Set on channel 20, supply on, everything right. */
async function ready(volts = 13.8): Promise<MemoryBench> {
  const made = await memoryBench({ asFound: RIGHT })
  await made.power(volts)
  made.bench.set.channel(20)
  return made
}

async function many(made: MemoryBench, client: Client, question: string, times: number): Promise<number[][]> {
  const replies: number[][] = []
  await made.run(async () => {
    for (let time = 0; time < times; time += 1)
      replies.push(((await client.ask(question)) ?? '').split(',').map((part) => numberOf(part)))
  })
  return replies
}

test.each([
  ['counter', 'COUNTER,SIM0001'],
  ['power', 'POWER METER,SIM0002'],
  ['modmeter', 'MODULATION METER,SIM0003'],
  ['volts', 'MULTIMETER,SIM0004'],
  ['supply', 'SUPPLY,SIM0005'],
  ['oscillator', 'AUDIO OSCILLATOR,SIM0006'],
  ['testset', 'TEST SET,SIM0007'],
] as const)('%s says who it is, in four fields, and that it is simulated', async (name, words) => {
  const { client, run } = await memoryBench({ kind: { instruments: [name], displays: [] } })
  expect(await run(() => client(name).ask('*IDN?'))).toBe(`TRIMWRIGHT SIMULATED,${words},1.0`)
})

test.each([...BENCHES.separate.instruments, 'testset'] as const)(
  '%s: common commands, status and error queue do what IEEE 488.2 and SCPI-1999 say',
  async (name: InstrumentName) => {
    const made = await memoryBench({ kind: { instruments: [name], displays: [] } })
    const client = made.client(name)
    const ask = (text: string) => made.run(() => client.ask(text, 200))
    expect(await ask('*ESR?')).toBe('128')
    expect(await ask('*ESR?')).toBe('0')
    expect(await ask('NO:SUCH?')).toBeNull()
    expect(await ask('*ESR?')).toBe('32')
    expect(await ask('*STB?')).toBe('4')
    expect(await ask('*ESE 60;*SRE 36;*ESE?;*SRE?')).toBe('60;36')
    expect(await ask('SYST:ERR:COUN?;NEXT?;NEXT?')).toBe('1;-113,"Undefined header;NO:SUCH?";0,"No error"')
    expect(await ask('*ese 300')).toBeNull()
    expect(await ask('*STB?')).toBe('100')
    expect(await ask('*CLS;*STB?;*ESE?')).toBe('0;60')
    expect(await ask('*OPC?;*TST?;*WAI;*OPC;*ESR?')).toBe('1;0;1')
    expect(await ask('*IDN')).toBeNull()
    expect(await ask('syst:err?')).toBe('-113,"Undefined header;*IDN"')
    expect(await ask('SYSTem:VERSion?')).toBe('1999.0')
    for (let time = 0; time < 20; time += 1) await made.run(() => client.tell('FOO'))
    expect(await ask('SYST:ERR:COUN?')).toBe('16')
    const all = (await ask('SYST:ERR:ALL?')) ?? ''
    expect(all.endsWith('-350,"Queue overflow"')).toBe(true)
    expect(await ask('SYST:ERR?')).toBe('0,"No error"')
    expect(await ask('*ESR?')).toBe('40')
  },
)

test('an error ends its message: what was asked before it is answered, what follows is not', async () => {
  const { client, run } = await memoryBench()
  const supply = client('supply')
  expect(await run(() => supply.ask('VOLT?;NONSENSE?;CURR?', 200))).toBe('+0.0000E+00')
  expect(await run(() => supply.ask('SYST:ERR:COUN?'))).toBe('1')
})

test('counter: a warm set that is right reads within the time base, ±1 Hz with a 1 s gate, ±10 Hz with 0.1 s', async () => {
  const made = await ready()
  const counter = made.client('counter')
  made.bench.set.key(true)
  const began = made.clock.nowMs()
  const slow = (await many(made, counter, 'READ:FREQ?', 20)).map(([hz]) => hz ?? Number.NaN)
  const eachMs = (made.clock.nowMs() - began) / 20
  expect(eachMs).toBeGreaterThan(1000)
  expect(eachMs).toBeLessThan(1020)
  const detrended = slow.slice(1).map((hz, at) => (hz - (slow[at] ?? 0)) / Math.SQRT2)
  expect(spreadOf(detrended).sigma).toBeGreaterThan(0.4)
  expect(spreadOf(detrended).sigma).toBeLessThan(2)
  expect(Math.abs(spreadOf(slow).mean - 27.205e6)).toBeLessThan(17 + 0.3 * 27.205)
  await made.run(() => counter.tell('SENS:FREQ:APER 100 MS'))
  expect(await made.run(() => counter.ask('SENS:FREQ:APER?'))).toBe('+1.00E-01')
  const fast = (await many(made, counter, 'READ:FREQ?', 40)).map(([hz]) => hz ?? Number.NaN)
  expect(spreadOf(fast).sigma).toBeGreaterThan(6)
  expect(spreadOf(fast).sigma).toBeLessThan(15)
  expect(fast.every((hz) => hz % 10 === 0)).toBe(true)
})

test('counter: no carrier, or one that comes during the gate, is 9.91E37; FETCh repeats', async () => {
  const made = await ready()
  const counter = made.client('counter')
  const ask = (text: string) => made.run(() => counter.ask(text))
  expect(await made.run(() => counter.ask('FETC:FREQ?', 200))).toBeNull()
  expect(await ask('SYST:ERR?')).toBe('-230,"Data corrupt or stale;FETC:FREQ?"')
  expect(await ask('READ:FREQ?')).toBe('+9.91E+37')
  expect(await ask('FETC:FREQ?')).toBe('+9.91E+37')
  const late = counter.ask('READ:FREQ?')
  await made.clock.advance(300)
  made.bench.set.key(true)
  expect(await made.clock.runUntil(late)).toBe('+9.91E+37')
  expect(numberOf(await ask('READ:FREQ?'))).toBeGreaterThan(27.2e6)
  made.bench.set.load(false)
  expect(await ask('READ:FREQ?')).toBe('+9.91E+37')
})

test('counter: a gate over a moving trimmer reads its mean', async () => {
  const made = await ready()
  const counter = made.client('counter')
  made.bench.set.key(true)
  const still = numberOf(await made.run(() => counter.ask('READ:FREQ?')))
  const reading = counter.ask('READ:FREQ?')
  await made.clock.advance(500)
  made.bench.set.turn('RT', 6 / 360)
  const moving = numberOf(await made.clock.runUntil(reading))
  const after = numberOf(await made.run(() => counter.ask('READ:FREQ?')))
  expect(Math.abs(after - still)).toBeGreaterThan(80)
  expect(Math.abs(moving - (still + after) / 2)).toBeLessThan(6)
})

test('counter: a part cycle of the tone is left over, at most deviation / (pi x tone x gate)', () => {
  expect(partCycleHz(3000, 1000, 0.1, 0, 0.5)).toBeCloseTo(3000 / (Math.PI * 1000 * 0.1), 9)
  expect(partCycleHz(600, 67, 0.1, 0, 0.5)).toBeCloseTo(28.5, 1)
  expect(partCycleHz(3000, 1000, 1, 0.3, 0.3)).toBe(0)
})

test('power meter: 30 dB down, 0.5 % noise, steps of 0.01 mW, 4 readings a second', async () => {
  const made = await ready()
  const power = made.client('power')
  made.bench.set.key(true)
  await made.clock.advance(3000)
  const began = made.clock.nowMs()
  const readings = (await many(made, power, 'READ:POW?', 60)).map(([watts]) => watts ?? Number.NaN)
  expect((made.clock.nowMs() - began) / 60).toBeLessThan(256)
  expect(Math.abs(spreadOf(readings).mean - 3.64e-3)).toBeLessThan(0.03e-3)
  expect(spreadOf(readings).sigma / 3.64e-3).toBeGreaterThan(0.0035)
  expect(spreadOf(readings).sigma / 3.64e-3).toBeLessThan(0.0065)
  for (const watts of readings) expect(Math.abs(watts / 1e-5 - Math.round(watts / 1e-5))).toBeLessThan(1e-6)
  expect(await made.run(() => power.ask('UNIT:POW DBM;POW?'))).toBe('DBM')
  expect(numberOf(await made.run(() => power.ask('READ:POW?')))).toBeCloseTo(5.61, 0)
})

test('power meter: a step is 95 % there after 0.3 s and within its noise after 0.5 s', async () => {
  const made = await ready()
  const power = made.client('power')
  made.bench.set.key(true)
  await made.clock.advance(50)
  const early = numberOf(await made.run(() => power.ask('READ:POW?')))
  expect(early / 3.64e-3).toBeGreaterThan(0.93)
  expect(early / 3.64e-3).toBeLessThan(0.975)
  const later = numberOf(await made.run(() => power.ask('READ:POW?')))
  expect(later / 3.64e-3).toBeGreaterThan(0.98)
})

test('modulation meter: both peaks, rubbish for 1 s after key-down, residual 20 to 40 Hz, nothing without a carrier', async () => {
  const made = await ready()
  const meter = made.client('modmeter')
  const oscillator = made.client('oscillator')
  expect(await made.run(() => meter.ask('READ:FM:DEV?'))).toBe('+9.91E+37,+9.91E+37')
  made.bench.set.key(true)
  const early = (await many(made, meter, 'READ:FM:DEV?', 3)).flat()
  expect(Math.max(...early)).toBeGreaterThan(500)
  await made.clock.advance(1500)
  const residual = (await many(made, meter, 'READ:FM:DEV?', 40)).map(([up]) => up ?? Number.NaN)
  expect(spreadOf(residual).mean).toBeGreaterThan(20)
  expect(spreadOf(residual).mean).toBeLessThan(40)
  expect(Math.max(...residual)).toBeLessThan(80)
  await made.run(() => oscillator.tell('FREQ 1 KHZ;VOLT 30 MV;:OUTP ON'))
  made.bench.set.microphone('oscillator')
  await made.clock.advance(1000)
  const deviation = await many(made, meter, 'READ:FM:DEV?', 20)
  const up = spreadOf(deviation.map(([value]) => value ?? Number.NaN))
  const down = spreadOf(deviation.map(([, value]) => value ?? Number.NaN))
  expect(Math.abs(up.mean - 1810)).toBeLessThan(25)
  expect(Math.abs(down.mean - 1740)).toBeLessThan(25)
  expect(Math.min(...deviation.flat())).toBeGreaterThan(1700)
})

test('modulation meter: after the tone goes the level decays with 1 s', async () => {
  const made = await ready()
  const meter = made.client('modmeter')
  await made.run(() => made.client('oscillator').tell('FREQ 1000;VOLT 0.03;:OUTP 1'))
  made.bench.set.microphone('oscillator')
  made.bench.set.key(true)
  await made.clock.advance(3000)
  made.bench.set.microphone('nothing')
  await made.clock.advance(750)
  const [up = Number.NaN] = (await many(made, meter, 'READ:FM:DEV?', 1)).flat()
  expect(up / 1800).toBeGreaterThan(0.34)
  expect(up / 1800).toBeLessThan(0.42)
})

test('modulation meter: AM depth 85 % both ways, in percent', async () => {
  const made = await ready()
  const meter = made.client('modmeter')
  await made.run(() => made.client('oscillator').tell('FREQ 1000;VOLT 0.03;:OUTP 1'))
  made.bench.set.microphone('oscillator')
  made.bench.set.mode('AM')
  made.bench.set.key(true)
  await made.clock.advance(2500)
  const [up = Number.NaN, down = Number.NaN] = (await many(made, meter, 'READ:AM:DEPT?', 1)).flat()
  expect(Math.abs(up - 85)).toBeLessThan(2.5)
  expect(Math.abs(down - 85)).toBeLessThan(2.5)
})

test('whistling into the own microphone shows peaks over 1 kHz within 5 s and none over 2 kHz on a set that is right', async () => {
  const made = await ready()
  const meter = made.client('modmeter')
  made.bench.set.microphone('own')
  made.bench.set.whistle(true)
  made.bench.set.key(true)
  await made.clock.advance(1200)
  const seen = (await many(made, meter, 'READ:FM:DEV?', 16)).flat()
  expect(Math.max(...seen)).toBeGreaterThan(1000)
  expect(Math.max(...seen)).toBeLessThan(2000)
  expect(Math.min(...seen)).toBeLessThan(Math.max(...seen) - 100)
})

test('multimeter: 2.42 V at T1 of a warm set show 1 % less, 1 mV noise, 5 readings a second', async () => {
  const made = await ready()
  const volts = made.client('volts')
  made.bench.set.prod('T1')
  made.bench.set.common('strip')
  const began = made.clock.nowMs()
  const readings = (await many(made, volts, 'READ:VOLT:DC?', 50)).map(([value]) => value ?? Number.NaN)
  expect((made.clock.nowMs() - began) / 50).toBeLessThan(206)
  const { mean, sigma } = spreadOf(readings)
  expect(Math.abs(mean - (2.398 + 0.027) / 1.01)).toBeLessThan(0.002)
  expect(sigma).toBeGreaterThan(0.0007)
  expect(sigma).toBeLessThan(0.0015)
})

test('multimeter: common on the case wanders between 0 and 0.3 V, a lead off reads within 50 mV of 0', async () => {
  const made = await ready()
  const volts = made.client('volts')
  made.bench.set.prod('T1')
  made.bench.set.common('case')
  const wandering = (await many(made, volts, 'READ:VOLT:DC?', 60)).flat()
  expect(Math.min(...wandering)).toBeGreaterThan(-0.01)
  expect(Math.max(...wandering)).toBeLessThan(0.31)
  expect(Math.max(...wandering) - Math.min(...wandering)).toBeGreaterThan(0.2)
  for (const off of ['prod', 'common'] as const) {
    made.bench.set.prod('T1')
    made.bench.set.common('strip')
    made.bench.set[off]('off')
    const slack = (await many(made, volts, 'READ:VOLT:DC?', 30)).flat()
    expect(Math.max(...slack.map(Math.abs))).toBeLessThan(0.05)
  }
})

test('multimeter: moving to the plug changes range, blanks 0.6 s, spoils one value, then reads the plug', async () => {
  const made = await ready()
  const volts = made.client('volts')
  made.bench.set.common('strip')
  made.bench.set.prod('plug')
  const began = made.clock.nowMs()
  const first = numberOf(await made.run(() => volts.ask('READ:VOLT:DC?')))
  expect(made.clock.nowMs() - began).toBeGreaterThan(800)
  expect(Math.abs(first - 13.785)).toBeGreaterThan(0.1)
  expect(numberOf(await made.run(() => volts.ask('READ:VOLT:DC?')))).toBeCloseTo(13.785, 2)
  await made.run(() => volts.tell('VOLT:DC:RANG 10'))
  expect(await made.run(() => volts.ask('READ:VOLT:DC?'))).toBe('+9.9E+37')
})

test('supply: settings, read-back within 5 mV and 5 mA, regulation bits, both spellings', async () => {
  const made = await memoryBench({ asFound: RIGHT })
  const supply = made.client('supply')
  const ask = (text: string) => made.run(() => supply.ask(text, 200))
  expect(await ask('OUTP?;:VOLT?;:CURR?;:VOLT:PROT?;:STAT:QUES:COND?')).toBe('0;+0.0000E+00;+5.0000E+00;+2.2000E+01;0')
  await made.run(() =>
    supply.tell('SOURce:VOLTage:LEVel:IMMediate:AMPLitude 13.804;:CURR 900MA;:VOLT:PROT 16.5 V;:OUTPut:STATe ON'),
  )
  await made.clock.advance(1000)
  expect(await ask('SOUR:VOLT?;:SOUR:CURR?;:SOUR:VOLT:PROT?;:OUTP?')).toBe('+1.3800E+01;+9.0000E-01;+1.6500E+01;1')
  for (let time = 0; time < 20; time += 1) {
    expect(Math.abs(numberOf(await ask('MEAS:VOLT?')) - 13.8)).toBeLessThanOrEqual(0.0055)
    expect(Math.abs(numberOf(await ask('MEASure:SCALar:CURRent:DC?')) - 0.3)).toBeLessThanOrEqual(0.0055)
  }
  expect(await ask('STAT:QUES:COND?')).toBe('2')
  made.bench.set.channel(20)
  made.bench.set.key(true)
  await made.clock.advance(1000)
  expect(await ask('STAT:QUES:COND?')).toBe('1')
  expect(numberOf(await ask('MEAS:VOLT?'))).toBeLessThan(11)
  made.bench.set.key(false)
  expect(await ask('VOLT 25')).toBeNull()
  expect(await ask('SYST:ERR?')).toBe('-222,"Data out of range;VOLT 25"')
  expect(await ask('VOLT? MAX;:CURR? MIN')).toBe('+2.0000E+01;+1.0000E-02')
  expect(await ask('VOLT 5 W')).toBeNull()
  expect(await ask('VOLT')).toBeNull()
  expect(await ask('VOLT 1,2')).toBeNull()
  expect(await ask('SYST:ERR:ALL?')).toBe(
    '-131,"Invalid suffix;VOLT 5 W",-109,"Missing parameter;VOLT",-108,"Parameter not allowed;VOLT 1,2"',
  )
  expect(await ask('VOLT?')).toBe('+1.3800E+01')
})

test('supply: a trip latches, refuses the output with -221 until it is cleared, and leaves it off then', async () => {
  const made = await ready()
  const supply = made.client('supply')
  const ask = (text: string) => made.run(() => supply.ask(text, 200))
  await made.run(() => supply.tell('VOLT:PROT 14;:VOLT 15.6'))
  await made.clock.advance(1500)
  expect(await ask('VOLT:PROT:TRIP?;:OUTP?;:STAT:QUES:COND?')).toBe('1;0;0')
  expect(numberOf(await ask('MEAS:VOLT?'))).toBeLessThan(0.1)
  await made.run(() => supply.tell('OUTP 1'))
  expect(await ask('SYST:ERR?')).toBe('-221,"Settings conflict;OUTP 1"')
  await made.run(() => supply.tell('VOLT 13.8;:VOLT:PROT:CLE'))
  expect(await ask('VOLT:PROT:TRIP?;:OUTP?')).toBe('0;0')
  await made.run(() => supply.tell('OUTP 1'))
  await made.clock.advance(300)
  expect(made.bench.supplyTruth()).toMatchObject({ output: 'on' })
  expect(made.bench.supplyTruth().volts).toBeCloseTo(13.8, 3)
})

test('supply: it keeps its output when the client goes, and *RST switches it off', async () => {
  const made = await ready()
  const first = made.client('supply')
  await made.run(() => first.port.close())
  await made.clock.advance(10_000)
  expect(made.bench.supplyTruth()).toMatchObject({ output: 'on', volts: 13.8 })
  await made.run(() => made.client('supply').tell('*RST'))
  await made.clock.advance(3000)
  expect(made.bench.supplyTruth()).toMatchObject({ output: 'off', amps: 0 })
})

test('oscillator: frequency, level and output are kept and asked for', async () => {
  const made = await memoryBench()
  const oscillator = made.client('oscillator')
  const ask = (text: string) => made.run(() => oscillator.ask(text, 200))
  expect(await ask('SOUR:FREQ?;VOLT?;:OUTP?')).toBe('+1.0000E+03;+0.0000E+00;0')
  expect(await ask('SOUR:FREQ 2.4 KHZ;VOLT 0.030;:OUTP 1;:SOUR:FREQ?;VOLT?;:OUTP?')).toBe('+2.4000E+03;+3.0000E-02;1')
  expect(await ask('FREQ 30 KHZ')).toBeNull()
  expect(await ask('SYST:ERR?')).toBe('-222,"Data out of range;FREQ 30 KHZ"')
})

test('the same seed gives the same readings', async () => {
  const run = async () => {
    const made = await ready()
    made.bench.set.key(true)
    return many(made, made.client('power'), 'READ:POW?', 10)
  }
  expect(await run()).toEqual(await run())
})

test('on a clock that always wakes 1 to 9 ms late, volts stay within 4 mV and the frequency within 8 Hz', async () => {
  const steady = await ready()
  const onTime = steady.clock
  let wakes = 0
  const late: Clock = {
    nowMs: onTime.nowMs,
    wallTime: onTime.wallTime,
    sleepUntil: (dueMs, signal) => {
      wakes += 1
      return onTime.sleepUntil(dueMs + 1 + ((wakes * 37) % 9), signal)
    },
  }
  const bench = await openSimulatedBench({
    clock: late,
    rng: seededRng(5),
    log: silentLog,
    links: 'memory',
    signal: new AbortController().signal,
    seed: null,
    asFound: RIGHT,
  })
  const made: MemoryBench = { ...steady, bench, client: (name) => clientOf(onTime, bench.net.connect(name)) }
  await made.run(() => made.client('supply').tell('VOLT 13.8;:OUTP ON'))
  await onTime.advance(1000)
  bench.set.channel(20)
  bench.set.prod('plug')
  bench.set.common('strip')
  const volts = (await many(made, made.client('volts'), 'READ:VOLT:DC?', 12)).flat().slice(1)
  for (const value of volts) expect(Math.abs(value - 13.785)).toBeLessThan(0.004)
  bench.set.key(true)
  const hz = (await many(made, made.client('counter'), 'READ:FREQ?', 6)).flat()
  expect(spreadOf(hz).sigma).toBeLessThan(8)
  for (const value of hz) expect(Math.abs(value - 27.205e6)).toBeLessThan(20)
})

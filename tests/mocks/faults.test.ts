import { expect, test } from 'vitest'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { INSTRUMENT_FAULTS, type InstrumentFault } from '../../mocks/unit/faults.ts'
import { memoryBench, numberOf } from './kit.ts'

async function keyed() {
  const made = await memoryBench({ asFound: RIGHT })
  await made.power(13.8)
  made.bench.set.channel(20)
  made.bench.set.key(true)
  await made.clock.advance(2000)
  const power = made.client('power')
  return { ...made, power, ask: (text: string, ms?: number) => made.run(() => power.ask(text, ms)) }
}

const PROVOKED: Readonly<Record<InstrumentFault, (fault: InstrumentFault) => Promise<void>>> = {
  silent: async (fault) => {
    const { bench, ask } = await keyed()
    bench.faults.set('power', fault, { kind: 'next', times: 1 })
    expect(await ask('READ:POW?', 1000)).toBeNull()
    expect(numberOf(await ask('READ:POW?'))).toBeGreaterThan(3e-3)
  },
  late: async (fault) => {
    const { bench, ask, clock, power } = await keyed()
    bench.faults.set('power', fault, { kind: 'next', times: 1 }, { ms: 1500 })
    expect(await ask('READ:POW?', 1000)).toBeNull()
    await clock.advance(1000)
    expect(power.rest()).toMatch(/^\+\d\.\d{3}E-03\n$/)
  },
  'half line': async (fault) => {
    const { bench, ask, power } = await keyed()
    bench.faults.set('power', fault)
    expect(await ask('READ:POW?', 1000)).toBeNull()
    expect(power.rest()).toMatch(/^\+\d\.\d{2,3}$/)
  },
  'wrong terminator': async (fault) => {
    const { bench, ask, power } = await keyed()
    bench.faults.set('power', fault)
    expect(await ask('READ:POW?', 1000)).toBeNull()
    expect(power.rest()).toMatch(/E-03\r$/)
  },
  'stray byte': async (fault) => {
    const { bench, ask } = await keyed()
    bench.faults.set('power', fault)
    expect(await ask('READ:POW?')).toMatch(/^\xfe\+/)
  },
  twice: async (fault) => {
    const { bench, ask, power } = await keyed()
    bench.faults.set('power', fault)
    expect(await ask('*IDN?')).toBe(power.rest().trim())
  },
  echo: async (fault) => {
    const { bench, ask } = await keyed()
    bench.faults.set('power', fault)
    expect(await ask('READ:POW?')).toBe('READ:POW?')
  },
  pieces: async (fault) => {
    const { bench, power, clock } = await keyed()
    bench.faults.set('power', fault, { kind: 'always' }, { ms: 50 })
    const sizes: number[] = []
    power.port.onBytes((bytes) => sizes.push(bytes.length))
    await power.tell('*IDN?')
    await clock.advance(3000)
    expect(sizes.slice(0, 3)).toEqual([3, 3, 3])
    expect(sizes.reduce((sum, size) => sum + size, 0)).toBe('TRIMWRIGHT SIMULATED,POWER METER,SIM0002,1.0\n'.length)
  },
  overrange: async (fault) => {
    const { bench, ask, client, run } = await keyed()
    bench.faults.set('power', fault)
    bench.faults.set('modmeter', fault)
    expect(await ask('READ:POW?')).toBe('+9.9E+37')
    expect(await ask('*IDN?')).toContain('POWER METER')
    expect(await run(() => client('modmeter').ask('READ:FM:DEV?'))).toBe('+9.9E+37,+9.9E+37')
  },
  'frozen value': async (fault) => {
    const { bench, ask } = await keyed()
    const before = await ask('READ:POW?')
    bench.faults.set('power', fault)
    bench.set.key(false)
    expect(await ask('READ:POW?')).toBe(before)
    expect(await ask('READ:POW?')).toBe(before)
    bench.faults.clear('power')
    expect(numberOf(await ask('READ:POW?'))).toBeLessThan(2e-3)
  },
  blank: async (fault) => {
    const { bench, ask } = await keyed()
    bench.faults.set('power', fault)
    expect(await ask('READ:POW?')).toBe('')
  },
  'lead pickup': async (fault) => {
    const { bench, client, run } = await keyed()
    bench.set.prod('T1')
    bench.set.common('strip')
    const volts = client('volts')
    const clean = numberOf(await run(() => volts.ask('READ:VOLT:DC?')))
    bench.faults.set('volts', fault)
    expect(numberOf(await run(() => volts.ask('READ:VOLT:DC?'))) - clean).toBeGreaterThan(0.012)
    bench.set.key(false)
    const receive = numberOf(await run(() => volts.ask('READ:VOLT:DC?')))
    expect(receive).toBeCloseTo(2.401, 2)
  },
  'partial gate': async (fault) => {
    const { bench, client, clock } = await keyed()
    bench.faults.set('counter', fault)
    const reading = client('counter').ask('READ:FREQ?')
    await clock.advance(400)
    bench.set.key(false)
    const hz = numberOf(await clock.runUntil(reading))
    expect(Math.abs(hz - 0.4 * 27.205e6)).toBeLessThan(1e4)
  },
  'queue error': async (fault) => {
    const { bench, client, run } = await keyed()
    const supply = client('supply')
    bench.faults.set('supply', fault, { kind: 'next', times: 1 }, { code: -221 })
    await run(() => supply.tell('VOLT 15.6'))
    expect(await run(() => supply.ask('SYST:ERR?'))).toBe('-221,"Settings conflict;VOLT 15.6"')
    expect(await run(() => supply.ask('VOLT?'))).toBe('+1.3800E+01')
    await run(() => supply.tell('VOLT 15.6'))
    expect(await run(() => supply.ask('VOLT?'))).toBe('+1.5600E+01')
  },
  'reset in mid-run': async (fault) => {
    const { bench, clock, client, run } = await keyed()
    const power = client('power')
    expect(await run(() => power.ask('*ESR?;*PSC?'))).toBe('128;1')
    await run(() => power.tell('*ESE 21;:UNIT:POW W'))
    expect(await run(() => power.ask('UNIT:POW?;*ESE?'))).toBe('W;21')
    const lost = run(() => power.ask('READ:POW?', 1000))
    await clock.advance(100)
    bench.faults.set('power', fault)
    expect(await lost).toBeNull()
    expect(power.gone()).toBeNull()
    expect(await run(() => power.ask('UNIT:POW?;*ESE?;*ESR?'))).toBe('DBM;0;128')
    await run(() => power.tell('*PSC 0;*ESE 21'))
    bench.faults.set('power', fault)
    expect(await run(() => power.ask('*ESE?;*PSC?'))).toBe('21;0')
  },
  unplugged: async (fault) => {
    const { bench, ask, clock, power, client, run } = await keyed()
    bench.faults.set('power', fault, { kind: 'always' }, { ms: 4000 })
    await clock.advance(10)
    expect(power.gone()).toContain('cable out')
    await expect(run(() => power.ask('*IDN?'))).rejects.toThrow('cable out')
    const tooEarly = client('power')
    await expect(run(() => tooEarly.ask('*IDN?'))).rejects.toThrow('nobody answers')
    await clock.advance(4000)
    expect(await run(() => client('power').ask('*IDN?'))).toContain('POWER METER')
    void ask
  },
  'power cycle': async (fault) => {
    const { bench, clock, client, run } = await keyed()
    await run(() => client('supply').ask('*ESR?'))
    bench.faults.set('supply', fault, { kind: 'always' }, { ms: 1000 })
    await clock.advance(1500)
    expect(bench.supplyTruth().output).toBe('off')
    expect(await run(() => client('supply').ask('*ESR?;:VOLT?'))).toBe('128;+0.0000E+00')
  },
}

test.each(Object.keys(INSTRUMENT_FAULTS).filter((name): name is InstrumentFault => name in INSTRUMENT_FAULTS))(
  'fault "%s" does what it says and goes away',
  async (fault) => {
    await PROVOKED[fault](fault)
  },
)

test('faults strike by chance, between two times, or only while keyed', async () => {
  const { bench, clock } = await keyed()
  const { faults, set } = bench
  faults.set('power', 'silent', { kind: 'chance', share: 0.3 })
  const struck = Array.from({ length: 400 }, () => faults.strikes('power', 'silent') !== null).filter(Boolean).length
  expect(struck).toBeGreaterThan(80)
  expect(struck).toBeLessThan(160)
  const now = clock.nowMs()
  faults.set('power', 'late', { kind: 'between', fromMs: now + 100, toMs: now + 200 })
  expect(faults.strikes('power', 'late')).toBeNull()
  await clock.advance(150)
  expect(faults.strikes('power', 'late')).not.toBeNull()
  await clock.advance(60)
  expect(faults.strikes('power', 'late')).toBeNull()
  faults.set('counter', 'blank', { kind: 'keyed' })
  expect(faults.strikes('counter', 'blank')).not.toBeNull()
  set.key(false)
  expect(faults.strikes('counter', 'blank')).toBeNull()
  expect(faults.list()).toHaveLength(3)
  faults.clear()
  expect(faults.list()).toHaveLength(0)
})

test('a second client takes the session over; what the first had asked for is given up', async () => {
  const { client, run, clock } = await keyed()
  const first = client('counter')
  const asked = first.ask('READ:FREQ?', 5000)
  await clock.advance(200)
  const second = client('counter')
  expect(await run(() => second.ask('*IDN?'))).toContain('COUNTER')
  expect(await run(() => asked)).toBeNull()
  expect(first.gone()).toContain('another client took over')
})

test('a cable out until further notice is back as soon as its fault is cleared', async () => {
  const { bench, clock, client, run } = await keyed()
  bench.faults.set('power', 'unplugged', { kind: 'always' }, { ms: 1e9 })
  await clock.advance(100)
  bench.faults.clear('power', 'unplugged')
  await clock.advance(10)
  expect(await run(() => client('power').ask('*IDN?'))).toContain('POWER METER')
})

test('more than 1024 bytes without an end are lost with -363', async () => {
  const { ask, power, run } = await keyed()
  await run(() => power.port.write('X'.repeat(2000)))
  expect(await ask('SYST:ERR?')).toBe('-363,"Input buffer overrun"')
})

test('a question asked the very moment a reply arrives is answered too, a hundred times over', async () => {
  const { client, run } = await keyed()
  const supply = client('supply')
  let replies = 0
  const done = new Promise<void>((resolve) => {
    supply.port.onBytes(() => {
      replies += 1
      if (replies === 100) resolve()
      else void supply.tell('SYST:ERR?')
    })
  })
  await run(async () => {
    await supply.tell('SYST:ERR?')
    await done
  })
  expect(replies).toBe(100)
})

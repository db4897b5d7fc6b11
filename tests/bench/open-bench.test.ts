import { describe, expect, test } from 'vitest'
import { openBench } from '../../src/bench/open-bench.ts'
import { benchStage } from '../kit/job/bench-stage.ts'
import { fakeSupply } from '../kit/links/fake-supply.ts'
import { rejectionOf } from '../kit/links/instrument-deps.ts'

const POWER = { driver: 'power-meter-scpi', at: 'memory:power', 'path loss': '30 dB' }
const VOLTS = { driver: 'multimeter-scpi', at: 'memory:volts' }
const SUPPLY = { driver: 'supply-scpi', at: 'memory:supply', limits: { voltage: '16.5 V', current: '4 A' } }
const OSCILLATOR = { driver: 'audio-oscillator-scpi', at: 'memory:oscillator' }
const READS_POWER = { 'READ:POW?': '+3.85E-03' }
const SIMULATED = 'TRIMWRIGHT SIMULATED,POWER METER,SIM0002,1.0'

describe('an opened bench', () => {
  test('says who is on it and what it measures', async () => {
    const stage = benchStage({
      power: { ...POWER, calibrated: { due: '2027-03-31', certificate: 'W-1182' } },
      supply: SUPPLY,
      hand: { driver: 'typed-in', quantity: 'SINAD' },
    })
    stage.script('power', READS_POWER)
    const bench = await stage.open()
    expect(bench.instruments()).toEqual([
      {
        name: 'power',
        driver: 'power-meter-scpi',
        address: 'memory:power',
        identity: 'EXAMPLE,POWER,1,1.0',
        simulated: false,
        up: true,
        calibrationDue: '2027-03-31',
        certificate: 'W-1182',
        serial: '1',
        typed: false,
      },
      {
        name: 'supply',
        driver: 'supply-scpi',
        address: 'memory:supply',
        identity: 'EXAMPLE,PS-20,77,1.0',
        simulated: false,
        up: true,
        calibrationDue: null,
        certificate: null,
        serial: '77',
        typed: false,
      },
      {
        name: 'hand',
        driver: 'typed-in',
        address: '',
        identity: '',
        simulated: false,
        up: true,
        calibrationDue: null,
        certificate: null,
        serial: '',
        typed: true,
      },
    ])
    expect(bench.meters.map((meter) => [meter.quantity, meter.instrument, meter.typed])).toEqual([
      ['RF power', 'power', false],
      ['DC current', 'supply', false],
      ['SINAD', 'hand', true],
    ])
    expect(bench.meters[0]).toMatchObject({ pathLossDb: 30, everyMs: 250, latencyMs: 300, unit: 'W', step: 1e-5 })
    await stage.clock.runUntil(bench.close())
  })

  test('never talks to the supply: that is the keeper alone', async () => {
    const stage = benchStage({ power: POWER, supply: SUPPLY })
    stage.script('power', READS_POWER)
    const supply = stage.script('supply', {})
    const bench = await stage.open()
    bench.watch(['DC current', 'DC voltage', 'RF power'])
    await stage.clock.advance(10_000)
    await stage.clock.runUntil(bench.close())
    expect(supply.heard).toEqual([])
  })

  test('makes DC current of each state of the supply, with the epoch in which it was measured', async () => {
    const stage = benchStage({ supply: SUPPLY })
    const bench = await stage.open()
    await stage.clock.advance(1000)
    bench.raiseEpoch('key')
    await stage.clock.advance(1000)
    stage.supply.push({ beganMs: 900, atMs: 950, amps: 0.3, rawAmps: '+3.0E-01' })
    stage.supply.push({ beganMs: 1100, atMs: 1150, amps: 1.2, rawAmps: '+1.2E+00' })
    stage.supply.push({ beganMs: 1200, atMs: 1250, amps: null, rawAmps: '' })
    expect(stage.readings).toEqual([
      {
        quantity: 'DC current',
        instrument: 'supply',
        epoch: 0,
        beganMs: 900,
        arrivedMs: 950,
        raw: '+3.0E-01',
        value: 0.3,
        state: 'good',
      },
      {
        quantity: 'DC current',
        instrument: 'supply',
        epoch: 1,
        beganMs: 1100,
        arrivedMs: 1150,
        raw: '+1.2E+00',
        value: 1.2,
        state: 'good',
      },
      {
        quantity: 'DC current',
        instrument: 'supply',
        epoch: 1,
        beganMs: 1200,
        arrivedMs: 1250,
        raw: '',
        value: null,
        state: 'unreadable',
      },
    ])
    await bench.close()
    expect(stage.supply.listening).toBe(0)
  })

  test('passes on the states of the supply themselves', async () => {
    const stage = benchStage({ supply: SUPPLY })
    const bench = await stage.open()
    const seen: (number | null)[] = []
    bench.onSupply((state) => seen.push(state.volts))
    stage.supply.push({ volts: 15.6 })
    expect(seen).toEqual([15.6])
    await bench.close()
  })

  test('takes what a person typed, for a quantity that a person reads', async () => {
    const stage = benchStage({ hand: { driver: 'typed-in', quantity: 'SINAD' } })
    const bench = await stage.open()
    bench.raiseEpoch('level')
    bench.typeIn('SINAD', 12.5, '12.5 dB')
    expect(stage.readings).toEqual([
      {
        quantity: 'SINAD',
        instrument: 'hand',
        epoch: 1,
        beganMs: 0,
        arrivedMs: 0,
        raw: '12.5 dB',
        value: 12.5,
        state: 'good',
      },
    ])
    const hand = bench.meters.find(({ quantity }) => quantity === 'SINAD')
    expect([hand?.typed, hand?.inputIsolated]).toEqual([true, 'yes'])
    expect(() => bench.typeIn('RF power', 1, '1 W')).toThrow(
      'Test bench: no meter for RF power is read by a person. Add an instrument for it to the bench file [BENCH_NOBODY_MEASURES]',
    )
    await bench.close()
  })

  test('takes both peaks of a meter read by a person, and never takes that meter for one that is down', async () => {
    const stage = benchStage({ power: POWER, hand: { driver: 'typed-in', quantity: 'FM deviation' } })
    const power = stage.script('power', READS_POWER)
    const bench = await stage.open()
    bench.watch(['FM deviation', 'RF power'])
    power.plug(false)
    await stage.clock.advance(20_000)
    expect(stage.news.map(({ instrument }) => instrument)).not.toContain('hand')
    expect(bench.instruments().map(({ name, up }) => [name, up])).toEqual([
      ['power', false],
      ['hand', true],
    ])
    expect(stage.readings.filter(({ quantity }) => quantity === 'FM deviation')).toEqual([])
    const nowMs = stage.clock.nowMs()
    const reading = bench.typeIn('FM deviation', 1780, '1.78 / 1.71 kHz', [1780, 1710])
    expect(reading).toMatchObject({ value: 1780, parts: [1780, 1710], raw: '1.78 / 1.71 kHz', beganMs: nowMs })
    expect(stage.readings.at(-1)).toBe(reading)
    await stage.clock.runUntil(bench.close())
  })
})

describe('an instrument that does not answer', () => {
  test('does not stop the bench: it is down, with its fault, and comes back by itself', async () => {
    const stage = benchStage({ power: POWER, volts: VOLTS })
    const power = stage.script('power', READS_POWER)
    stage.script('volts', { 'READ:VOLT:DC?': '+2.4' })
    power.plug(false)
    const bench = await stage.open()
    expect(bench.instruments().map(({ name, up }) => [name, up])).toEqual([
      ['power', false],
      ['volts', true],
    ])
    expect(stage.news).toMatchObject([
      { instrument: 'power', up: false, fault: { who: 'power (power-meter-scpi at memory:power)' } },
    ])
    bench.watch(['RF power'])
    power.plug(true)
    await stage.clock.advance(5000)
    expect(stage.news.at(-1)).toMatchObject({ instrument: 'power', up: true, fault: null })
    expect(stage.readings.length).toBeGreaterThan(0)
    await stage.clock.runUntil(bench.close())
  })

  test('within the time for opening joins the bench later, and is told when it has', async () => {
    const stage = benchStage({ power: POWER, volts: VOLTS })
    const power = stage.script('power', READS_POWER)
    stage.script('volts', {})
    power.late('*ESE?', 900)
    const bench = await stage.open({ openWithinMs: 10 })
    expect(stage.clock.nowMs()).toBeLessThan(1000)
    expect(bench.instruments().map(({ up }) => up)).toEqual([false, false])
    expect(stage.news).toEqual([])
    await stage.clock.advance(10_000)
    expect(stage.news.map(({ instrument, up }) => `${instrument} ${up ? 'up' : 'down'}`).toSorted()).toEqual([
      'power up',
      'volts up',
    ])
    await stage.clock.runUntil(bench.close())
  })

  test('that is another one than the bench file says is down with DRIVER_WRONG_INSTRUMENT', async () => {
    const stage = benchStage({ power: { ...POWER, 'answers as': 'METER' } })
    stage.script('power', READS_POWER, 'EXAMPLE,COUNTER,9,1.0')
    const bench = await stage.open()
    bench.watch(['RF power'])
    await stage.clock.advance(20_000)
    expect(stage.news.map(({ up, fault }) => [up, fault?.code])).toEqual([[false, 'DRIVER_WRONG_INSTRUMENT']])
    expect(stage.readings).toEqual([])
    await stage.clock.runUntil(bench.close())
  })
})

describe('a mix of real and simulated instruments is refused', () => {
  test('by the file', async () => {
    const stage = benchStage({ power: POWER, volts: { ...VOLTS, at: 'simulated' } })
    await expect(rejectionOf(stage.clock, openBench(stage.options))).resolves.toMatchObject({
      message:
        'Test bench: some instruments are "at: simulated" and some are not: power. Use a bench that is all real or all simulated [BENCH_MIXED]',
    })
  })

  test('by the file and the supply', async () => {
    const stage = benchStage({ volts: { ...VOLTS, at: 'simulated' } })
    await expect(rejectionOf(stage.clock, openBench(stage.options))).resolves.toMatchObject({
      message:
        'Test bench: the bench file says simulated, and the supply answers as "EXAMPLE,PS-20,77,1.0". Use a bench that is all real or all simulated [BENCH_MIXED]',
    })
  })

  test('by the identity replies, whatever the file says, and every link is closed again', async () => {
    const stage = benchStage({ power: POWER, volts: VOLTS })
    stage.script('power', READS_POWER, SIMULATED)
    const volts = stage.script('volts', {})
    await expect(rejectionOf(stage.clock, openBench(stage.options))).resolves.toMatchObject({
      message:
        'Test bench: power (power-meter-scpi at memory:power) is simulated and the supply is real: it answers as "TRIMWRIGHT SIMULATED,POWER METER,SIM0002,1.0". Use a bench that is all real or all simulated [BENCH_MIXED]',
    })
    volts.heard.length = 0
    await stage.clock.advance(60_000)
    expect(volts.heard).toEqual([])
  })

  test('also when it comes back as another kind', async () => {
    const stage = benchStage({ power: POWER })
    const power = stage.script('power', READS_POWER, 'EXAMPLE,POWER,1,1.0')
    power.plug(false)
    const bench = await stage.open()
    power.answers['*IDN?'] = SIMULATED
    power.plug(true)
    await stage.clock.advance(5000)
    expect(stage.news.at(-1)).toMatchObject({ up: false, fault: { code: 'BENCH_MIXED' } })
    expect(bench.instruments()[0]?.up).toBe(false)
    await stage.clock.runUntil(bench.close())
  })

  test('and a bench that is all simulated says so', async () => {
    const stage = benchStage({ power: { ...POWER, at: 'simulated' } })
    stage.script('power', READS_POWER, SIMULATED)
    const bench = await stage.open({ supply: fakeSupply(true), addresses: { power: 'memory:power' } })
    expect(bench.simulated).toBe(true)
    expect(bench.instruments()[0]).toMatchObject({ address: 'memory:power', simulated: true })
    await stage.clock.runUntil(bench.close())
  })
})

test('a simulated instrument that the simulated bench did not print is refused by name', async () => {
  const stage = benchStage({ power: { ...POWER, at: 'simulated' } })
  const opening = openBench({
    ...stage.options,
    supply: fakeSupply(true),
    addresses: { counter: 'memory:counter', volts: 'memory:volts' },
  })
  await expect(rejectionOf(stage.clock, opening)).resolves.toMatchObject({
    message:
      'power: the simulated bench has no instrument of this name; it has: counter, volts. Use a name that the simulated bench prints, or write the address into the bench file [BENCH_ADDRESS_UNKNOWN]',
  })
})

test('an address that leads nowhere by its form is refused, not retried', async () => {
  const stage = benchStage({ power: { ...POWER, at: 'tcp://host:99999' } })
  await expect(rejectionOf(stage.clock, openBench(stage.options))).resolves.toMatchObject({ code: 'TRANSPORT_ADDRESS' })
})

test('opening is called off with the reason untouched, and nothing stays open', async () => {
  const stage = benchStage({ power: POWER })
  const power = stage.script('power', READS_POWER)
  power.delayMs = 1e6
  const stop = new AbortController()
  const reason = new Error('enough')
  const opening = rejectionOf(stage.clock, openBench({ ...stage.options, signal: stop.signal }))
  stop.abort(reason)
  await expect(opening).resolves.toBe(reason)
})

describe('the tone', () => {
  const oscillator = (stage: ReturnType<typeof benchStage>) => {
    let on = '0'
    let volts = 0
    return stage.script('oscillator', {
      'OUTP ON': () => {
        on = '1'
        return null
      },
      'OUTP OFF': () => {
        on = '0'
        return null
      },
      'OUTP?': () => on,
      'SOUR:FREQ?': '+1.0E+03',
      'SOUR:VOLT 0.03000': () => {
        volts = 0.03
        return null
      },
      'SOUR:VOLT?': () => String(volts),
    })
  }
  const TONE = { 'audio tone': 1000, 'audio level': 0.03 }
  const settings = (heard: readonly { text: string }[]) =>
    heard.map(({ text }) => text).filter((text) => /^(OUTP|SOUR:VOLT) /.test(text))

  test('is set, and off again before any link closes', async () => {
    const stage = benchStage({ oscillator: OSCILLATOR, power: POWER })
    const box = oscillator(stage)
    stage.script('power', READS_POWER)
    const bench = await stage.open()
    expect(bench.sources).toEqual([{ name: 'audio tone', instrument: 'oscillator' }])
    await stage.clock.runUntil(bench.source('audio tone').set(TONE, new AbortController().signal))
    expect(settings(box.heard)).toEqual(['OUTP OFF', 'OUTP OFF', 'SOUR:VOLT 0.03000', 'OUTP ON'])
    await stage.clock.runUntil(bench.close())
    expect(settings(box.heard).at(-1)).toBe('OUTP OFF')
  })

  test('sounds again when a link that was lost has come back', async () => {
    const stage = benchStage({ oscillator: OSCILLATOR })
    const box = oscillator(stage)
    const bench = await stage.open()
    await stage.clock.runUntil(bench.source('audio tone').set(TONE, new AbortController().signal))
    box.plug(false)
    await stage.clock.advance(10)
    box.heard.length = 0
    box.plug(true)
    await stage.clock.advance(5000)
    expect(settings(box.heard)).toEqual(['OUTP OFF', 'OUTP OFF', 'SOUR:VOLT 0.03000', 'OUTP ON'])
    await stage.clock.runUntil(bench.close())
  })

  test('that could not be set does not start by itself later', async () => {
    const stage = benchStage({ oscillator: OSCILLATOR })
    const box = oscillator(stage)
    const bench = await stage.open()
    box.plug(false)
    await stage.clock.advance(10)
    await expect(
      rejectionOf(stage.clock, bench.source('audio tone').set(TONE, new AbortController().signal)),
    ).resolves.toMatchObject({
      code: 'TRANSPORT_LINK_LOST',
    })
    box.heard.length = 0
    box.plug(true)
    await stage.clock.advance(5000)
    expect(stage.news.at(-1)?.up).toBe(true)
    expect(settings(box.heard)).toEqual(['OUTP OFF'])
    await stage.clock.runUntil(bench.close())
  })

  test('needs an oscillator', async () => {
    const stage = benchStage({ power: POWER })
    stage.script('power', READS_POWER)
    const bench = await stage.open()
    expect([bench.sources, bench.source('audio tone').there]).toEqual([[], false])
    await expect(
      rejectionOf(stage.clock, bench.source('audio tone').set(TONE, new AbortController().signal)),
    ).resolves.toMatchObject({
      message:
        'Test bench: no instrument makes an audio tone. Add an instrument for it to the bench file [BENCH_NOBODY_MEASURES]',
    })
    await stage.clock.runUntil(bench.close())
  })
})

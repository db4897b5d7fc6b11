import { describe, expect, test } from 'vitest'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { benchStage } from '../kit/job/bench-stage.ts'
import { fakeSupply } from '../kit/links/fake-supply.ts'
import { never } from '../kit/links/instrument-deps.ts'

const POWER = { driver: 'power-meter-scpi', at: 'memory:power' }
const MODMETER = { driver: 'modulation-meter-scpi', at: 'memory:modmeter' }
const READS = { 'READ:FM:DEV?': '+1.8E+03,+1.7E+03', 'READ:AM:DEPT?': '+5.0E+01,+5.0E+01' }

/** What a power meter is asked as a sign of life. */
const SIGN = ['*IDN?', '*ESR?', 'UNIT:POW?']
const asked = (heard: readonly { text: string; atMs: number }[], text: string) =>
  heard.filter((one) => one.text === text).map(({ atMs }) => atMs)

/** A bench with a power meter that takes 100 ms for a reading. */
async function powerBench(answers: Record<string, string | null | (() => string | null)> = {}) {
  const stage = benchStage({ power: POWER })
  const power = stage.script('power', { 'READ:POW?': '+3.85E+00', ...answers })
  const bench = await stage.open()
  power.delayMs = 100
  power.heard.length = 0
  return { ...stage, power, bench, close: () => stage.clock.runUntil(bench.close()) }
}

describe('what is read', () => {
  test('nothing is asked while nothing is wanted, but who it is and whether its settings stand, every 5 s', async () => {
    const { clock, power, close } = await powerBench()
    const beganMs = clock.nowMs()
    await clock.advance(16_000)
    expect(power.heard.map(({ text }) => text)).toEqual([...SIGN, ...SIGN, ...SIGN])
    expect((power.heard[0]?.atMs ?? 0) - beganMs).toBeCloseTo(5000, 3)
    await close()
  })

  test('a serial line is left in peace while nothing is wanted', async () => {
    const stage = benchStage({ power: { ...POWER, at: 'serial:/dev/ttyS0' } })
    const power = stage.script('power', {})
    const through = async () => stage.deps.memory.connect('power')
    const bench = await stage.open({ deps: { ...stage.deps, through } })
    power.heard.length = 0
    await stage.clock.advance(16_000)
    expect(power.heard).toEqual([])
    await stage.clock.runUntil(bench.close())
  })

  test('a wanted quantity is read every 250 ms, as its driver says', async () => {
    const { clock, power, bench, readings, close } = await powerBench()
    bench.watch(['RF power'])
    await clock.advance(1100)
    const times = asked(power.heard, 'READ:POW?')
    expect(times.map((ms) => Math.round(ms - (times[0] ?? 0)))).toEqual([0, 250, 500, 750, 1000])
    expect(readings).toHaveLength(5)
    expect(readings[0]).toMatchObject({
      quantity: 'RF power',
      instrument: 'power',
      value: 3.85,
      state: 'good',
      raw: '+3.85E+00',
    })
    await close()
  })

  test('a meter that takes longer than its interval is asked again at once, never twice at a time', async () => {
    const { clock, power, bench, close } = await powerBench()
    power.delayMs = 400
    bench.watch(['RF power'])
    await clock.advance(1300)
    const times = asked(power.heard, 'READ:POW?')
    expect(times.map((ms) => Math.round(ms - (times[0] ?? 0)))).toEqual([0, 400, 800, 1200])
    await close()
  })

  test('two quantities of one instrument take turns, the most wanted first', async () => {
    const stage = benchStage({ modmeter: MODMETER })
    const modmeter = stage.script('modmeter', READS)
    const bench = await stage.open()
    modmeter.delayMs = 250
    modmeter.heard.length = 0
    bench.watch(['AM depth', 'RF power', 'FM deviation'])
    await stage.clock.advance(1400)
    const said = modmeter.heard.map(({ text }) => text).filter((text) => text !== '*ESR?')
    expect(said.slice(0, 5)).toEqual([
      'READ:AM:DEPT?',
      'READ:FM:DEV?',
      'READ:AM:DEPT?',
      'READ:FM:DEV?',
      'READ:AM:DEPT?',
    ])
    await stage.clock.runUntil(bench.close())
  })

  test('what is no longer wanted is no longer read', async () => {
    const { clock, power, bench, readings, close } = await powerBench()
    bench.watch(['RF power'])
    await clock.advance(600)
    bench.watch([])
    await clock.advance(200)
    power.heard.length = 0
    const before = readings.length
    await clock.advance(4000)
    expect(power.heard).toEqual([])
    expect(readings).toHaveLength(before)
    await close()
  })

  test('a new wish is read at once, not when the heartbeat is due', async () => {
    const { clock, power, bench, close } = await powerBench()
    await clock.advance(2000)
    const beganMs = clock.nowMs()
    bench.watch(['RF power'])
    await clock.advance(10)
    expect(asked(power.heard, 'READ:POW?')).toEqual([beganMs])
    await close()
  })
})

describe('the epoch of a reading is that of the moment its question left', () => {
  test('raised while the reply is under way, the reading stays with the old one', async () => {
    const { clock, bench, readings, close } = await powerBench()
    bench.watch(['RF power'])
    await clock.advance(50)
    expect(bench.raiseEpoch('supply')).toBe(1)
    await clock.advance(500)
    expect(bench.epoch).toBe(1)
    expect(readings.map(({ epoch }) => epoch)).toEqual([0, 1])
    await close()
  })

  test('raised before the question, the first reading belongs to the new one, even in the same instant', async () => {
    const { clock, bench, readings, close } = await powerBench()
    bench.raiseEpoch('channel')
    bench.watch(['RF power'])
    await clock.advance(150)
    expect(readings.map(({ epoch }) => epoch)).toEqual([1])
    await close()
  })
})

describe('a reply that is not a number is a named state, pushed like any other', () => {
  test.each([
    ['9.9E+37', 'over'],
    ['9.91E+37', 'not a number'],
    ['3,85', 'unreadable'],
  ])('%s is %s', async (reply, state) => {
    const { clock, bench, readings, close } = await powerBench({ 'READ:POW?': reply })
    bench.watch(['RF power'])
    await clock.advance(150)
    expect(readings).toMatchObject([{ value: null, state, raw: reply }])
    await close()
  })
})

test('a late reply never becomes a reading: the link is brought in step, the instrument prepared anew, and the next reading is its own', async () => {
  const { clock, power, bench, readings, news, misses, close } = await powerBench()
  bench.watch(['RF power'])
  await clock.advance(600)
  power.answers['READ:POW?'] = '+9.99E+00'
  power.late('READ:POW?', 2600)
  await clock.advance(300)
  power.answers['READ:POW?'] = '+1.11E+00'
  const before = readings.length
  power.heard.length = 0
  await clock.advance(8000)
  const later = readings.slice(before)
  expect(later.length).toBeGreaterThan(3)
  expect(new Set(later.map(({ value }) => value))).toEqual(new Set([1.11]))
  const said = power.heard.map(({ text }) => text)
  expect(said.indexOf('UNIT:POW W')).toBeGreaterThan(-1)
  expect(said.indexOf('UNIT:POW W')).toBeLessThan(said.indexOf('READ:POW?'))
  expect(news).toEqual([])
  expect(misses[0]).toMatchObject({ instrument: 'power', up: true, fault: { code: 'TRANSPORT_REPLY_TIMEOUT' } })
  await close()
})

describe('a link that is lost', () => {
  test('is told at once with its cure, tried again at 0.5, 1, 2, 5, 10 and 10 s give or take a fifth, and told when it is back', async () => {
    const { clock, power, bench, news, deps, close } = await powerBench()
    const triesMs: number[] = []
    const { connect } = deps.memory
    deps.memory.connect = (name) => {
      triesMs.push(clock.nowMs())
      return connect(name)
    }
    bench.watch(['RF power'])
    await clock.advance(1000)
    const lostMs = clock.nowMs()
    power.plug(false)
    await clock.advance(40_000)
    expect(news.map(({ up, fault, atMs }) => [up, fault?.message, atMs])).toEqual([
      [
        false,
        expect.stringMatching(
          /^power \(power-meter-scpi at memory:power\): .*cable out.*\. Plug it back in; the step goes on by itself when it answers again \[TRANSPORT_LINK_LOST\]$/,
        ),
        lostMs,
      ],
    ])
    expect(bench.instruments()[0]?.up).toBe(false)
    const gaps = triesMs.map((ms, index) => ms - (triesMs[index - 1] ?? lostMs))
    const steps = [500, 1000, 2000, 5000, 10_000, 10_000]
    expect(gaps.length).toBeGreaterThanOrEqual(steps.length)
    for (const [index, step] of steps.entries()) {
      expect(gaps[index]).toBeGreaterThanOrEqual(0.8 * step)
      expect(gaps[index]).toBeLessThan(1.2 * step + 100)
    }
    expect(new Set(gaps.map((gap) => Math.round(gap))).size).toBeGreaterThan(4)
    power.plug(true)
    await clock.advance(20_000)
    expect(news.map(({ up }) => up)).toEqual([false, true])
    await close()
  })

  test('is identified and prepared again before any reading counts', async () => {
    const { clock, power, bench, readings, news, close } = await powerBench()
    bench.watch(['RF power'])
    await clock.advance(1000)
    power.plug(false)
    await clock.advance(100)
    power.heard.length = 0
    const before = readings.length
    power.plug(true)
    await clock.advance(5000)
    const said = power.heard.map(({ text }) => text).filter((text) => !text.startsWith('*ESE'))
    const opening = ['*IDN?', '*ESR?', 'SYST:ERR?', 'UNIT:POW W', 'SYST:ERR?', '*ESR?', 'UNIT:POW?']
    expect(said.slice(0, 8)).toEqual([...opening, 'READ:POW?'])
    expect(news.map(({ up }) => up)).toEqual([false, true])
    expect(readings.length).toBeGreaterThan(before)
    await close()
  })

  test('that comes back as another box stays down, and the new reason is told once', async () => {
    const { clock, power, bench, readings, news, close } = await powerBench()
    bench.watch(['RF power'])
    await clock.advance(1000)
    power.plug(false)
    await clock.advance(100)
    const before = readings.length
    power.answers['*IDN?'] = 'EXAMPLE,POWER,2,1.0'
    power.plug(true)
    await clock.advance(30_000)
    expect(news.map(({ up, fault }) => [up, fault?.code])).toEqual([
      [false, 'TRANSPORT_LINK_LOST'],
      [false, 'DRIVER_WRONG_INSTRUMENT'],
    ])
    expect(news[1]?.fault?.happened).toBe('answers as "EXAMPLE,POWER,2,1.0"; it was "EXAMPLE,POWER,1,1.0" before')
    expect(readings).toHaveLength(before)
    await close()
  })
})

describe('what is under way when a link is lost', () => {
  test('is never given on, not even where its reply comes in the same moment as the loss', async () => {
    const { clock, power, bench, readings, news, close } = await powerBench()
    bench.watch(['RF power'])
    await clock.advance(50)
    power.answers['READ:POW?'] = '+9.99E+00'
    await clock.advance(200)
    expect(readings).toHaveLength(1)
    const lost = new Promise<void>((resolve) => {
      power.whenSaid = () => {
        power.whenSaid = null
        power.plug(false)
        resolve()
      }
    })
    await clock.advance(120)
    await lost
    await clock.advance(200)
    expect(readings.map(({ value }) => value)).toEqual([3.85])
    expect(news.map(({ up }) => up)).toEqual([false])
    await close()
  })

  test('nor what stands in the queue of the link: it is not asked, and nothing is told twice', async () => {
    const { clock, power, bench, readings, news, close } = await powerBench()
    bench.watch(['RF power'])
    await clock.advance(300)
    power.plug(false)
    power.heard.length = 0
    await clock.advance(400)
    expect(power.heard).toEqual([])
    expect(readings).toHaveLength(1)
    expect(news).toHaveLength(1)
    await close()
  })
})

test('what the lost link was owed does not become a reading of the next one', async () => {
  for (let sayMs = 700; sayMs < 2400; sayMs += 90) {
    const { clock, power, bench, readings, news, close } = await powerBench()
    bench.watch(['RF power'])
    await clock.advance(1000)
    const before = power.answers['READ:POW?'] ?? null
    power.answers['READ:POW?'] = null
    power.answers['SYST:ERR?'] = null
    while (news.length === 0) await clock.advance(50)
    power.answers['READ:POW?'] = before
    power.answers['SYST:ERR?'] = '0,"No error"'
    await clock.advance(sayMs)
    power.say('+9.99E+00;0;W\n')
    await clock.advance(6000)
    expect(new Set(readings.map(({ value }) => value)), `said ${sayMs} ms after the loss`).toEqual(new Set([3.85]))
    expect(news.at(-1)?.up).toBe(true)
    await close()
  }
})

test('close is over only when the port is, and a port is opened again only when the old one is closed', async () => {
  const stage = benchStage({ power: POWER })
  const power = stage.script('power', { 'READ:POW?': '+3.85E+00' })
  const { connect } = stage.deps.memory
  const done: string[] = []
  stage.deps.memory.connect = (name) => {
    done.push('open')
    const port = connect(name)
    return {
      ...port,
      close: async () => {
        await stage.clock.sleepUntil(stage.clock.nowMs() + 1500, never())
        await port.close()
        if (done.at(-1) !== 'closed') done.push('closed') // closing twice is no more than once
      },
    }
  }
  const bench = await stage.open()
  power.plug(false)
  await stage.clock.advance(10)
  power.plug(true)
  await stage.clock.advance(5000)
  expect(done).toEqual(['open', 'closed', 'open'])
  await stage.clock.runUntil(bench.close())
  expect(done).toEqual(['open', 'closed', 'open', 'closed'])

  const again = await stage.open()
  power.plug(false)
  await stage.clock.advance(10)
  await stage.clock.runUntil(again.close())
  expect(done.slice(4)).toEqual(['open', 'closed'])
})

test.each([
  [5900, []],
  [6100, ['UNIT:POW W']],
])('after %d ms of silence that no sign of life breaks: the settings are made again: %j', async (silentMs, made) => {
  const driver = loadDriver('drivers', 'power-meter-scpi')
  const stage = benchStage({ power: POWER })
  const power = stage.script('power', { 'READ:POW?': '+3.85E+00' })
  const drivers = new Map([['power-meter-scpi', { ...driver, identify: null }]]) // no question, no sign of life
  const bench = await stage.open({ drivers, supply: fakeSupply(false) })
  bench.watch(['RF power'])
  await stage.clock.advance(100)
  bench.watch([])
  await stage.clock.advance(silentMs - 95)
  power.heard.length = 0
  bench.watch(['RF power'])
  await stage.clock.advance(100)
  const said = power.heard.map(({ text }) => text)
  expect(said.filter((text) => text === 'UNIT:POW W')).toEqual(made)
  expect(said).toContain('READ:POW?')
  await stage.clock.runUntil(bench.close())
})

test('an instrument that falls silent is told within two unanswered heartbeats', async () => {
  const { clock, power, news, close } = await powerBench()
  power.answers['*IDN?'] = null
  power.answers['*ESE?'] = null
  await clock.advance(20_000)
  expect(news.length).toBeGreaterThan(0)
  expect(news[0]).toMatchObject({ instrument: 'power', up: false })
  await close()
})

test('an instrument that refuses its question is down with its own error number', async () => {
  const errors: string[] = []
  const { clock, bench, news, readings, close } = await powerBench({
    'READ:POW?': () => {
      errors.push('-113,"Undefined header"')
      return null
    },
    'SYST:ERR?': () => errors.shift() ?? '0,"No error"',
  })
  bench.watch(['RF power'])
  await clock.advance(10_000)
  expect(news[0]?.fault?.message).toBe(
    'power (power-meter-scpi at memory:power): answers -113 "Undefined header" to READ:POW?. Read the instrument manual on that error number [INSTRUMENT_REFUSED]',
  )
  expect(readings).toEqual([])
  await close()
})

test('a closed bench asks nothing, tells nothing, and leaves nobody asleep on the clock', async () => {
  const { clock, power, bench, readings, news, close } = await powerBench()
  bench.watch(['RF power'])
  await clock.advance(1010)
  await close()
  await close()
  power.heard.length = 0
  const before = readings.length
  await clock.advance(60_000)
  expect(power.heard).toEqual([])
  expect(readings).toHaveLength(before)
  expect(news).toEqual([])
  await expect(clock.runUntil(new Promise(() => {}))).rejects.toThrow('nobody sleeps on the clock')
})

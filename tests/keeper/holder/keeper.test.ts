import { describe, expect, test } from 'vitest'
import { type Keeper, type KeeperNeeds, runKeeper } from '../../../src/keeper/holder/keeper.ts'
import { type KeeperNote, rulesFor } from '../../../src/keeper/rules/keeper-state.ts'
import type { FromKeeper } from '../../../src/schema/messages/keeper-message.ts'
import { silentLog } from '../../../src/system/log.ts'
import { type VirtualClock, virtualClock } from '../../../src/system/virtual-clock.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { type FakeSupply, fakeSupply } from '../fake-supply.ts'
import { LIMITS, withWish } from '../fold-bench.ts'

interface Shell {
  readonly clock: VirtualClock
  readonly port: FakeSupply
  readonly keeper: Keeper
  readonly says: FromKeeper[]
  readonly notes: KeeperNote[]
}

function shell(more: Partial<KeeperNeeds> = {}, clock = virtualClock(), port = fakeSupply(clock)): Shell {
  const says: FromKeeper[] = []
  const notes: KeeperNote[] = []
  const keeper = runKeeper({
    port,
    reopen: null,
    rules: rulesFor(port.who, 16.5, 4, 1),
    clock,
    bootMs: () => clock.nowMs(),
    say: (message) => says.push(worded(message)),
    note: (note) => notes.push(worded(note)),
    log: silentLog,
    ...more,
  })
  return { clock, port, keeper, says, notes }
}

/** Output on at 15.6 V and keyed, beating. */
async function high(it: Shell): Promise<Shell> {
  const { clock, keeper, port } = it
  await clock.advance(300)
  keeper.hear({ verb: 'beat' })
  keeper.hear(withWish({ verb: 'limits', id: 1, ...LIMITS }, 1))
  keeper.hear(withWish({ verb: 'set', id: 2, volts: 15.6, amps: 2.5 }, 1))
  keeper.hear(withWish({ verb: 'on', id: 3 }, 1))
  await clock.advance(1500)
  keeper.hear({ verb: 'beat' })
  expect(port.model).toMatchObject({ on: true, setVolts: 15.6 })
  port.model.keyed = true
  await clock.advance(400)
  return it
}

const offAfter = (port: FakeSupply, fromMs: number) =>
  port.model.log.find(({ what, atMs }) => what === 'off' && atMs >= fromMs)?.atMs ?? Infinity

test.for(['silent', 'hanging'] as const)(
  'every off is taken and looks are %s: off again at least each 1.1 s, for a line may be mended at any moment',
  async (manner, { expect }) => {
    const { clock, port, keeper } = await high(shell())
    port.looksOnly = true
    port.manner = manner
    const fromMs = clock.nowMs()
    keeper.hear({ verb: 'off', id: 9, upTo: 1, why: 'asked for' })
    await clock.advance(15_000)
    const offs = port.model.log.filter(({ what, atMs }) => what === 'off' && atMs >= fromMs).map(({ atMs }) => atMs)
    const gaps = [...offs, clock.nowMs()].map((atMs, index) => atMs - (offs[index - 1] ?? fromMs))
    expect(Math.max(...gaps)).toBeLessThanOrEqual(1100)
    expect(offs.length).toBeLessThan(25) // nor is a supply flooded with it
  },
)

describe('the output goes off', () => {
  test('3.0 s after the last beat', async () => {
    const { clock, port, says } = await high(shell())
    const lastBeatMs = clock.nowMs() - 400
    await clock.advance(3500)
    expect(offAfter(port, lastBeatMs) - lastBeatMs).toBeGreaterThanOrEqual(3000)
    expect(offAfter(port, lastBeatMs) - lastBeatMs).toBeLessThan(3020)
    expect(says.filter((one) => one.kind === 'acted')).toMatchObject([{ why: 'no beat for 3.0 s', proved: true }])
  })

  test.each([
    ['slow', 'slow', 140],
    ['hanging past every deadline', 'hanging', 140],
    ['silent', 'silent', 140],
  ] as const)('while a look is %s: not later than 0.14 s', async (_name, manner, withinMs) => {
    const { clock, port, keeper } = await high(shell())
    port.looksOnly = true
    port.manner = manner
    await clock.advance(150)
    const askedMs = clock.nowMs()
    keeper.hear(withWish({ verb: 'off', id: 9, why: 'stop control' }, 1))
    await clock.advance(600)
    expect(offAfter(port, askedMs) - askedMs).toBeLessThanOrEqual(withinMs)
  })

  test('by a new connection where the old one hangs', async () => {
    const clock = virtualClock()
    const first = fakeSupply(clock)
    const second = fakeSupply(clock, first.model)
    const it = await high(shell({ reopen: async () => second }, clock, first))
    first.manner = 'hanging'
    const askedMs = clock.nowMs()
    it.keeper.hear(withWish({ verb: 'off', id: 9, why: 'stop control' }, 1))
    await clock.advance(1500)
    expect(first.closed).toBe(1)
    expect(offAfter(second, askedMs) - askedMs).toBeLessThan(700)
    expect(it.says.find((one) => one.kind === 'done' && one.id === 9)).toMatchObject({
      state: { output: 'off', resting: 'safe' },
    })
  })

  test('once the cable is back, tried at least each second', async () => {
    const { clock, port, says } = await high(shell())
    port.manner = 'lost'
    await clock.advance(9000)
    expect(port.model.on).toBe(true)
    const backMs = clock.nowMs()
    port.manner = 'well'
    await clock.advance(2000)
    expect(offAfter(port, backMs) - backMs).toBeLessThan(1100)
    expect(says.filter((one) => one.kind === 'acted')).toMatchObject([{ proved: false }, { proved: true }])
  })

  test('when another instrument answers where the supply did: nothing is sent to it', async () => {
    const clock = virtualClock()
    const first = fakeSupply(clock)
    const stranger = fakeSupply(clock, undefined, 'ACME,OSCILLATOR,1,1')
    const it = await high(shell({ reopen: async () => stranger }, clock, first))
    first.manner = 'lost'
    await clock.advance(5000)
    expect(stranger.model.log).toEqual([])
    expect(stranger.closed).toBeGreaterThan(0)
    expect(it.says.filter((one) => one.kind === 'acted')).toMatchObject([{ proved: false }])
  })

  test('when the keeper itself has a fault', async () => {
    let faulty = false
    const it = await high(
      shell({
        say: () => {
          if (faulty) throw new TypeError('a mistake in the program')
        },
      }),
    )
    faulty = true
    await it.clock.advance(400)
    expect(it.port.model.on).toBe(false)
    await expect(it.clock.runUntil(it.keeper.ended)).resolves.toEqual({ proved: true })
    expect(it.port.model).toMatchObject({ on: false, setVolts: 13.8 })
    expect(it.notes.at(-1)).toMatchObject({
      what: 'safe',
      why: 'the keeper broke: a mistake in the program',
      proved: true,
    })
  })

  test('when the keeper has a fault and another process holds the supply by now: off, and nothing else is written', async () => {
    let faulty = false
    const it = await high(
      shell({
        against: () => (faulty ? 'another process holds the supply now' : null),
        say: () => {
          if (faulty) throw new TypeError('a mistake in the program')
        },
      }),
    )
    faulty = true
    const fromMs = it.clock.nowMs()
    await expect(it.clock.runUntil(it.keeper.ended)).resolves.toEqual({ proved: true })
    expect(new Set(it.port.model.log.filter(({ atMs }) => atMs >= fromMs).map(({ what }) => what))).toEqual(
      new Set(['off']),
    )
    expect(it.notes.at(-1)).toMatchObject({ what: 'left high', proved: true })
  })

  test('when the output will not go off and another process holds the supply: off alone, again and again', async () => {
    let taken = false
    const it = await high(shell({ against: () => (taken ? 'another process holds the supply now' : null) }))
    Object.defineProperty(it.port.model, 'on', { get: () => true, set: () => {} })
    taken = true
    const fromMs = it.clock.nowMs()
    it.keeper.hear({ verb: 'off', id: 9, upTo: 1, why: 'asked for' })
    await it.clock.advance(6000)
    const told = it.port.model.log.filter(({ atMs }) => atMs >= fromMs).map(({ what }) => what)
    expect(new Set(told)).toEqual(new Set(['off']))
    expect(told.length).toBeGreaterThan(5)
  })

  test('after the computer has slept', async () => {
    let sleptMs = 0
    const clock = virtualClock()
    const it = await high(shell({ bootMs: () => clock.nowMs() + sleptMs }, clock))
    sleptMs = 3_600_000
    const wokeMs = clock.nowMs()
    await clock.advance(300)
    expect(offAfter(it.port, wokeMs) - wokeMs).toBeLessThan(150)
    expect(it.says.filter((one) => one.kind === 'acted')).toMatchObject([
      { why: 'the computer slept or stood still for 3600.1 s' },
    ])
  })
})

test('down goes first: normal at 15.6 V keyed reaches the supply within 20 ms, past a look under way', async () => {
  const { clock, port, keeper } = await high(shell())
  const askedMs = clock.nowMs()
  keeper.hear(withWish({ verb: 'normal', id: 9, why: 'step end' }, 1))
  await clock.advance(400)
  expect(port.model.log.find(({ atMs }) => atMs >= askedMs)).toMatchObject({ what: 'volts 13.8' })
  expect((port.model.log.find(({ atMs }) => atMs >= askedMs)?.atMs ?? Infinity) - askedMs).toBeLessThanOrEqual(20)
})

test('at least 8 states a second with the output on, 5 with it off', async () => {
  const { clock, keeper, says } = shell()
  await clock.advance(1000)
  const idle = says.filter((one) => one.kind === 'state').length
  await clock.advance(10_000)
  expect(says.filter((one) => one.kind === 'state').length - idle).toBeGreaterThanOrEqual(50)
  keeper.hear({ verb: 'beat' })
  keeper.hear(withWish({ verb: 'limits', id: 1, ...LIMITS }, 1))
  keeper.hear(withWish({ verb: 'on', id: 2 }, 1))
  await clock.advance(1500)
  keeper.hear({ verb: 'beat' })
  const on = says.filter((one) => one.kind === 'state').length
  await clock.advance(2000)
  expect(says.filter((one) => one.kind === 'state').length - on).toBeGreaterThanOrEqual(16)
})

test('told to leave, it makes safe, closes the link and ends', async () => {
  const { clock, port, keeper } = await high(shell())
  keeper.leave('the service closed the pipe')
  await expect(clock.runUntil(keeper.ended)).resolves.toEqual({ proved: true })
  expect(port.model.on).toBe(false)
  expect(port.closed).toBe(1)
})

test.for([
  [undefined, 0],
  [2, 2],
] as const)(
  'normal is not known, the driver says the lowest is %s V: a setting that was found goes down to %s V',
  async ([leastVolts, left], { expect }) => {
    const clock = virtualClock()
    const port = Object.assign(fakeSupply(clock), leastVolts === undefined ? {} : { leastVolts })
    Object.assign(port.model, { on: true, setVolts: 15.6, volts: 15.6 })
    const { keeper } = shell({}, clock, port)
    await clock.advance(1000)
    expect(port.model).toMatchObject({ on: false, setVolts: left })
    keeper.leave('the service closed the pipe')
    await clock.runUntil(keeper.ended)
  },
)

test('messages to switch off that take 1.5 s by the pauses of the instrument keep their connection', async () => {
  const clock = virtualClock()
  const port = Object.assign(fakeSupply(clock), { makeSafeMs: 1500 })
  Object.assign(port, {
    makeSafe: async () => {
      await clock.sleepUntil(clock.nowMs() + 1500, new AbortController().signal)
      port.model.on = false
    },
  })
  Object.assign(port.model, { on: true, setVolts: 0, volts: 15.6 })
  const { keeper } = shell({ reopen: async () => fakeSupply(clock) }, clock, port)
  await clock.advance(1800)
  expect([port.model.on, port.closed]).toEqual([false, 0])
  keeper.leave('the service closed the pipe')
  await clock.runUntil(keeper.ended)
})

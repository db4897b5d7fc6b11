import { afterEach, describe, expect, test } from 'vitest'
import { aimOf, numberOn } from '../../mocks/hand/display.ts'
import type { Quantity } from '../../src/quantity/quantity.ts'
import type { FromPage, LiveFrame } from '../../src/schema/messages/shown.ts'
import { placesIn } from '../kit/job/places.ts'
import { type FrameParts, type HandBench, handBench } from './hand-kit.ts'

const benches: HandBench[] = []
afterEach(() => {
  for (const bench of benches.splice(0)) bench.stop()
})

interface Stage {
  readonly bench: HandBench
  /** Shows `type in` every 100 ms with the key's clock kept as a service keeps it, until something is typed or `ms` are over. */
  run(ms: number, step: NonNullable<FrameParts['step']>, slot?: LiveFrame['slot']): Promise<void>
  typed(): readonly Extract<FromPage, { kind: 'type in' }>[]
  /** Longest key-down so far, s. */
  longestS(): number
}

const ATMOST_S = 15
const REST_S = 45

/** A bench on which `watts` (or `quantity`) is read by eye; the display follows what the set does with the key down only. */
function stage(
  reads: (bench: HandBench) => number,
  about: { quantity?: Quantity; show?: (value: number) => string; seed?: number } = {},
): Stage {
  const { quantity = 'RF power', show = (value) => `${(Math.round(value / 0.05) * 0.05).toFixed(2)} W` } = about
  let own: HandBench | null = null
  const displays = () => ({ [quantity]: own?.set.now.key ? show(reads(own)) : '---' })
  const bench = handBench(about.seed ?? 1, displays)
  own = bench
  benches.push(bench)
  let used = 0
  let resting = false
  let was = false
  let seconds = 0
  let longest = 0
  const key = (): LiveFrame['key'] => {
    const keyed = bench.set.now.key
    if (was && !keyed) resting = used >= 0.7
    used = keyed ? used + 0.1 / ATMOST_S : Math.max(0, used - 0.1 / REST_S)
    seconds = keyed ? seconds + 0.1 : 0
    longest = Math.max(longest, seconds)
    if (used === 0) resting = false
    was = keyed
    return { keyed, seconds, atMostS: ATMOST_S, share: used, restLeftS: resting ? used * REST_S : 0 }
  }
  const typedNow = () => bench.asked.flatMap(({ message }) => (message.kind === 'type in' ? [message] : []))
  return {
    bench,
    typed: typedNow,
    longestS: () => longest,
    run: async (ms, step, slot = null) => {
      const before = typedNow().length
      const typing = { quantity, instrument: 'power', example: '3.70 W', unit: 'W' }
      const whole = { transmit: 'transmit' as const, ...step }
      for (let left = ms; left > 0 && typedNow().length === before; left -= 1000)
        await bench.showing(1000, () => ({ state: 'type in', more: { typing, slot, key: key(), step: whole } }))
    },
  }
}

async function keyed(one: Stage): Promise<void> {
  one.bench.show('key now')
  await one.bench.clock.advance(1000)
}

const POWER_SLOT: LiveFrame['slot'] = {
  kind: 'band',
  lowLabel: '3.60 W',
  highLabel: '4.00 W',
  aimLabel: '3.85 W',
  aimLowE: -0.2,
  aimHighE: 1 / 3,
  wallE: 1,
  wallLabel: '4.00 W',
  openLow: false,
  openHigh: false,
  low: 3.6,
  high: 4,
}

describe('a display', () => {
  test.each([
    ['3.85 W', 'RF power', 3.85],
    ['850 mW', 'RF power', 0.85],
    ['1.78 / 1.71 kHz', 'FM deviation', 1780],
    ['1.71 / 1.78 kHz', 'FM deviation', 1780],
    ['---', 'RF power', null],
    ['--- / 1.71 kHz', 'FM deviation', null],
    ['', 'RF power', null],
  ] as const)('"%s" of %s is %s', (text, quantity, value) => {
    const read = numberOn(text, quantity)
    if (value === null) expect(read).toBeNull()
    else expect(read).toBeCloseTo(value, 9)
  })

  test('the aim is read off the labels of the slot: 3.85 W with 0.05 W on each side', () => {
    const near = aimOf({ slot: POWER_SLOT }, 'RF power')
    expect(near?.aim).toBeCloseTo(3.85, 9)
    expect(near?.half).toBeCloseTo(0.05, 9)
  })

  test('of two unlike sides of the window the narrower counts, 0.03 W; with no aim there is none', () => {
    expect(aimOf({ slot: { ...POWER_SLOT, aimHighE: 0.2 } }, 'RF power')?.half).toBeCloseTo(0.03, 9)
    expect(aimOf({ slot: { ...POWER_SLOT, aimLabel: '' } }, 'RF power')).toBeNull()
  })
})

describe('a meter that a person reads', () => {
  test('is read 2.5 s after the key went down, and typed 1.5 s or more after it came up', async () => {
    const one = stage(() => 3.62)
    await keyed(one)
    await one.run(20_000, { technique: 'check' })
    expect(one.typed()).toMatchObject([{ kind: 'type in', quantity: 'RF power', text: '3.60 W' }])
    expect(one.typed()[0]).not.toHaveProperty('sure')
    const [, up] = one.bench.set.done.filter(({ what }) => what.startsWith('key'))
    const typedMs = one.bench.asked.at(-1)?.atMs ?? 0
    expect(up?.what).toBe('key up')
    expect((up?.atMs ?? 0) - 1000).toBeGreaterThan(2500)
    expect(typedMs - (up?.atMs ?? 0)).toBeGreaterThanOrEqual(1500)
    expect(one.bench.hand.turned).toEqual({})
  })

  test('that shows nothing is not typed, and the key comes up before its 15 s are over', async () => {
    const one = stage(() => 0, { show: () => '---' })
    await keyed(one)
    await one.run(40_000, { technique: 'check' })
    expect(one.typed()).toEqual([])
    expect(one.longestS()).toBeGreaterThan(10)
    expect(one.longestS()).toBeLessThan(15)
  })

  test('asked whether it is ten times off, the hand keys, looks again, and is sure when the display still says so', async () => {
    const one = stage(() => 39)
    await keyed(one)
    await one.run(20_000, { technique: 'check' })
    one.bench.hand.onAnswer({ id: 'hand-1', asksBack: true })
    const keyDowns = () => one.bench.set.done.filter(({ what }) => what === 'key down').length
    expect(keyDowns()).toBe(1)
    await one.run(60_000, { technique: 'check' })
    expect(keyDowns()).toBe(2)
    expect(one.typed()[1]).toMatchObject({ text: '39.00 W', sure: true })
  })

  test('and is not sure when the display says something else now', async () => {
    let watts = 39
    const one = stage(() => watts)
    await keyed(one)
    await one.run(20_000, { technique: 'check' })
    watts = 3.9
    one.bench.hand.onAnswer({ id: 'hand-1', asksBack: true })
    await one.run(60_000, { technique: 'check' })
    expect(one.typed()[1]).toMatchObject({ text: '3.90 W' })
    expect(one.typed()[1]).not.toHaveProperty('sure')
  })

  test.each([1, 2, 3, 4, 5])('PW is turned to the aim of 3.85 W on the display itself, chance %i', async (seed) => {
    const one = stage(({ set }) => 8.46 * set.positions.PW, { seed })
    one.bench.set.positions.PW = 0.52
    await keyed(one)
    await one.run(300_000, { technique: 'set', adjuster: 'PW' }, POWER_SLOT)
    expect(one.typed()).toMatchObject([{ text: '3.85 W' }])
    expect(one.bench.set.now).toEqual({ key: false, hand: null })
    expect(one.longestS()).toBeLessThan(15)
  })

  test.each([1, 2, 3, 4, 5, 6])('the top of DK is found by eye within 0.06 dB, chance %i', async (seed) => {
    const off = 0.45
    const one = stage(({ set }) => 5.3 / (1 + (1.1 * (set.positions.DK - off)) ** 2), { seed })
    await keyed(one)
    await one.run(600_000, { technique: 'peak', adjuster: 'DK' })
    expect(one.typed()).toHaveLength(1)
    const dB = 10 * Math.log10(1 + (1.1 * (one.bench.set.positions.DK - off)) ** 2)
    expect(dB).toBeLessThan(0.06)
    expect(['5.30 W', '5.25 W']).toContain(one.typed()[0]?.text)
    expect(one.longestS()).toBeLessThan(15)
    expect(one.bench.set.now).toEqual({ key: false, hand: null })
  })

  test.each([1, 2, 3, 4])(
    'a set that loses 5 %% while it grows warm ends within 0.1 dB of the top too, chance %i',
    async (seed) => {
      const off = -0.5
      const warmed = (ms: number) => 1 - 0.05 * Math.min(1, ms / 60_000)
      const one = stage(
        ({ set, clock }) => (5.3 * warmed(clock.nowMs())) / (1 + (1.1 * (set.positions.DK - off)) ** 2),
        { seed },
      )
      await keyed(one)
      await one.run(600_000, { technique: 'peak', adjuster: 'DK' })
      expect(one.typed()).toHaveLength(1)
      expect(10 * Math.log10(1 + (1.1 * (one.bench.set.positions.DK - off)) ** 2)).toBeLessThan(0.1)
    },
  )

  test.each(['found', 'left'] as const)('as %s nothing is turned, whatever the technique', async (pass) => {
    const one = stage(({ set }) => 3 + set.positions.PW)
    await keyed(one)
    await one.run(30_000, { technique: 'set', adjuster: 'PW', pass }, POWER_SLOT)
    expect(one.typed()).toHaveLength(1)
    expect(one.bench.hand.turned).toEqual({})
  })

  test("the largest of a whistle into the set's own microphone is typed, and the whistle ends with the key", async () => {
    const kHz = [1.2, 1.83, 1.4]
    const one = stage(({ clock }) => kHz[Math.floor(clock.nowMs() / 2000) % 3] ?? 0, {
      quantity: 'FM deviation',
      show: (value) => `${value.toFixed(2)} / ${(value - 0.1).toFixed(2)} kHz`,
    })
    await keyed(one)
    await one.run(20_000, { technique: 'highest', where: placesIn({ microphone: { holds: 'own' } }) })
    expect(one.typed()).toMatchObject([{ quantity: 'FM deviation', text: '1.83 / 1.73 kHz' }])
    const what = one.bench.set.done.map((note) => note.what)
    expect(what.filter((note) => /key|whistle/.test(note))).toEqual([
      'key down',
      'whistle true',
      'key up',
      'whistle false',
    ])
  })
})

import { afterEach, expect, test } from 'vitest'
import { type HandBench, handBench } from './hand-kit.ts'

const benches: HandBench[] = []
afterEach(() => {
  for (const bench of benches.splice(0)) bench.stop()
})
function opened(seed?: number): HandBench {
  const bench = handBench(seed)
  benches.push(bench)
  return bench
}

/** Frames of a set-to step on a made-up adjuster: reading = rest + slope x position, a reading every 200 ms, lag 0.1 s. */
function setToStep(
  bench: HandBench,
  about: { slope: number; aim: number; half: number; adjuster: 'VK' | 'PD' | 'RT'; everyMs?: number },
) {
  const { set, clock } = bench
  const everyMs = about.everyMs ?? 200
  let value = about.slope * set.positions[about.adjuster]
  let shownMs = -1
  let arrivedMs = 0
  let insideSince: number | null = null
  let stillSince = 0
  let last = set.positions[about.adjuster]
  return () => {
    const nowMs = clock.nowMs()
    const position = set.positions[about.adjuster]
    if (Math.abs(position - last) > 1e-9) stillSince = nowMs
    last = position
    if (Math.floor(nowMs / everyMs) !== shownMs) {
      shownMs = Math.floor(nowMs / everyMs)
      arrivedMs = nowMs
      value = about.slope * position
    }
    const e = (value - about.aim) / about.half
    const inside = Math.abs(e) < 0.25
    insideSince = inside ? (insideSince ?? nowMs) : null
    const steady = insideSince !== null && nowMs - insideSince > 1500 && nowMs - stillSince > 1500
    return {
      state: steady
        ? ('steady' as const)
        : inside
          ? ('in' as const)
          : Math.abs(e) <= 1
            ? ('in' as const)
            : Math.abs(e) > 2.5
              ? ('far' as const)
              : ('near' as const),
      more: {
        step: { adjuster: about.adjuster },
        guide: {
          way: inside ? ('hold' as const) : e > 0 ? ('down' as const) : ('up' as const),
          hands: inside ? ('off' as const) : ('on' as const),
        },
        value,
        e,
        arrivedMs,
      },
    }
  }
}

test.each([
  { slope: 0.8, aim: -0.3, half: 0.2, adjuster: 'VK' as const, turns: 1.2 },
  { slope: -0.8, aim: 0.4, half: 0.2, adjuster: 'VK' as const, turns: 1.4 },
  { slope: 3876, aim: 1800, half: 175, adjuster: 'PD' as const, turns: 1.1 },
  { slope: -6200, aim: -600, half: 150, adjuster: 'RT' as const, turns: 0.4, everyMs: 1000 },
])(
  'set-to on $adjuster with $slope per unit ends steady in the aim window within 40 s, without wandering',
  async (about) => {
    for (const seed of [1, 2, 3, 4, 5, 6]) {
      const bench = opened(seed)
      const make = setToStep(bench, about)
      let steadyAtMs: number | null = null
      await bench.showing(40_000, () => {
        const frame = make()
        if (frame.state === 'steady') steadyAtMs ??= bench.clock.nowMs()
        return frame
      })
      expect(steadyAtMs).not.toBeNull()
      expect(Math.abs(about.slope * bench.set.positions[about.adjuster] - about.aim) / about.half).toBeLessThan(0.3)
      expect(bench.hand.turned[about.adjuster] ?? 0).toBeLessThan(about.turns)
      expect(bench.set.now.hand).toBeNull()
    }
  },
)

/** Frames of a peak guide on a made-up coil: -0.1 dB at 0.14 turn either way, top at `top`. */
function peakStep(bench: HandBench, top: number) {
  const { set } = bench
  const start = -0.1 * (top / 0.14) ** 2
  let best = Number.NEGATIVE_INFINITY
  let passed = false
  let found = false
  return () => {
    const db = -0.1 * ((set.positions.DK - top) / 0.14) ** 2
    best = Math.max(best, db)
    const below = best - db
    const wrongWay = below > 0.2 && best < start + 0.05
    if (below > 0.2 && !wrongWay) passed = true
    if (passed && below < 0.05) found = true
    if (found && below > 0.08) found = false
    const state = found
      ? ('at best' as const)
      : below > 0.2 && !wrongWay
        ? ('passed over' as const)
        : passed
          ? ('return' as const)
          : ('climb' as const)
    const way = found ? ('hold' as const) : below > 0.2 ? ('back' as const) : ('up' as const)
    return {
      state,
      more: {
        step: { technique: 'peak' as const, adjuster: 'DK' },
        guide: { way, hands: found ? ('off' as const) : ('on' as const) },
        value: 5 * 10 ** (db / 10),
        belowDb: below,
      },
    }
  }
}

test('over a top the hand goes on, turns back when told, and ends within 0.1 dB with the tool out, from either side', async () => {
  for (const seed of [1, 2, 3, 4, 5, 6, 7, 8]) {
    const bench = opened(seed)
    const top = seed % 2 === 0 ? 0.4 : -0.4
    await bench.showing(60_000, peakStep(bench, top))
    expect(0.1 * ((bench.set.positions.DK - top) / 0.14) ** 2).toBeLessThan(0.1)
    expect(bench.set.now.hand).toBeNull()
    expect(bench.hand.turned.DK ?? 0).toBeLessThan(2.5)
    expect(bench.hand.turned.DK ?? 0).toBeGreaterThan(0.5)
  }
})

test('a turn back costs the play of the tool: the adjuster moves less than the tool', async () => {
  const bench = opened(3)
  await bench.showing(6000, () => ({
    state: 'climb',
    more: { step: { technique: 'peak', adjuster: 'DK' }, guide: { way: 'up' }, value: 1, belowDb: 0 },
  }))
  const before = bench.set.positions.DK
  const sign = Math.sign(before)
  const positions: number[] = []
  await bench.showing(2000, () => {
    positions.push(bench.set.positions.DK)
    return {
      state: 'passed over',
      more: { step: { technique: 'peak', adjuster: 'DK' }, guide: { way: 'back' }, value: 1, belowDb: 0.3 },
    }
  })
  const furthest = Math.max(...positions.map((position) => sign * position))
  const atRest = positions.filter((position) => Math.abs(sign * position - furthest) < 1e-9)
  expect(atRest.length).toBeGreaterThanOrEqual(2)
  expect(sign * bench.set.positions.DK).toBeLessThan(furthest)
})

test('slugs are turned at 0.06 to 0.15 turn a second', async () => {
  for (const seed of [1, 2, 3, 4]) {
    const bench = opened(seed)
    await bench.showing(10_000, () => ({
      state: 'climb',
      more: { step: { technique: 'peak', adjuster: 'OK' }, guide: { way: 'up' }, value: 1, belowDb: 0 },
    }))
    const perS = (bench.hand.turned.OK ?? 0) / ((bench.hand.busyMs().at(-1)?.[1] ?? 0) / 1000 - 2)
    expect(perS).toBeGreaterThan(0.05)
    expect(perS).toBeLessThan(0.16)
  }
})

import { describe, expect, test } from 'vitest'
import { peakRule, resumePeak, watchPeak } from '../../../src/core/peaking/peak.ts'
import { type PeakRule, type PeakWatch, startPeak } from '../../../src/core/peaking/peak-watch.ts'
import { nudgeRule, nudgeS } from '../../../src/core/peaking/step-and-wait.ts'

const rule = peakRule({ sigmaDb: 0.01, latencyS: 2 })

describe('the mode', () => {
  test.each([
    [0.02, 0.3, true],
    [0.02, 0.5, true],
    [0.02, 0.6, false],
    [0.06, 0.3, true],
    [0.1, 0.3, false],
  ])('a meter of %d dB noise and %d s latency is turned by: %s', (sigmaDb, latencyS, continuous) => {
    expect(peakRule({ sigmaDb, latencyS }).continuous).toBe(continuous)
  })

  test('0.4 dB of noise wants 16 readings a place and 0.6 dB down on both sides, 0.02 dB wants 4 and 0.2 dB', () => {
    expect(nudgeRule(0.4)).toMatchObject({ readings: 16, dropDb: expect.closeTo(0.6, 9) })
    expect(nudgeRule(0.02)).toMatchObject({ readings: 4, dropDb: 0.2 })
  })
})

/** A hand that makes each nudge at once and exactly, on a top of `loss` dB at `place` tenths of a turn. */
function rock(
  start: number,
  loss: (place: number) => number,
  more: { readonly rule?: PeakRule; readonly most?: number } = {},
) {
  const meter = more.rule ?? rule
  let place = start
  let way = 1
  let obeyed = 0
  let watch: PeakWatch = startPeak()
  const orders: string[] = []
  for (let index = 0; index < (more.most ?? 4000) && watch.phase !== 'at best'; index++) {
    const { order } = watch.memory.nudging
    if (order.number > obeyed) {
      obeyed = order.number
      if (order.back) way = -way
      place += way * order.size
      orders.push(`${order.back ? 'back' : 'on'} ${order.size}`)
    }
    watch = watchPeak(watch, { atS: index * 0.25, value: 5 * 10 ** (-loss(place) / 10), heating: false }, meter)
  }
  return { watch, place, orders }
}

const top = (place: number) => 0.1 * (place / 1.4) ** 2

describe('nudge, wait, count, halve', () => {
  test('from 0.8 turn below: on over the top to 0.2 dB down, back to the middle', () => {
    const { watch, place, orders } = rock(-8, top)
    expect(watch.phase).toBe('at best')
    expect(Math.abs(place)).toBeLessThan(0.3)
    expect(orders.filter((order) => order.startsWith('back'))).toHaveLength(1)
    expect(watch.bestValue).toBeCloseTo(5, 2)
  })

  test('from 0.05 turn beside the top: down one side, back over it to the same drop, and half way back', () => {
    const { watch, place, orders } = rock(0.5, top)
    expect(watch.phase).toBe('at best')
    expect(Math.abs(place)).toBeLessThan(0.3)
    expect(orders.filter((order) => order.startsWith('back'))).toHaveLength(2)
  })

  test('begun the wrong way it is sent back after 0.2 dB, not before', () => {
    const { orders, place } = rock(4, top)
    expect(orders[0]).toBe('on 1')
    expect(orders[1]).toMatch(/^back/)
    expect(Math.abs(place)).toBeLessThan(0.3)
  })

  test('where it rises by more than 0.4 dB a nudge the next one is double', () => {
    expect(rock(-14, top).orders).toContain('on 2')
    expect(rock(-3, top).orders).not.toContain('on 2')
  })

  test('a top that is not the same on both sides: the middle of its flanks costs less than 0.02 dB', () => {
    const skewed = (place: number) => (place < 0 ? 0.1 * (place / 1.4) ** 2 : 0.1 * (place / 2) ** 2)
    expect(skewed(rock(-6, skewed).place)).toBeLessThan(0.02)
  })

  test('no place is read before its 2 s of latency, and after a nudge the hand has 2 s', () => {
    let watch = startPeak()
    const until = (phase: PeakWatch['phase'], fromS: number) => {
      for (let atS = fromS; atS < 30; atS += 0.25) {
        watch = watchPeak(watch, { atS, value: 5, heating: false }, rule)
        if (watch.phase === phase) return atS
      }
      return Number.NaN
    }
    const askedS = until('nudge', 0)
    expect(askedS).toBeCloseTo(2, 6)
    expect(until('wait', askedS + 0.25)).toBeCloseTo(askedS + 2, 6)
    expect(until('nudge', askedS + 2.25)).toBeGreaterThanOrEqual(askedS + 4)
  })

  test('a meter that still creeps by 0.05 dB in a second is waited for', () => {
    let watch = startPeak()
    for (let index = 0; index < 20; index++)
      watch = watchPeak(watch, { atS: index * 0.25, value: 10 ** (index * 0.0125 * 0.1 * 4), heating: false }, rule)
    expect(watch.phase).toBe('wait')
  })

  test('two tenths of a turn and a half take a hand 3.5 s', () => {
    expect(nudgeS({ number: 1, size: 2.5, back: false })).toBeCloseTo(3.5, 9)
  })
})

describe('key-ups', () => {
  const asked = rock(-8, top, { most: 30 }).watch

  test('a nudge that was asked for has been made with the key up: the first reading afterwards is of the new place', () => {
    const nudged = {
      ...asked,
      phase: 'nudge' as const,
      memory: { ...asked.memory, nudging: { ...asked.memory.nudging, askedAtS: 5 } },
    }
    const keyed = resumePeak(nudged)
    expect(keyed.phase).toBe('nudge')
    expect(watchPeak(keyed, { atS: 40, value: 4, heating: true }, rule).phase).toBe('wait')
    expect(keyed.memory.nudging).toMatchObject({ order: asked.memory.nudging.order, at: asked.memory.nudging.at })
  })

  test('a place that was half read is read anew, what was counted stays', () => {
    const keyed = resumePeak(asked)
    expect(keyed.memory.nudging.read).toHaveLength(0)
    expect(keyed.memory.nudging.sweep).toEqual(asked.memory.nudging.sweep)
    expect(keyed.bestDb).toBe(asked.bestDb)
  })
})

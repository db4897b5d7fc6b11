import { describe, expect, test } from 'vitest'
import type { LiveState } from '../../../src/schema/messages/shown.ts'
import { viewOf } from '../../../web/view/view.ts'
import { frame, MADE_MS, POWER_BAND } from '../frame-parts.ts'
import { FIXTURES } from '../frames.ts'

const NOW_MS = MADE_MS + 50

const of = (state: LiveState) => viewOf(FIXTURES[state], NOW_MS)

describe('the peg', () => {
  const band = (peg: { e: number; halfE: number; drop?: number }, state: LiveState = 'near') =>
    viewOf(frame({ state, peg: { ragged: 0, drop: 0, ...peg } }), NOW_MS).gauge

  test('is never thinner than 6 mm, 22.7 px of an axis of 1000 px', () => {
    const peg = band({ e: 3, halfE: 0.001 })?.peg
    expect(((peg?.to ?? 0) - (peg?.from ?? 0)) * 500).toBeCloseTo((6 / 25.4) * 96, 6)
  })

  test('inside, its sides stand at e - halfE and e + halfE', () => {
    const peg = band({ e: 0.1, halfE: 0.5 }, 'in')?.peg
    expect(peg?.from).toBeCloseTo(Math.asinh(1.5 * -0.4) / Math.asinh(18), 12)
    expect(peg?.to).toBeCloseTo(Math.asinh(1.5 * 0.6) / Math.asinh(18), 12)
  })

  test.each([0.99, -0.99])('clear of the wall at e = %f it is drawn clear of it, though wider than it is', (e) => {
    const peg = band({ e, halfE: 0.002 }, 'in')?.peg
    expect(Math.max(-(peg?.from ?? 9), peg?.to ?? 9)).toBeLessThanOrEqual(1 / 3 + 1e-12)
  })

  test('outside, its side toward the slot is true: with e = 1.5, halfE = 0.45 it does not touch', () => {
    expect(band({ e: 1.5, halfE: 0.45 })?.peg?.from).toBeCloseTo(Math.asinh(1.5 * 1.05) / Math.asinh(18), 12)
    expect(band({ e: -1.5, halfE: 0.45 })?.peg?.to).toBeCloseTo(-Math.asinh(1.5 * 1.05) / Math.asinh(18), 12)
  })

  test.each([12, -12, 30, -2000])('at e = %f it is whole on the screen', (e) => {
    const peg = band({ e, halfE: 0.5 }, 'far')?.peg
    expect(peg?.from).toBeGreaterThanOrEqual(-1)
    expect(peg?.to).toBeLessThanOrEqual(1)
    expect((peg?.to ?? 0) - (peg?.from ?? 0)).toBeGreaterThan(0.04)
  })

  test('stands on the ground outside, sinks a little when in, and to the floor when captured', () => {
    expect(band({ e: 1.2, halfE: 0.1 })?.peg?.depth).toBe(0)
    expect(band({ e: 0.5, halfE: 0.1 }, 'in')?.peg?.depth).toBeCloseTo(0.22, 12)
    expect(of('captured').gauge?.peg?.depth).toBe(1)
  })

  test('stays in until 1.08 half-bands once it was in', () => {
    expect(band({ e: 1.07, halfE: 0.1 }, 'in')?.peg?.depth).toBeGreaterThan(0)
    expect(band({ e: 1.09, halfE: 0.1 }, 'in')?.peg?.depth).toBe(0)
    expect(band({ e: 1.07, halfE: 0.1 }, 'near')?.peg?.depth).toBe(0)
  })

  test('wider than the slot it says that the meter is too coarse; touching it says at the edge', () => {
    const second = (e: number, halfE: number) =>
      viewOf(frame({ state: 'in', peg: { e, halfE, ragged: 0, drop: 0 } }), NOW_MS).guide.second
    expect(second(0, 1.1)).toBe('meter too coarse to prove this')
    expect(second(0.7, 0.4)).toBe('in, but within meter doubt of the edge')
    expect(second(0.1, 0.4)).toBe('')
  })

  test.each([
    [8, '4 bands too high'],
    [-8, '4 bands too low'],
    [2, '½ band too high'],
    [-1.1, 'a hair too low'],
    [3.2, '1 band too high'],
    [-300, 'far too low'],
  ])('at e = %f says "%s"', (e, words) => {
    expect(band({ e, halfE: 0.1 }, 'far')?.distance).toBe(words)
  })

  test('beyond 12 half-bands the picture says how far it is zoomed out', () => {
    expect(band({ e: 11.9, halfE: 0.1 }, 'far')?.zoomWords).toBe('')
    expect(band({ e: 13, halfE: 0.1 }, 'far')?.zoomWords).toBe('zoomed out ×3')
    expect(band({ e: 200, halfE: 0.1 }, 'far')?.zoomWords).toBe('zoomed out ×125')
  })
})

describe('the slot', () => {
  test('a band open below has no left wall and no aim: "at most 0.5 uV"', () => {
    const slot = { ...POWER_BAND, openLow: true, lowLabel: 'x', highLabel: '0.5 µV' }
    const view = viewOf(frame({ state: 'in', slot, peg: { e: -6, halfE: 0.2, ragged: 0, drop: 0 } }), NOW_MS)
    expect(view.gauge).toMatchObject({ left: null, right: expect.closeTo(1 / 3, 12), lowLabel: '', aim: null })
    expect(view.gauge?.peg?.depth).toBeGreaterThan(0)
    expect(view.gauge?.distance).toBe('')
  })

  test('a rule limit is a wall at its own place', () => {
    const slot = { ...POWER_BAND, wallE: 2, wallLabel: '4 W rule' }
    const wall = viewOf(frame({ slot }), NOW_MS).gauge?.wall
    expect(wall?.label).toBe('4 W rule')
    expect(wall?.x).toBeCloseTo(Math.asinh(3) / Math.asinh(18), 12)
  })

  test('of a peak hangs dashed until the direction is proved, with the start and the pass-over marked', () => {
    const climb = of('climb').gauge
    expect(climb?.dashed).toBe(true)
    expect(climb?.marks.map(({ label }) => label)).toEqual(['', 'start'])
    expect(climb?.marks[0]?.x).toBeCloseTo(-Math.asinh(1.5 * 4) / Math.asinh(18), 12)
    expect(of('passed over').gauge?.dashed).toBe(false)
  })
})

import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { placeOf, SLOT_EDGE, type Zoom, zoomFactor, zoomFor } from '../../../web/measure/scale.ts'

const ZOOMS = [0, 1, 2, 3] as const satisfies readonly Zoom[]

describe('the axis', () => {
  test.each([0.1, 0.5, 1, 2, 4, 8, 12])('puts e = %f at asinh(1.5 e) / asinh(18) without zoom', (e) => {
    const x = Math.asinh(1.5 * e) / Math.asinh(18)
    expect(placeOf(e, 0)).toBeCloseTo(x, 12)
    expect(placeOf(-e, 0)).toBeCloseTo(-x, 12)
  })

  test.each(ZOOMS)('keeps the slot exactly one third of the width at zoom step %i', (zoom) => {
    expect(placeOf(1, zoom)).toBeCloseTo(1 / 3, 12)
    expect(placeOf(-1, zoom)).toBeCloseTo(-1 / 3, 12)
    expect(SLOT_EDGE).toBeCloseTo(1 / 3, 12)
  })

  test('never turns back and never leaves the screen, for any error and zoom', () => {
    const error = fc.double({ min: -1e6, max: 1e6, noNaN: true })
    fc.assert(
      fc.property(error, error, fc.constantFrom(...ZOOMS), (a, b, zoom) => {
        const [low, high] = a < b ? [a, b] : [b, a]
        expect(placeOf(low, zoom)).toBeLessThanOrEqual(placeOf(high, zoom))
        expect(Math.abs(placeOf(a, zoom))).toBeLessThanOrEqual(1)
      }),
    )
  })
})

describe('zoom steps', () => {
  test.each([
    [12, 0, 1],
    [12.1, 1, 3],
    [40, 1, 3],
    [41, 2, 13],
    [150, 2, 13],
    [151, 3, 125],
    [-151, 3, 125],
  ])('an error of %f half-bands is shown at step %i, zoomed out x%i', (e, zoom, factor) => {
    expect(zoomFor(e, 0)).toBe(zoom)
    expect(zoomFactor(zoomFor(e, 0))).toBe(factor)
  })

  test('noise of 5 % at a limit does not make the axis jump: it comes back below 90 % of the limit', () => {
    expect(zoomFor(11.5, 1)).toBe(1)
    expect(zoomFor(10.7, 1)).toBe(0)
    expect(zoomFor(37, 2)).toBe(2)
    expect(zoomFor(35, 2)).toBe(1)
    expect(zoomFor(2, 3)).toBe(0)
  })
})

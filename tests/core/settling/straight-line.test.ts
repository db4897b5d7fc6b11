import { readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { z } from 'zod'
import { motionsOver } from '../../../src/core/settling/motion.ts'
import { short, startSettling } from '../../../src/core/settling/settling.ts'
import type { Sample } from '../../../src/core/settling/spikes.ts'
import { linesThrough } from '../../../src/core/settling/straight-line.ts'

const XY = z.object({ x: z.array(z.number()), y: z.array(z.number()) })
const nist = z
  .object({ Michelso: z.object({ data: z.array(z.number()) }), Norris: XY, Pontius: XY })
  .parse(JSON.parse(readFileSync(new URL('../../reference/nist_lines.json', import.meta.url), 'utf8')))

function samplesOf(x: readonly number[], y: readonly number[]): Sample[] {
  return x.map((atS, index) => ({ atS, value: y[index] ?? 0, aside: false })).sort((a, b) => a.atS - b.atS)
}

const noise = { sigma: 0, floor: 0, smoothing: 0 }

test('readings that are all alike, from a meter of which nothing is known: no error, and none of it NaN', () => {
  const samples = samplesOf([0, 0.2, 0.4, 0.6, 0.8, 1], [5, 5, 5, 5, 5, 5])
  const [line] = linesThrough(samples, [1], { delta: 1, noise }, 0.2)
  expect(line).toMatchObject({ count: 6, slope: 0, seSlope: 0, seMean: 0, dullness: 1 })
})

describe('residuals that hang together', () => {
  // to and fro in long waves of 0.1 about rest
  const waves = samplesOf(
    Array.from({ length: 21 }, (_, index) => 0.1 * index),
    Array.from({ length: 21 }, (_, index) => 5 + 0.1 * Math.sin(index / 2)),
  )
  const dullness = (sigma: number) =>
    linesThrough(waves, [2], { delta: 1, noise: { ...noise, sigma } }, 0.1)[0]?.dullness ?? Number.NaN

  test('count as fewer where nothing is known of the meter, or where they are larger than its noise', () => {
    expect(dullness(0)).toBeGreaterThan(3)
    expect(dullness(0.02)).toBeGreaterThan(3)
  })

  test('no larger than the noise that the driver states they are taken for noise', () => {
    expect(dullness(0.1)).toBe(1)
  })
})

describe('certified values (NIST StRD)', () => {
  test('Norris: slope 1.00211681802045, residual sd 0.884796396144373, sd of the slope 4.29796848e-4', () => {
    const [line] = linesThrough(samplesOf(nist.Norris.x, nist.Norris.y), [1e4], { delta: 1, noise }, 1e4)
    expect(line?.count).toBe(36)
    expect(line?.slope).toBeCloseTo(1.00211681802045, 10)
    expect(Math.sqrt(line?.variance ?? 0)).toBeCloseTo(0.884796396144373, 8)
    expect((line?.seSlope ?? 0) / (line?.dullness ?? 1)).toBeCloseTo(0.429796848199937e-3, 8)
  })

  test('Pontius: the parabola leaves a sum of squares of 1.55761769e-6', () => {
    const scaled = nist.Pontius.x.map((newtons) => newtons / 1e6)
    const readings = samplesOf(scaled, nist.Pontius.y).map((one, index) => ({ ...one, atS: one.atS + index * 1e-9 }))
    const [motion] = motionsOver(readings, [1e3], 1, 1)
    expect((motion?.crestSquares ?? 0) * 1e6).toBeCloseTo(1.55761768796992, 2)
  })

  test('Michelso: mean 299.8524, sd 0.0790105478190518', () => {
    const samples = samplesOf(
      nist.Michelso.data.map((_, index) => index / 10),
      nist.Michelso.data,
    )
    const figures = short({ ...startSettling(), samples })
    expect(figures?.mean).toBeCloseTo(299.8524, 10)
    expect(figures?.spread).toBeCloseTo(0.0790105478190518, 12)
  })

  test('NumAcc4, the first 199 values: mean 10000000.2 and sd 0.1 survive seven leading digits', () => {
    const data = Array.from({ length: 199 }, (_, index) =>
      index === 0 ? 10000000.2 : index % 2 === 1 ? 10000000.1 : 10000000.3,
    )
    const figures = short({
      ...startSettling(),
      samples: samplesOf(
        data.map((_, index) => index),
        data,
      ),
    })
    expect(figures?.mean).toBeCloseTo(10000000.2, 7)
    expect(figures?.spread).toBeCloseTo(0.1, 7)
  })
})

test('noise of 0.01 behind a drift of 10000 a second is right to 0.3 %', () => {
  const x = Array.from({ length: 60 }, (_, index) => index / 4)
  const wobble = (index: number) => (index % 2 === 0 ? -0.01 : 0.01)
  const variance = (perS: number) => {
    const y = x.map((atS, index) => perS * atS + wobble(index))
    return linesThrough(samplesOf(x, y), [14.75], { delta: 1, noise }, 0.25)[0]?.variance ?? 0
  }
  expect(Math.abs(Math.sqrt(variance(1e4) / variance(0)) - 1)).toBeLessThan(0.003)
})

test('a window that the readings do not fill is left out', () => {
  const samples = samplesOf([0, 0.25, 0.5, 0.75, 1.0, 1.25], [0, 0, 0, 0, 0, 0])
  const lengths = linesThrough(samples, [1, 1.5, 2], { delta: 1, noise: { ...noise, sigma: 0.1 } }, 0.25).map(
    (line) => line.windowS,
  )
  expect(lengths).toEqual([1, 1.25])
})

test('a relaxation of 4 s is recognised: what it will still do in 5 s is right to 1 %', () => {
  const x = Array.from({ length: 41 }, (_, index) => index * 0.25)
  const y = x.map((atS) => 10 * Math.exp(-atS / 4))
  const [motion] = motionsOver(samplesOf(x, y), [10], 1, 5)
  const best = motion?.relaxations.find((one) => one.squares === motion.leastSquares)
  expect((best?.later ?? 0) - (best?.now ?? 0)).toBeCloseTo(10 * Math.exp(-10 / 4) * (Math.exp(-5 / 4) - 1), 2)
  expect(motion?.leastSquares).toBeLessThan(1e-12)
})

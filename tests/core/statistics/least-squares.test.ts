import { describe, expect, test } from 'vitest'
import { lineFromOrigin, lineThrough } from '../../../src/core/statistics/least-squares.ts'
import lines from '../../reference/nist_lines.json' with { type: 'json' }
import origin from '../../reference/nist_through_origin.json' with { type: 'json' }

const pointsOf = ({ x, y }: { readonly x: readonly number[]; readonly y: readonly number[] }) =>
  x.map((one, index) => ({ x: one, y: y[index] ?? Number.NaN }))
const digits = (ours: number, certified: string | number) =>
  -Math.log10(Math.max(Math.abs(ours / Number(certified) - 1), 1e-16))

describe('Norris (NIST StRD, READ)', () => {
  const fitted = lineThrough(pointsOf(lines.Norris))
  const { B, sdB, residual_sd } = lines.Norris.certified
  test.each([
    ['slope', fitted.slope, B[1] ?? '', 14],
    ['intercept', fitted.intercept, B[0] ?? '', 12],
    ['its error', fitted.slopeError, sdB[1] ?? '', 13],
    ['error of the intercept', fitted.interceptError, sdB[0] ?? '', 13],
    ['residual', fitted.residual, residual_sd, 13],
  ] as const)('%s: %d is %s to %d digits', (_, ours, certified, least) => {
    expect(digits(ours, certified)).toBeGreaterThanOrEqual(least)
  })

  test('moved by 27 MHz and 1e9 s, the slope keeps 9 digits', () => {
    const far = pointsOf(lines.Norris).map(({ x, y }) => ({ x: x + 1e9, y: y + 27e6 }))
    expect(digits(lineThrough(far).slope, B[1] ?? '')).toBeGreaterThanOrEqual(9)
  })
})

describe.each(['NoInt1', 'NoInt2'] as const)('%s (NIST StRD, READ), through the origin', (name) => {
  const { certified, residual_sd, ...data } = origin[name]
  const fitted = lineFromOrigin(pointsOf(data))
  test.each([
    ['slope', fitted.slope, certified.B[0] ?? ''],
    ['its error', fitted.slopeError, certified.sdB[0] ?? ''],
    ['residual', fitted.residual, residual_sd],
    ['sum of squares', fitted.residual ** 2 * (data.x.length - 1), certified.residual_ss],
  ] as const)('%s: %d is %s to 13 digits', (_, ours, expected) => {
    expect(digits(ours, expected)).toBeGreaterThanOrEqual(13)
  })
})

test('points that fix no line give NaN, two give a line without errors', () => {
  expect(lineThrough([{ x: 1, y: 2 }]).slope).toBeNaN()
  expect(
    lineThrough([
      { x: 1, y: 2 },
      { x: 1, y: 3 },
    ]).slope,
  ).not.toBe(0)
  expect(
    lineThrough([
      { x: 1, y: 2 },
      { x: 3, y: 6 },
    ]),
  ).toMatchObject({ slope: 2, intercept: 0, residual: Number.NaN })
  expect(lineFromOrigin([]).slope).toBeNaN()
})

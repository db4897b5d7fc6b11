import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import {
  type Budget,
  budgetOfChange,
  combine,
  type Part,
  standardOf,
} from '../../../src/core/uncertainty/uncertainty.ts'
import { published } from '../../kit/program/published.ts'

const part = (name: string, size: number, more: Partial<Part> = {}): Part => ({
  name,
  shape: 'normal',
  size,
  freedom: Infinity,
  shared: null,
  ...more,
})

describe('GUM H.1, the end gauge (inputs and components READ, U99 MEMORY and COMPUTED: uncertainty.json)', () => {
  const { inputs_nm: inputs, components_nm: components, ...results } = published.GUM_H1
  const input = (name: string) => {
    const found = inputs[name]
    if (!found) throw new TypeError(`no input ${name}`)
    return { x: found.x, u: found.u ?? 0, half: found.half_width_uniform ?? 0, dof: found.dof ?? Infinity }
  }
  const length = input('l_s').x
  // d is itself a sum of three; theta is about -0.1 degC, so delta_alpha counts with the root of its mean square
  const d = combine(['d0', 'd1', 'd2'].map((name) => part(name, input(name).u, { freedom: input(name).dof })))
  const budget: Budget = [
    part('standard', input('l_s').u, { freedom: input('l_s').dof }),
    part('comparison', d.standard, { freedom: 25.6 }),
    part('difference of expansion', length * input('theta_bar').x * input('delta_alpha').half, {
      shape: 'rectangular',
      freedom: input('delta_alpha').dof,
    }),
    part('difference of temperature', length * input('alpha_s').x * input('delta_theta').half, {
      shape: 'rectangular',
      freedom: input('delta_theta').dof,
    }),
  ]

  test('the comparison: 9.68 nm with 25.6 degrees of freedom, cut to 25', () => {
    expect(d.standard).toBeCloseTo(components.d ?? 0, 6)
    expect(d.freedom).toBe(25)
  })

  test('each component', () => {
    expect(budget.map((one) => Math.abs(standardOf(one)))).toEqual(
      ['l_s', 'd', 'delta_alpha', 'delta_theta'].map((name) => expect.closeTo(components[name] ?? 0, 5)),
    )
  })

  test('u 31.66 nm (printed 32), 16.75 cut to 16 degrees of freedom, t 2.92, U99 92.48 nm (printed 93)', () => {
    const whole = combine(budget, 0.99)
    expect(whole.standard).toBeCloseTo(results.u_c_nm, 5)
    expect(Math.round(whole.standard)).toBe(32)
    expect(whole.freedom).toBe(Math.floor(results.nu_eff))
    expect(whole.k).toBeCloseTo(results.t99_16, 6)
    expect(whole.expanded).toBeCloseTo(results.U99_nm_unrounded, 4)
    expect(Math.ceil(whole.expanded)).toBe(93)
  })
})

describe('shapes', () => {
  test.each([
    ['normal', 1],
    ['rectangular', Math.sqrt(3)],
    ['U-shaped', Math.SQRT2],
  ] as const)('%s: the size over %d', (shape, divisor) => {
    expect(standardOf(part('a', 3, { shape }))).toBeCloseTo(3 / divisor, 12)
    expect(combine([part('a', 3, { shape })]).expanded).toBeCloseTo((2 * 3) / divisor, 12)
  })

  test('nothing doubtful: no doubt, k 2', () => {
    expect(combine([])).toEqual({ standard: 0, freedom: Infinity, k: 2, expanded: 0 })
    expect(combine([part('a', 0, { freedom: 3 })])).toMatchObject({ expanded: 0, freedom: Infinity })
  })
})

describe('a change, as left less as found', () => {
  const meter = (watts: number) =>
    part('meter accuracy', 0.05 * watts, { shape: 'rectangular', shared: 'accuracy of power' })
  const noise = part('noise of the mean', 0.02)

  test('+1.25 W by a 5 % meter: 0.09 W where the level has 0.2 W', () => {
    const change = combine(budgetOfChange([meter(2.25), noise], [meter(3.5), noise]))
    expect(change.standard).toBeCloseTo(Math.hypot((0.05 * 1.25) / Math.sqrt(3), 0.02 * Math.SQRT2), 12)
    expect(change.expanded).toBeCloseTo(0.0917, 3)
    expect(combine([meter(3.5), noise]).expanded).toBeCloseTo(0.206, 3)
  })

  test('equal shared parts are gone, the rest stays twice', () => {
    expect(combine(budgetOfChange([meter(3), noise], [meter(3), noise])).standard).toBeCloseTo(0.02 * Math.SQRT2, 12)
  })

  test('another meter, or no common cause: nothing cancels', () => {
    const other = { ...meter(3), shared: 'accuracy of older' }
    const both = Math.hypot((0.05 * 3) / Math.sqrt(3), (0.05 * 3) / Math.sqrt(3))
    expect(combine(budgetOfChange([meter(3)], [other])).standard).toBeCloseTo(both, 12)
    expect(
      combine(budgetOfChange([{ ...meter(3), shared: null }], [{ ...meter(3), shared: null }])).standard,
    ).toBeCloseTo(both, 12)
  })
})

const anyPart = fc.record({
  name: fc.constant('any'),
  shape: fc.constantFrom('normal', 'rectangular', 'U-shaped'),
  size: fc
    .tuple(fc.constantFrom(-1, 0, 1), fc.double({ min: -12, max: 3, noNaN: true }))
    .map(([sign, ten]) => sign * 10 ** ten),
  freedom: fc.oneof(fc.integer({ min: 1, max: 200 }), fc.constant(Infinity)),
  shared: fc.constant(null),
}) as fc.Arbitrary<Part> // the shapes are those of the type
const anyBudget = fc.array(anyPart, { minLength: 1, maxLength: 8 })

describe('for any budget', () => {
  test('neither u nor U is below any part, nor above their sum', () => {
    fc.assert(
      fc.property(anyBudget, (budget) => {
        const { standard, expanded } = combine(budget)
        const sizes = budget.map((one) => Math.abs(standardOf(one)))
        expect(standard).toBeGreaterThanOrEqual(Math.max(...sizes) * (1 - 1e-12))
        expect(expanded).toBeGreaterThanOrEqual(2 * Math.max(...sizes) * (1 - 1e-12))
        expect(standard).toBeLessThanOrEqual(sizes.reduce((sum, one) => sum + one, 0) * (1 + 1e-12))
      }),
    )
  })

  test('the degrees of freedom lie between the least and the sum of all (GUM G.4)', () => {
    fc.assert(
      fc.property(anyBudget, (budget) => {
        const telling = budget.filter((one) => Math.abs(one.size) > 1e-6)
        const { freedom } = combine(telling)
        expect(freedom).toBeGreaterThanOrEqual(Math.min(Infinity, ...telling.map((one) => one.freedom)))
        const sum = telling.reduce((so, one) => so + one.freedom, 0)
        if (telling.length > 0) expect(freedom).toBeLessThanOrEqual(sum)
      }),
    )
  })

  test('order does not matter, and a unit a million times smaller gives a million times the figure', () => {
    fc.assert(
      fc.property(anyBudget, (budget) => {
        const whole = combine(budget)
        expect(combine(budget.toReversed()).standard).toBeCloseTo(whole.standard, 8)
        const micro = combine(budget.map((one) => ({ ...one, size: one.size * 1e6 })))
        expect(micro.standard).toBeCloseTo(whole.standard * 1e6, 1)
        expect(micro.k).toBeCloseTo(whole.k, 3)
      }),
    )
  })

  test('a change by a shared cause is never less sure than by separate ones of the same sign', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 10, noNaN: true }), fc.double({ min: 0, max: 10, noNaN: true }), (a, b) => {
        const one = (size: number, shared: string | null) => [part('scale', size, { shared })]
        const together = combine(budgetOfChange(one(a, 'meter'), one(b, 'meter'))).standard
        expect(together).toBeLessThanOrEqual(combine(budgetOfChange(one(a, null), one(b, null))).standard + 1e-12)
        expect(together).toBeCloseTo(Math.abs(a - b), 12)
      }),
    )
  })
})

import { describe, expect, test } from 'vitest'
import type { SupplyReadBack } from '../../../src/instrument/supply-port.ts'
import { sniffAt, sniffed, sniffedEnough } from '../../../src/keeper/rules/keeper-sniff.ts'
import type { Plan } from '../../../src/keeper/rules/keeper-state.ts'
import { look, supplyModel } from '../supply-model.ts'

const STEP = { do: 'sniff', volts: 3, amps: 0.1 } as const
const plan = (looks = 0) => ({ sinceMs: 1000, looks }) as Plan

/** A look so many ms after the first output was switched on. */
function seen(afterMs: number, changes: Partial<SupplyReadBack> = {}): SupplyReadBack {
  const at = { beganMs: 1000 + afterMs, atMs: 1010 + afterMs }
  return { ...look(supplyModel(), 0, 1), ...at, output: 'on', regulation: 'voltage', volts: 3, amps: 0.04, ...changes }
}
const isRefused = (...args: Parameters<typeof sniffed>) => typeof sniffed(...args) !== 'number'

describe('the first output with a radio on it', () => {
  test('is 3 V and 0.1 A, and never more than what is wanted', () => {
    expect(sniffAt({ volts: 13.8, amps: 2.5 })).toEqual({ volts: 3, amps: 0.1 })
    expect(sniffAt({ volts: 2, amps: 0.05 })).toEqual({ volts: 2, amps: 0.05 })
  })

  test('current of 0.08 A and more, or a supply in current limit, is a short from 0.2 s on; before that capacitors fill up', () => {
    expect(isRefused(STEP, plan(), seen(200, { amps: 0.08 }))).toBe(true)
    expect(isRefused(STEP, plan(), seen(199, { amps: 0.08 }))).toBe(false)
    expect(isRefused(STEP, plan(), seen(200, { amps: 0.0799 }))).toBe(false)
    expect(isRefused(STEP, plan(), seen(200, { regulation: 'current' }))).toBe(true)
    expect(sniffed({ ...STEP, amps: 0.05 }, plan(), seen(200, { amps: 0.041 }))).toMatchObject({ code: 'KEEPER_SHORT' })
    expect(isRefused({ ...STEP, amps: 0.05 }, plan(), seen(200, { amps: 0.039 }))).toBe(false)
  })

  test('volts below eight tenths are missing from 0.7 s on', () => {
    expect(isRefused(STEP, plan(), seen(700, { volts: 2.39 }))).toBe(true)
    expect(isRefused(STEP, plan(), seen(699, { volts: 2.39 }))).toBe(false)
    expect(isRefused(STEP, plan(), seen(700, { volts: 2.41 }))).toBe(false)
  })

  test('a good look has the volts and no current; one that has not begins the count anew', () => {
    expect(sniffed(STEP, plan(1), seen(100))).toBe(2)
    expect(sniffed(STEP, plan(1), seen(100, { volts: 2.9 }))).toBe(0)
    expect(sniffed(STEP, plan(1), seen(100, { amps: 0.09 }))).toBe(0)
  })

  test('two good looks, and 0.3 s, are enough', () => {
    expect(sniffedEnough(2, plan(), seen(300))).toBe(true)
    expect(sniffedEnough(1, plan(), seen(300))).toBe(false)
    expect(sniffedEnough(2, plan(), seen(299))).toBe(false)
  })
})

import { describe, expect, test } from 'vitest'
import type { Unit } from '../../../src/quantity/quantity.ts'
import { readRowUnit, toKept, toSpoken } from '../../../src/schema/files/row-unit.ts'

describe('a unit that an instrument speaks goes into the one that is kept, and back', () => {
  test.each<[string, Unit, number, number]>([
    ['W', 'W', 3.85, 3.85],
    ['mW', 'W', 3850, 3.85],
    ['kHz', 'Hz', 1.8, 1800],
    ['%', 'ratio', 85, 0.85],
    ['uV', 'V', 0.25, 0.25e-6],
    ['dBm', 'W', 30, 1],
    ['dBm', 'W', -30, 1e-6],
    ['ratio', 'ratio', 0.85, 0.85],
  ])('%s for %s: %d is %d', (text, unit, spoken, kept) => {
    const row = readRowUnit(text, unit)
    if (!row.ok) throw new TypeError(row.refused)
    expect(toKept(row.value, spoken)).toBeCloseTo(kept, 12)
    expect(toSpoken(row.value, kept)).toBeCloseTo(spoken, 9)
  })
})

describe('a unit of something else is refused', () => {
  test.each<[string, Unit]>([
    ['V', 'W'],
    ['dBm', 'Hz'],
    ['dBm', 'V'],
    ['furlong', 'Hz'],
    ['', 'Hz'],
  ])('%s for %s', (text, unit) => {
    expect(readRowUnit(text, unit)).toMatchObject({ ok: false })
  })
})

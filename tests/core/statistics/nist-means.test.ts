import { readFileSync } from 'node:fs'
import { expect, test } from 'vitest'
import { z } from 'zod'
import { short, startSettling } from '../../../src/core/settling/settling.ts'

const OneSet = z.object({ mean: z.number(), sd: z.number(), data: z.array(z.number()).optional() })
const Sets = z.record(z.string(), z.union([z.string(), OneSet]))
const sets = Sets.parse(JSON.parse(readFileSync(new URL('../../reference/nist_means.json', import.meta.url), 'utf8')))

/** NumAcc2, 3 and 4 are given by a rule: the first value, then 500 times a tenth below and a tenth above it. */
function numAcc(first: number): number[] {
  const tenths = Math.round(first * 10)
  return [first, ...Array.from({ length: 1000 }, (_, index) => (tenths + (index % 2 === 0 ? -1 : 1)) / 10)]
}

/** Digits of the certified mean and standard deviation that come out, at most 15. */
const digits = (ours: number, certified: number) =>
  ours === certified ? 15 : Math.min(15, -Math.log10(Math.abs(ours - certified) / Math.abs(certified)))

// what is left of sixteen digits: those of the standard deviation that the level has not eaten
test.each([
  ['Lew', 200, 14, 14],
  ['Lottery', 218, 14, 14],
  ['Mavro', 50, 14, 12.5],
  ['Michelso', 100, 14, 13],
  ['PiDigits', 5000, 14, 14],
  ['NumAcc1', 3, 15, 15],
  ['NumAcc2', 1001, 14, 14],
  ['NumAcc3', 1001, 14, 9],
  ['NumAcc4', 1001, 14, 8],
] as const)('%s (NIST StRD, %d values): mean to %d digits, standard deviation to %d', (name, count, ofMean, ofSd) => {
  const set = sets[name]
  if (typeof set !== 'object') throw new TypeError(`no set ${name}`)
  const data = set.data ?? numAcc(set.mean)
  const samples = data.map((value, atS) => ({ atS, value, aside: false }))
  const figures = short({ ...startSettling(), samples })
  expect(figures?.count).toBe(count)
  expect(digits(figures?.mean ?? 0, set.mean)).toBeGreaterThanOrEqual(ofMean)
  expect(digits(figures?.spread ?? 0, set.sd)).toBeGreaterThanOrEqual(ofSd)
})

import fc from 'fast-check'
import { expect, test } from 'vitest'
import { shrink } from './shrink.ts'

test('what is left is what it takes, in order, and nothing else', async () => {
  const list = fc.uniqueArray(fc.integer({ min: 0, max: 40 }), { minLength: 1, maxLength: 14 })
  await fc.assert(
    fc.asyncProperty(list, fc.infiniteStream(fc.boolean()), async (all, chosen) => {
      const needed = all.filter(() => chosen.next().value === true)
      const fails = async (some: readonly number[]) => needed.every((one) => some.includes(one))
      expect(await shrink(all, fails)).toEqual(needed)
    }),
  )
})

test('no single entry can be left out of what comes back, also where several lists would do', async () => {
  const fails = async (some: readonly number[]) => some.reduce((sum, one) => sum + one, 0) >= 10
  const small = await shrink([3, 1, 4, 1, 5, 9, 2, 6], fails)
  expect(await fails(small)).toBe(true)
  for (const at of small.keys()) expect(await fails(small.filter((_, index) => index !== at))).toBe(false)
})

test('a list that fails whatever is in it comes back empty', async () => {
  expect(await shrink([1, 2, 3], async () => true)).toEqual([])
})

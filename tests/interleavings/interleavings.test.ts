import { expect, test } from 'vitest'
import { runSeeds, toldFirst } from './batch.ts'
import { FOUND, FOUND_SEEDS } from './found.ts'
import { runTrial, trialOf } from './trial.ts'

const SEEDS = Array.from({ length: 60 }, (_, at) => at + 1)

test('sixty runs by chance break no rule', { timeout: 60_000 }, async () => {
  const { runs, broken } = await runSeeds(SEEDS)
  expect(await toldFirst(broken, 3)).toEqual([])
  expect(runs).toBe(SEEDS.length)
})

test.each(FOUND.map((one) => [`${one.item}: ${one.fault}`, one.events] as const))('%s', async (_, events) => {
  for (const seed of FOUND_SEEDS) expect((await runTrial({ seed, events })).violations).toEqual([])
})

test('the same seed is the same run to the last step of the supply', async () => {
  const first = await runTrial(trialOf(7))
  const again = await runTrial(trialOf(7))
  expect(again).toEqual(first)
  expect(first.trace.filter((line) => line.includes('supply on'))).not.toEqual([])
})

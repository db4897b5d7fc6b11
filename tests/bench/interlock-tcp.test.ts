import { expect, test } from 'vitest'
import { openSimulatedBench } from '../../mocks/simulated-bench.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { bothSides, WEAK } from '../kit/job/both-sides.ts'
import { never } from '../kit/links/instrument-deps.ts'

/** Real sockets and a real clock; the radio's own supply, generator and meters behind them. */
async function overTcp() {
  const clock = realClock({ times: 1, originMs: performance.timeOrigin })
  const world = await openSimulatedBench({
    clock,
    rng: seededRng(5),
    log: silentLog,
    links: 'real',
    signal: never(),
    seed: null,
    kind: 'both-sides',
  })
  const sides = await bothSides(world, { clock })
  const until = async (done: () => boolean) => {
    for (let turn = 0; turn < 400 && !done(); turn += 1) await clock.sleepUntil(clock.nowMs() + 25, never())
    return done()
  }
  const { generator } = world
  if (!generator) throw new TypeError('a generator stands here')
  return {
    ...sides,
    generator,
    until,
    close: async () => {
      await sides.close()
      await world.close()
    },
  }
}

test('over TCP: nothing is keyed into a generator that is silent, and a key into one that is on takes RF and supply away', async () => {
  const { world, bench, generator, until, said, wish, feed, close } = await overTcp()
  expect(world.addresses.generator).toMatch(/^tcp:\/\/127\.0\.0\.1:\d+$/)
  const one = await wish()
  world.faults.set('generator', 'silent')
  await expect(one.set(13.8, 2.5)).rejects.toMatchObject({ code: 'BENCH_GENERATOR_ON' })
  expect(world.supplyTruth().output).toBe('off')
  world.faults.clear('generator')
  expect(await until(() => bench.instruments().find(({ name }) => name === 'generator')?.up === true)).toBe(true)
  await feed(0.8)
  await bench.source('RF signal').set(WEAK, never())
  expect(generator.truth().on).toBe(true)
  world.set.key(true)
  expect(await until(() => !generator.truth().on && world.supplyTruth().output === 'off' && said.length > 0)).toBe(true)
  expect(said[0]?.words).toContain('while the generator "generator" was on')
  await close()
}, 60_000)

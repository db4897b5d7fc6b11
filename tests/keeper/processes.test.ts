import { describe, test } from 'vitest'
import { type HighBench, openHighBench } from './high-bench.ts'
import { safeTrial } from './safe-trial.ts'

/** From the last beat to the output off at the supply, s. */
const BOUND_S = 3.5
const TRIAL_MS = 240_000
/** A bench of its own for one test, closed whatever comes of it. */
async function withHigh(seed: number, check: (high: HighBench) => Promise<void>, times = 1): Promise<void> {
  const high = await openHighBench(seed, times)
  try {
    await check(high)
  } finally {
    await high.close()
  }
}

describe.concurrent('keeper, service and supply as real processes, 15.6 V, keyed', () => {
  test('kill -9 of the service at random moments: output off within 3.5 s, three times', {
    timeout: TRIAL_MS,
  }, async ({ expect }) => {
    const seconds = await Promise.all([1, 2, 3].map((seed) => safeTrial('SIGKILL', seed)))
    expect(Math.max(...seconds)).toBeLessThan(BOUND_S)
  })

  test('SIGSTOP of the service at random moments: output off within 3.5 s, three times', {
    timeout: TRIAL_MS,
  }, async ({ expect }) => {
    const seconds = await Promise.all([4, 5, 6].map((seed) => safeTrial('SIGSTOP', seed)))
    expect(Math.max(...seconds)).toBeLessThan(BOUND_S)
    expect(Math.min(...seconds)).toBeGreaterThan(1.9) // it did wait for the beat
  })

  test(
    'a service whose event loop stands still for 4 s: off in the meantime, said and locked afterwards',
    {
      timeout: TRIAL_MS,
    },
    ({ expect }) =>
      withHigh(7, async ({ service, untilOff, heard, notes, bench }) => {
        service.stdin?.write('block 4000\n')
        expect(await untilOff(8000)).toBeLessThan(BOUND_S)
        const { acted, proved } = await heard((facts) => 'acted' in facts, 8000)
        expect([acted, proved]).toEqual([expect.stringMatching(/^no beat for 3\.\d s$/), true])
        service.stdin?.write('on\n')
        const { refused } = await heard((facts) => 'refused' in facts, 8000)
        expect(refused).toMatch(
          /the supply is kept off until somebody starts again \(no beat for 3\.\d s\).*\[KEEPER_REFUSED\]/,
        )
        expect(bench.supplyTruth().output).toBe('off')
        expect(notes().map(({ what }) => what)).toEqual(['safe', 'going safe', 'safe'])
      }),
  )

  test('the keeper itself killed: KEEPER_GONE, and a second keeper switches off', { timeout: TRIAL_MS }, ({ expect }) =>
    withHigh(8, async ({ keeperPid, untilOff, heard, notes }) => {
      process.kill(keeperPid, 'SIGKILL')
      const { gone } = await heard((facts) => 'gone' in facts, 5000)
      expect(gone).toMatch(
        /the keeper was ended by SIGKILL; whether the output is on is not known\. .*look at the supply.*\[KEEPER_GONE\]$/,
      )
      expect(await untilOff(15_000)).toBeLessThan(15) // a process has to start first
      const proved = () => notes().filter((note) => note.what === 'safe' && note.proved).length
      await expect.poll(proved, { timeout: 10_000 }).toBe(2) // at the start of the first keeper, and by the second
    }),
  )

  test.for(['SIGTERM', 'SIGINT'] as const)(
    '%s to the keeper: off and read back before it ends',
    { timeout: TRIAL_MS },
    (signal, { expect }) =>
      withHigh(9, async ({ keeperPid, untilOff, heard, notes }) => {
        process.kill(keeperPid, signal)
        expect(await untilOff(5000)).toBeLessThan(1)
        await heard((facts) => 'gone' in facts, 8000)
        const why = `the keeper was ended by ${signal}`
        expect(notes().find((note) => note.what === 'safe' && note.why === why)).toMatchObject({ proved: true })
      }),
  )

  test(
    'a keeper that stands still is ended by its standby, which makes safe and says so',
    { timeout: TRIAL_MS },
    ({ expect }) =>
      withHigh(10, async ({ keeperPid, heard, untilOff }) => {
        process.kill(keeperPid, 'SIGSTOP')
        expect(await untilOff(5000)).toBeLessThan(3.5)
        const { acted } = await heard((facts) => 'acted' in facts && facts.proved === true, 10_000)
        expect(acted).toMatch(/output off|switched the output off/)
        expect(() => process.kill(keeperPid, 0)).toThrow(/ESRCH/)
      }),
  )

  test('closed in order: off, keeper gone, exit 0', { timeout: TRIAL_MS }, ({ expect }) =>
    withHigh(11, async ({ service, untilOff, bench }) => {
      const ended = new Promise((resolve) => service.once('exit', resolve))
      service.stdin?.write('close\n')
      expect(await untilOff(5000)).toBeLessThan(1)
      expect(await ended).toBe(0)
      expect(bench.supplyTruth().output).toBe('off')
    }),
  )

  test(
    'ten times faster: held without a false alarm, and off at once when the service is killed',
    { timeout: TRIAL_MS },
    ({ expect }) =>
      withHigh(
        12,
        async ({ service, said, untilOff }) => {
          await new Promise((resolve) => setTimeout(resolve, 2000))
          expect(said.filter((facts) => 'acted' in facts)).toEqual([])
          service.kill('SIGKILL')
          expect(await untilOff(5000)).toBeLessThan(1)
        },
        10,
      ),
  )
})

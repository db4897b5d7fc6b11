import { describe, test } from 'vitest'
import { openHighBench } from './high-bench.ts'
import { type Blow, blowTrial } from './safe-trial.ts'

/** From the last blow to the output off at the supply, s. */
const BOUND_S = 3.5
const TRIAL_MS = 120_000

const SINGLE: readonly (readonly Blow[])[] = [
  [{ at: 'keeper', how: 'kill' }],
  [{ at: 'keeper', how: 'stop' }],
  [{ at: 'keeper', how: 'flap' }],
]

const PAIRS: readonly (readonly Blow[])[] = (
  [
    ['service', 'keeper'],
    ['service', 'standby'],
    ['keeper', 'standby'],
  ] as const
).flatMap(([one, other]) =>
  (['kill', 'stop'] as const).map((how) => [
    { at: one, how },
    { at: other, how },
  ]),
)

const MIXED: readonly (readonly Blow[])[] = [
  [
    { at: 'service', how: 'stop' },
    { at: 'keeper', how: 'kill' },
  ],
  [
    { at: 'service', how: 'kill' },
    { at: 'keeper', how: 'stop' },
  ],
]

describe.concurrent('any two of service, keeper and standby, as real processes at 15.6 V, keyed', () => {
  test.for([...SINGLE, ...PAIRS, ...MIXED].map((blows) => [wordsFor(blows), blows] as const))(
    '%s: output off within 3.5 s, and no process is left',
    { timeout: TRIAL_MS },
    async ([, blows], { expect }) => {
      expect(await blowTrial(blows, 20)).toBeLessThan(BOUND_S)
    },
  )

  test('a standby that was killed is started again, and the supply stays in use', { timeout: TRIAL_MS }, async ({
    expect,
  }) => {
    const high = await openHighBench(21)
    try {
      const first = high.processes().find(({ role }) => role === 'standby')?.pid ?? 0
      process.kill(first, 'SIGKILL')
      const next = () => high.processes().find(({ role, pid }) => role === 'standby' && pid !== first)?.pid ?? 0
      await expect.poll(next, { timeout: 10_000 }).toBeGreaterThan(0)
      expect(high.bench.supplyTruth().output).toBe('on')
    } finally {
      await high.close()
    }
  })
})

function wordsFor(blows: readonly Blow[]): string {
  return blows.map(({ at, how }) => `${at} ${how}`).join(', ')
}

import { spawn } from 'node:child_process'
import { availableParallelism } from 'node:os'
import { type Blow, blowTrial, openHighBench } from '../keeper/safe-trial.ts'
import type { Spoilt } from '../keeper/spoilt-link.ts'
import type { Figure } from './figure.ts'

/** Trials of each kind; minutes at full load for the takeovers without cause. */
export interface SafeSize {
  readonly trials: number
  readonly minutes: number
}

/** From the last blow to the output off at the supply, s. */
const BOUND_S = 3.5
const FIRST_SEED = 100
/** Benches at a time: each is three processes. */
const SIDE_BY_SIDE = 4

const PARTS = ['service', 'keeper', 'standby'] as const
const PAIRS: readonly (readonly Blow[])[] = PARTS.flatMap((one) =>
  PARTS.filter((other) => other !== one).flatMap((other) =>
    (['kill', 'stop', 'flap'] as const).flatMap((how) =>
      (['kill', 'stop'] as const).map((then) => [
        { at: one, how },
        { at: other, how: then },
      ]),
    ),
  ),
)
const SPOILT: readonly Spoilt[] = [
  { kind: 'late', ms: 300 },
  { kind: 'late', ms: 1000 },
  { kind: 'late', ms: 3000 },
  { kind: 'doubled' },
  { kind: 'mute' },
]

/**
 * Service, keeper and standby as real processes that hold a simulated supply at 15.6 V, keyed, struck at moments of chance:
 * safe.kill, safe.stop, safe.frozen-keeper, safe.pairs, safe.spoilt; and safe.false, takeovers without cause.
 */
export async function safeFigures({ trials, minutes }: SafeSize): Promise<Figure[]> {
  const one = (blow: Blow) => Array.from({ length: trials }, (): Trial => [[blow], { kind: 'well' }])
  const service = (how: Blow['how']) => one({ at: 'service', how })
  const pairs = Array.from({ length: trials * PAIRS.length }, (_, at): Trial => [PAIRS[at % PAIRS.length] ?? [], WELL])
  const spoilt = SPOILT.flatMap((how) =>
    Array.from({ length: trials }, (): Trial => [[{ at: 'service', how: 'kill' }], how]),
  )
  return [
    await worst('safe.kill', service('kill'), 'kill -9 of the service'),
    await worst(
      'safe.stop',
      [...service('stop'), ...service('flap')],
      'SIGSTOP of the service, at once or after a flap',
    ),
    await worst(
      'safe.frozen-keeper',
      [
        ...one({ at: 'keeper', how: 'stop' }),
        ...one({ at: 'keeper', how: 'flap' }),
        ...one({ at: 'keeper', how: 'kill' }),
      ],
      'the keeper stopped, stopped after a flap, or killed',
    ),
    await worst('safe.pairs', pairs, `two of service, keeper and standby struck (${PAIRS.length} pairs of blows)`),
    await worst('safe.spoilt', spoilt, 'the service killed and the link late by 0.3, 1 or 3 s, doubled or mute'),
    await falseAlarms(minutes),
  ]
}

type Trial = readonly [readonly Blow[], Spoilt]
const WELL: Spoilt = { kind: 'well' }

async function worst(name: string, trials: readonly Trial[], words: string): Promise<Figure> {
  const seconds: number[] = []
  const waiting = [...trials.entries()]
  const lane = async () => {
    for (let next = waiting.shift(); next; next = waiting.shift()) {
      const [index, [blows, spoilt]] = next
      seconds.push(await blowTrial(blows, FIRST_SEED + index, spoilt))
    }
  }
  await Promise.all(Array.from({ length: SIDE_BY_SIDE }, lane))
  const ours = Math.max(...seconds)
  return {
    name,
    ours: Number(ours.toFixed(3)),
    reference: BOUND_S,
    ratio: Number((ours / BOUND_S).toFixed(3)),
    unit: 's',
    against: `the bound of ${BOUND_S} s; worst of ${trials.length} times ${words} at moments of chance, 15.6 V and keyed, until the output is off at the simulated supply`,
  }
}

/** Every core kept busy by a process of its own beside a bench that is held at 15.6 V. */
async function falseAlarms(minutes: number): Promise<Figure> {
  const busy = Array.from({ length: availableParallelism() }, () =>
    spawn(process.execPath, ['-e', 'for (;;);'], { stdio: 'ignore' }),
  )
  try {
    const high = await openHighBench(FIRST_SEED)
    try {
      await new Promise((resolve) => setTimeout(resolve, minutes * 60_000))
      const ours = high.said.filter(
        (facts) => 'gone' in facts || ('acted' in facts && 'proved' in facts && facts.acted !== STARTED),
      ).length
      const off = high.bench.supplyTruth().output === 'off' ? 1 : 0
      return {
        name: 'safe.false',
        ours: Math.max(ours, off),
        reference: 0,
        ratio: Math.max(ours, off),
        unit: 'takeovers',
        against: `none in ${minutes} minutes at 15.6 V with every core kept busy`,
      }
    } finally {
      await high.close()
    }
  } finally {
    for (const child of busy) child.kill('SIGKILL')
  }
}

const STARTED = 'the keeper has started'

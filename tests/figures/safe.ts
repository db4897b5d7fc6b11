import { spawn } from 'node:child_process'
import { availableParallelism, constants, loadavg, setPriority } from 'node:os'
import { wordsOf } from '../../src/fault/bench-error.ts'
import { seededRng } from '../../src/system/rng.ts'
import { LIMITS } from '../keeper/fold-bench.ts'
import { openHighBench, usualPriority } from '../keeper/high-bench.ts'
import { makeTrial, type Outcome } from '../keeper/safe-trial.ts'
import type { Figure } from './figure.ts'
import { KINDS, type Kind } from './safe-kinds.ts'

/** How much is done. */
export interface SafeSize {
  /** Trials of each kind. */
  readonly trials: number
  /** At most so many for a figure, drawn by the seed. */
  readonly most: number
  /** At full load, for the takeovers without cause. */
  readonly minutes: number
  /** Of the first trial; each further one has the next. */
  readonly seed: number
  /** Benches side by side: each is three processes that mostly wait. */
  readonly lanes: number
  /** Only kinds whose words hold this; "" for all. */
  readonly only: string
}

/** From the last blow to the output off at the supply, s. */
const OFF_S = 3.5
/** Where no byte can come through: from the last blow until it is said that off is not proved, s. */
const SAID_S = 2

interface Made {
  readonly kind: Kind
  readonly outcome: Outcome | null
  readonly missed: readonly string[]
}

/**
 * Service, keeper and standby as real processes that hold a simulated supply at 15.6 V, keyed, over a network socket and a
 * serial line, struck at moments of chance; and safe.false, takeovers without cause. What the supply does is read from the
 * simulated supply itself.
 */
export async function safeFigures(size: SafeSize): Promise<Figure[]> {
  const exact = KINDS.filter(({ words }) => words === size.only)
  const kinds = exact.length > 0 ? exact : KINDS.filter(({ words }) => words.includes(size.only))
  playTheSupply()
  const made: Made[] = []
  for (const figure of new Set(kinds.map((kind) => kind.figure)))
    made.push(...(await makeAll(drawn(kinds, figure, size), size)))
  const figures = [...figuresOf(made)]
  if (size.minutes > 0) figures.push(await falseAlarms(size))
  return figures
}

/** `trials` of each kind of a figure, or a draw from them. */
function drawn(kinds: readonly Kind[], figure: Kind['figure'], { trials, most, seed }: SafeSize): readonly Kind[] {
  const all = kinds.filter((kind) => kind.figure === figure).flatMap((kind) => Array<Kind>(trials).fill(kind))
  const rng = seededRng(seed)
  for (let last = all.length - 1; last > 0; last--) {
    const at = Math.floor(rng() * (last + 1))
    const [one, other] = [all[at], all[last]]
    if (one && other) all.splice(at, 1, other)
    if (one && other) all.splice(last, 1, one)
  }
  return all.slice(0, most)
}

async function makeAll(kinds: readonly Kind[], { seed: firstSeed, lanes }: SafeSize): Promise<readonly Made[]> {
  const made: Made[] = []
  const waiting = [...kinds.entries()]
  const lane = async () => {
    for (let next = waiting.shift(); next; next = waiting.shift()) {
      const [index, kind] = next
      const one = await makeOne(kind, firstSeed + index)
      for (const words of one.missed) console.error(`missed: ${words}`)
      made.push(one)
    }
  }
  await Promise.all(Array.from({ length: lanes }, lane))
  return made
}

async function makeOne(kind: Kind, seed: number): Promise<Made> {
  const name = `${kind.words} (${kind.figure}, seed ${seed})`
  try {
    const outcome = await makeTrial({ ...kind, seed })
    return { kind, outcome, missed: against(kind, outcome).map((words) => `${name}: ${words}`) }
  } catch (error) {
    return { kind, outcome: null, missed: [`${name}: ${wordsOf(error)}`] }
  }
}

function against(kind: Kind, outcome: Outcome): readonly string[] {
  const { offAfter, saidAfter, mendedAfter, leftVolts, leftOutput } = outcome
  const after = (s: number) => `after ${s.toFixed(2)} s, load ${loadavg()[0]?.toFixed(1)}`
  const missed: string[] = []
  if (offAfter !== null && offAfter > OFF_S) missed.push(`off ${after(offAfter)}`)
  if (saidAfter !== null && saidAfter > SAID_S) missed.push(`"not proved" said ${after(saidAfter)}`)
  if (mendedAfter !== null && mendedAfter > OFF_S) missed.push(`the link mended: off ${after(mendedAfter)}`)
  if (leftOutput === 'on') missed.push('on again at the end')
  if (kind.spoilt.kind === 'well' && leftVolts > LIMITS.normalVolts) missed.push(`left set to ${leftVolts} V`)
  return missed
}

const WORDS: Readonly<Record<Kind['figure'], string>> = {
  'safe.kill': 'kill -9 of the service',
  'safe.stop': 'SIGSTOP of the service, at once or after a flap',
  'safe.frozen-keeper': 'the keeper stopped, stopped after a flap, or killed',
  'safe.pairs': 'two of service, keeper and standby struck',
  'safe.spoilt':
    'service or keeper killed or the stop control used, and the link late by 0.3, 1 or 3 s, a quarter of the commands corrupted, doubled or mute',
  'safe.setting': 'the stop control used, or closed',
}

function* figuresOf(made: readonly Made[]): Generator<Figure> {
  const place = 'at moments of chance over TCP and a serial line, 15.6 V and keyed'
  for (const [name, words] of Object.entries(WORDS)) {
    const these = made.filter(({ kind }) => kind.figure === name)
    if (name === 'safe.setting' || these.length === 0) continue
    yield figure(name, OFF_S, 's', these, ({ offAfter }) => offAfter, `${words} ${place}, until the output is off`)
  }
  const closed = made.filter(({ kind }) => kind.figure === 'safe.spoilt')
  const shut = 'no byte gets to the supply any more (deaf, half open, cut)'
  if (closed.some(({ outcome }) => outcome?.saidAfter !== null)) {
    yield figure(
      'safe.unproved',
      SAID_S,
      's',
      closed,
      (it) => it.saidAfter,
      `${shut}, until it is said that off is not proved`,
    )
    yield figure(
      'safe.mended',
      OFF_S,
      's',
      closed,
      (it) => it.mendedAfter,
      `${shut}, then mended, until the output is off`,
    )
  }
  const well = made.filter(({ kind }) => kind.spoilt.kind === 'well')
  if (well.length > 0)
    yield figure(
      'safe.setting',
      LIMITS.normalVolts,
      'V',
      well,
      (it) => it.leftVolts,
      'how the supply is left set, after safe, after closing and after every blow above',
    )
}

function figure(
  name: string,
  bound: number,
  unit: string,
  made: readonly Made[],
  pick: (outcome: Outcome) => number | null,
  words: string,
): Figure {
  const values = made.flatMap(({ outcome }) => (outcome ? [pick(outcome)] : [])).filter((value) => value !== null)
  const ours = Math.max(0, ...values)
  const voids = made.reduce((sum, { outcome }) => sum + (outcome?.voids ?? 0), 0)
  // Told once, with the figure that the trial belongs to.
  const missed = made.flatMap((one) => (one.kind.figure === name ? one.missed : []))
  return {
    name,
    ours: Number(ours.toFixed(3)),
    reference: bound,
    ratio: Number((ours / bound).toFixed(3)),
    unit,
    against: `the bound of ${bound} ${unit}; worst of ${values.length}: ${words}, as read from the simulated supply itself; ${voids} void, load ${loadavg()[0]?.toFixed(1)}`,
    missed,
  }
}

/** Every core kept busy by a process of its own beside two benches that are held at 15.6 V. */
async function falseAlarms({ minutes, seed }: SafeSize): Promise<Figure> {
  const benches = await Promise.all([openHighBench(seed, 1, 'tcp'), openHighBench(seed, 1, 'pty')])
  try {
    const busy = Array.from({ length: availableParallelism() }, () =>
      spawn(process.execPath, ['-e', 'for (;;);'], { stdio: 'ignore' }),
    )
    for (const { pid } of busy) usualPriority(pid)
    try {
      await new Promise((resolve) => setTimeout(resolve, minutes * 60_000))
      const said = benches.flatMap(({ said, bench }) => [
        ...said.flatMap((facts) =>
          'gone' in facts ? [facts.gone] : facts.acted === STARTED ? [] : (facts.acted ?? []),
        ),
        ...(bench.supplyTruth().output === 'off' ? ['the output is off'] : []),
      ])
      return {
        name: 'safe.false',
        ours: said.length,
        reference: 0,
        ratio: said.length,
        unit: 'takeovers',
        against: `none in ${minutes} minutes at 15.6 V, over TCP and a serial line, with every core kept busy; load ${loadavg()[0]?.toFixed(1)}`,
        missed: said.map((words) => `safe.false: ${words}`),
      }
    } finally {
      for (const child of busy) child.kill('SIGKILL')
    }
  } finally {
    await Promise.all(benches.map((bench) => bench.close()))
  }
}

/** A supply has a processor of its own: the simulated one, in this process, is not to be starved by what is measured. Where that is not permitted it shares. */
function playTheSupply(): void {
  try {
    setPriority(constants.priority.PRIORITY_HIGH)
  } catch {
    // not permitted here
  }
}

const STARTED = 'the keeper has started'

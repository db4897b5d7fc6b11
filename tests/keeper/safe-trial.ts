import { seededRng } from '../../src/system/rng.ts'
import { LIMITS } from './fold-bench.ts'
import { type HighBench, openHighBench, sleepMs } from './high-bench.ts'
import type { LinkKind, Spoilt } from './spoilt-link.ts'

/** Who is struck, and how: "flap" is stopped and let go three times, then stopped. */
export interface Blow {
  readonly at: 'service' | 'keeper' | 'standby'
  readonly how: 'kill' | 'stop' | 'flap'
}

/** What is done to a bench that stands at 15.6 V, keyed; the seed says at which moments. */
export interface Trial {
  readonly link: LinkKind
  /** Struck at a moment of chance, each further one within 300 ms of the one before. */
  readonly blows: readonly Blow[]
  /** What the service is told to do in place of the first blow. */
  readonly order?: 'safe' | 'close'
  /** From the first blow on. */
  readonly spoilt: Spoilt
  readonly seed: number
}

/** What came of a trial. Times in s. */
export interface Outcome {
  /** From the last blow until the output was off at the supply; null where no byte can come through. */
  readonly offAfter: number | null
  /** Where no byte can come through: from the last blow until somebody has said, or noted, that off is not proved; and from mending the link to off. */
  readonly saidAfter: number | null
  readonly mendedAfter: number | null
  /** What the supply is left set to, V, when all processes are gone, and what it is doing. */
  readonly leftVolts: number
  readonly leftOutput: 'on' | 'off'
  /** How often a starved machine had the keeper switch off before anything was done. */
  readonly voids: number
}

const WELL: Spoilt = { kind: 'well' }
const AFTER_MS = 300
const WITHIN_MS = 2500
const FLAPS = 3
const FLAP_MS = 200
const MOST_VOIDS = 2
const LATEST_MS = 60_000
const LOWERED_MS = 10_000

/** No byte gets to the supply. */
export function closesTheWay(spoilt: Spoilt): boolean {
  return spoilt.kind === 'deaf' || spoilt.kind === 'half open' || spoilt.kind === 'cut'
}

/** Makes one trial. Rejects where the output does not go off within a minute, or a process is still there a minute after the end. */
export async function makeTrial(trial: Trial): Promise<Outcome> {
  for (let voids = 0; ; voids++) {
    const high = await openHighBench(trial.seed, 1, trial.link).catch((error: unknown) => {
      if (voids >= MOST_VOIDS) throw error
      return null
    })
    if (!high) continue
    const rng = seededRng(trial.seed)
    try {
      await sleepMs(rng() * WITHIN_MS)
      const truth = high.bench.supplyTruth()
      if (truth.output === 'on' && truth.volts > 15 && high.processes().length === 2) {
        const fromMs = await strikeAll(high, trial, rng)
        const times = await watched(high, trial, fromMs)
        if (trial.spoilt.kind === 'well') await lowered(high)
        await high.end()
        const { setVolts, output } = high.bench.supplyTruth()
        return { ...times, leftVolts: setVolts, leftOutput: output, voids }
      }
      if (voids >= MOST_VOIDS) throw new Error(`not high: ${JSON.stringify(truth)} ${JSON.stringify(high.said)}`)
    } finally {
      await high.close()
    }
  }
}

/** Seconds from the last blow until the output is off at the supply, on a link that is well. */
export async function blowTrial(blows: readonly Blow[], seed: number): Promise<number> {
  const { offAfter, leftVolts, leftOutput } = await makeTrial({ link: 'tcp', blows, spoilt: WELL, seed })
  if (leftOutput === 'on' || leftVolts > LIMITS.normalVolts)
    throw new Error(`left ${leftOutput}, set to ${leftVolts} V`)
  return offAfter ?? Number.POSITIVE_INFINITY
}

/** When the last blow fell, on performance.now(). Half of the trials begin in the middle of an exchange. */
async function strikeAll(high: HighBench, { blows, order, spoilt }: Trial, rng: () => number): Promise<number> {
  let fromMs = 0
  const [first, ...more] = blows.map((blow) => ({ blow, pid: pidOf(high, blow) }))
  const begin = () => {
    high.link.spoil(spoilt)
    if (order) high.service.stdin?.write(`${order}\n`)
    if (first?.blow.how === 'kill') process.kill(first.pid, 'SIGKILL')
    else if (first) process.kill(first.pid, 'SIGSTOP')
    fromMs = performance.now()
  }
  if (rng() < 0.5) await high.link.midExchange(begin)
  else begin()
  if (first?.blow.how === 'flap') fromMs = await flap(first.pid)
  for (const { blow, pid } of more) {
    await sleepMs(rng() * AFTER_MS)
    process.kill(pid, blow.how === 'kill' ? 'SIGKILL' : 'SIGSTOP')
    fromMs = performance.now()
    if (blow.how === 'flap') fromMs = await flap(pid)
  }
  return fromMs
}

/** Stopped already: let go and stopped again. When it was stopped for the last time. */
async function flap(pid: number): Promise<number> {
  for (let times = 0; times < FLAPS; times++) {
    await sleepMs(FLAP_MS)
    process.kill(pid, 'SIGCONT')
    await sleepMs(FLAP_MS)
    process.kill(pid, 'SIGSTOP')
  }
  return performance.now()
}

function pidOf(high: HighBench, { at }: Blow): number {
  const pid = at === 'service' ? high.service.pid : high.processes().find(({ role }) => role === at)?.pid
  if (pid === undefined) throw new Error(`no ${at} there`)
  return pid
}

async function watched(
  high: HighBench,
  { spoilt }: Trial,
  fromMs: number,
): Promise<Pick<Outcome, 'offAfter' | 'saidAfter' | 'mendedAfter'>> {
  if (!closesTheWay(spoilt))
    return { offAfter: await high.untilOff(LATEST_MS, fromMs), saidAfter: null, mendedAfter: null }
  const saidAfter = await untilSaid(high, fromMs)
  high.link.spoil(WELL)
  return { offAfter: null, saidAfter, mendedAfter: await high.untilOff(LATEST_MS) }
}

/** Whoever is left is given time to bring the setting down: the end of the trial ends the service too, which may be the last one there. */
async function lowered(high: HighBench): Promise<void> {
  const endMs = performance.now() + LOWERED_MS
  while (high.bench.supplyTruth().setVolts > LIMITS.normalVolts && performance.now() < endMs) await sleepMs(10)
}

/** Said by the service, or where that is dead noted on the disk. */
async function untilSaid(high: HighBench, fromMs: number): Promise<number> {
  while (performance.now() - fromMs < LATEST_MS) {
    const said = high.said.some((facts) => 'acted' in facts && facts.proved === false)
    if (said || high.notes().some(({ what }) => what === 'not proved')) break
    await sleepMs(10)
  }
  return (performance.now() - fromMs) / 1000
}

/**
 * One trial: the service gets `signal` at a moment of chance within 2.5 s while it holds the supply at 15.6 V, keyed.
 * Seconds from then until the output is off at the supply. Void, and made again, when a starved machine had the keeper
 * switch off before the signal.
 */
export function safeTrial(signal: 'SIGKILL' | 'SIGSTOP', seed: number): Promise<number> {
  return blowTrial([{ at: 'service', how: signal === 'SIGKILL' ? 'kill' : 'stop' }], seed)
}

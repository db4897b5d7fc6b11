import { safeTrial } from '../keeper/safe-trial.ts'
import type { Figure } from './figure.ts'

const TRIALS = 20
/** From the last beat to the output off at the supply, s. */
const BOUND_S = 3.5
const FIRST_SEED = 100

/** safe.kill and safe.stop: the service killed, or stopped, at moments of chance while its keeper holds a simulated supply at 15.6 V, keyed. */
export async function safeFigures(): Promise<Figure[]> {
  return [await worst('safe.kill', 'SIGKILL', 'kill -9'), await worst('safe.stop', 'SIGSTOP', 'SIGSTOP')]
}

async function worst(name: string, signal: 'SIGKILL' | 'SIGSTOP', words: string): Promise<Figure> {
  const seeds = Array.from({ length: TRIALS }, (_, index) => FIRST_SEED + index)
  // Each opens its bench after the one before; the waiting goes on side by side.
  const seconds = await Promise.all(seeds.map((seed) => safeTrial(signal, seed)))
  const ours = Math.max(...seconds)
  return {
    name,
    ours: Number(ours.toFixed(3)),
    reference: BOUND_S,
    ratio: Number((ours / BOUND_S).toFixed(3)),
    unit: 's',
    against: `the bound of ${BOUND_S} s; worst of ${TRIALS} times ${words} of the service at moments of chance, 15.6 V and keyed, until the output is off at the simulated supply`,
  }
}

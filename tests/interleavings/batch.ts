import type { Rule } from './oracle.ts'
import { told } from './report.ts'
import { runTrial, trialOf } from './trial.ts'

/** What a batch of seeds came to. */
export interface Batch {
  readonly runs: number
  /** Runs that broke a rule, and which. */
  readonly broken: readonly { readonly seed: number; readonly rules: readonly Rule[] }[]
}

/** Runs the seeds one after the other; begins no new one after `untilMs` of the real clock. */
export async function runSeeds(seeds: readonly number[], untilMs = Number.POSITIVE_INFINITY): Promise<Batch> {
  const broken: { seed: number; rules: readonly Rule[] }[] = []
  let runs = 0
  for (const seed of seeds) {
    if (performance.now() >= untilMs) break
    const { violations } = await runTrial(trialOf(seed))
    runs += 1
    if (violations.length > 0) broken.push({ seed, rules: violations.map(({ rule }) => rule) })
  }
  return { runs, broken }
}

/** The first run of each broken rule, shrunk and told; at most `most` of them. */
export async function toldFirst(broken: Batch['broken'], most: number): Promise<readonly string[]> {
  const firsts = new Map<Rule, number>()
  for (const { seed, rules } of broken) for (const rule of rules) if (!firsts.has(rule)) firsts.set(rule, seed)
  const texts: string[] = []
  for (const [rule, seed] of [...firsts].slice(0, most)) texts.push(await told(trialOf(seed), rule))
  return texts
}

import { inWords } from './events.ts'
import { RULES, type Rule } from './oracle.ts'
import { shrink } from './shrink.ts'
import { runTrial, type Trial } from './trial.ts'

/** The same trial with as few events as still break the rule. */
export async function shortest(trial: Trial, rule: Rule): Promise<Trial> {
  const breaks = async (events: Trial['events']) =>
    (await runTrial({ ...trial, events })).violations.some((violation) => violation.rule === rule)
  return { ...trial, events: await shrink(trial.events, breaks) }
}

/** A broken rule for people: what it takes, what the supply did, and how to see it again. */
export async function told(trial: Trial, rule: Rule): Promise<string> {
  const small = await shortest(trial, rule)
  const { violations, trace } = await runTrial(small)
  const words = violations.find((violation) => violation.rule === rule)?.words ?? ''
  return [
    `seed ${trial.seed}, "${rule}": ${words}`,
    `  the rule: ${RULES[rule]}`,
    `  the shortest list of events (${small.events.length} of ${trial.events.length}):`,
    ...small.events.map((event) => `    ${inWords(event)}`),
    '  what happened:',
    ...trace.map((line) => `    ${line}`),
    `  as data: ${JSON.stringify(small)}`,
  ].join('\n')
}

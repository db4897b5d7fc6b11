/** A setup file of a lane: puts what the lane wrote into `facts` into the environment of the tests, and of the processes that they start. */
export function setupText(facts: string): string {
  return [
    "import { readFileSync } from 'node:fs'",
    'delete process.env.MUTANT_SEEN',
    `Object.assign(process.env, JSON.parse(readFileSync(${JSON.stringify(facts)}, 'utf8')))`,
    '',
  ].join('\n')
}

/**
 * `node --import tsx tests/interleavings/find.ts --item 2 --runs 800`: whether this code shows the fault of an item (or breaks a rule, with
 * `--rule`), first by the lists that once showed it, then by chance. Prints one JSON object and ends with 1 where nothing was found.
 */
import { parseArgs } from 'node:util'
import { FOUND, FOUND_SEEDS } from './found.ts'
import { runTrial, type Trial, trialOf } from './trial.ts'

const { values } = parseArgs({
  options: {
    item: { type: 'string', default: '1' },
    runs: { type: 'string', default: '800' },
    /** Instead of an item: these rules, by chance alone. */
    rule: { type: 'string', multiple: true, default: [] },
  },
})
const lists = values.rule.length > 0 ? [] : FOUND.filter(({ item }) => String(item) === values.item)
const rules: ReadonlySet<string> = new Set(values.rule.length > 0 ? values.rule : lists.flatMap((one) => one.rules))

const byList: string[] = []
for (const { fault, events, rules: own } of lists)
  for (const seed of FOUND_SEEDS)
    if (await breaks({ seed, events }, new Set(own))) {
      byList.push(`${fault} (seed ${seed})`)
      break
    }
const byChance: number[] = []
for (let seed = 1; seed <= Number(values.runs); seed += 1) if (await breaks(trialOf(seed), rules)) byChance.push(seed)

console.log(
  JSON.stringify({
    looksFor: [...rules],
    byList,
    byChance: `${byChance.length} of ${values.runs} seeds`,
    firstSeeds: byChance.slice(0, 5),
  }),
)
process.exitCode = byList.length + byChance.length > 0 ? 0 : 1

async function breaks(trial: Trial, wanted: ReadonlySet<string>): Promise<boolean> {
  return (await runTrial(trial)).violations.some(({ rule }) => wanted.has(rule))
}

/**
 * `npm run interleavings -- --runs 2000 --minutes 3 --seed N`: half of the runs have the fixed seeds from N on (1 unless given), half
 * those of the day (its date, or `--day`). Two processes share them; no new run begins after `--minutes`. `--runs 0` runs until then.
 * The last line says how many runs there were and how many broke a rule; then it ends with 1.
 */
import { fork } from 'node:child_process'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'
import { type Batch, runSeeds, toldFirst } from './batch.ts'

const { values } = parseArgs({
  options: {
    runs: { type: 'string', default: '2000' },
    minutes: { type: 'string', default: '3' },
    seed: { type: 'string', default: '1' },
    day: { type: 'string', default: new Date().toISOString().slice(0, 10) },
    /** Which of the two processes this is; started by the other. */
    share: { type: 'string' },
    tell: { type: 'string', default: '8' },
  },
})
const PROCESSES = 2
/** So many runs that no hour ends them. */
const UNCOUNTED = 400_000

const asked = Number(values.runs)
const runs = asked === 0 ? UNCOUNTED : asked
const first = Number(values.seed)
/** 20260105 for the fifth of January: seeds of a day stand apart from the next day's. */
const firstOfDay = (Number(values.day.replaceAll('-', '')) * 1000) >>> 0
const seeds = Array.from({ length: runs }, (_, at) => (at % 2 === 0 ? first : firstOfDay) + (at >> 1))

if (values.share === undefined) await whole()
else {
  const own = seeds.filter((_, at) => (at >> 1) % PROCESSES === Number(values.share))
  process.send?.(await runSeeds(own, Number(values.minutes) * 60_000))
  process.disconnect?.()
}

async function whole(): Promise<void> {
  const began = performance.now()
  const batches = await Promise.all(Array.from({ length: PROCESSES }, (_, share) => shareOf(share)))
  const broken = batches.flatMap((batch) => batch.broken).toSorted((a, b) => a.seed - b.seed)
  const done = batches.reduce((sum, batch) => sum + batch.runs, 0)
  const spentS = (performance.now() - began) / 1000
  for (const text of await toldFirst(broken, Number(values.tell))) console.log(`${text}\n`)
  const counts = new Map<string, number>()
  for (const { rules } of broken) for (const rule of rules) counts.set(rule, (counts.get(rule) ?? 0) + 1)
  for (const [rule, count] of counts) console.log(`${rule}: ${count} runs`)
  const where = `${first} and up, ${firstOfDay} and up (${values.day})`
  const failed =
    broken.length > 0
      ? `; broken by ${broken
          .slice(0, 20)
          .map(({ seed }) => seed)
          .join(' ')}`
      : ''
  console.log(
    `interleavings: ${done} runs, ${broken.length} violations, seeds ${where}${failed}; ${spentS.toFixed(0)} s`,
  )
  const short = asked !== 0 && done < asked
  if (short) console.log(`only ${done} of ${asked} runs within ${values.minutes} minutes`)
  process.exitCode = broken.length > 0 || short ? 1 : 0
}

function shareOf(share: number): Promise<Batch> {
  const child = fork(fileURLToPath(import.meta.url), [...process.argv.slice(2), '--share', String(share)])
  return new Promise((resolve, reject) => {
    let batch: Batch | null = null
    child.once('message', (message: Batch) => {
      batch = message
    })
    child.once('exit', (code) => (batch ? resolve(batch) : reject(new Error(`a share of the runs ended with ${code}`))))
  })
}

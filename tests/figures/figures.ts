/**
 * Measures what the README claims and prints one JSON object a line.
 * `npm run figures` does all; `npm run figures -- link settle` only those whose group is named. Plots go to
 * node_modules/.cache/trimwright/figures, or to the folder of `--plots FOLDER`. Ends with 1 when a bound of `safe` or `start` is missed.
 *
 * `safe`: `--trials N` of each kind (20), `--most N` for a figure, drawn by the seed (all), `--minutes N` at full load (5, 0 for none),
 * `--seed N` of the first trial (the date), `--lanes N` benches side by side (6), `--only TEXT` only kinds whose words hold it. A missed trial is made again by its own
 * words and seed: `safe --only "pty, keeper kill" --seed 20260101 --trials 1 --minutes 0`.
 */
import { parseArgs } from 'node:util'
import type { Figure } from './figure.ts'
import type { SafeSize } from './safe.ts'

const GROUPS: Readonly<Record<string, (plots: string, size: SafeSize) => Promise<readonly Figure[]>>> = {
  link: async () => (await import('./link.ts')).linkFigures(),
  settle: async (plots) => (await import('./settle.ts')).settleFigures(plots),
  peak: async () => (await import('./peak.ts')).peakFigures(),
  safe: async (_plots, size) => (await import('./safe.ts')).safeFigures(size),
  job: async () => (await import('./job.ts')).jobFigures(),
  live: async () => (await import('./live.ts')).liveFigures(),
  fanout: async () => (await import('./live-server.ts')).fanoutFigures(),
  capturing: async () => (await import('./live-server.ts')).capturingFigures(),
  page: async () => (await import('./page.ts')).pageFigures(),
  record: async () => (await import('./record.ts')).recordFigures(),
  number: async () => (await import('./number.ts')).numberFigures(),
  pedal: async () => (await import('./pedal.ts')).pedalFigures(),
  'killed-job': async () => (await import('./killed-job.ts')).killedJobFigures(),
  soak: async () => (await import('./soak.ts')).soakFigures(),
  start: async () => (await import('./start.ts')).startFigures(),
}

/** Five minutes to a quarter of an hour each: only when they are named. */
const LONG = ['pedal', 'killed-job', 'soak']

const { values, positionals: asked } = parseArgs({
  allowPositionals: true,
  options: {
    plots: { type: 'string', default: 'node_modules/.cache/trimwright/figures' },
    trials: { type: 'string', default: '20' },
    most: { type: 'string', default: 'Infinity' },
    minutes: { type: 'string', default: '5' },
    seed: { type: 'string', default: new Date().toISOString().slice(0, 10).replaceAll('-', '') },
    lanes: { type: 'string', default: '6' },
    only: { type: 'string', default: '' },
  },
})
const size: SafeSize = {
  trials: Number(values.trials),
  most: Number(values.most),
  minutes: Number(values.minutes),
  seed: Number(values.seed),
  lanes: Number(values.lanes),
  only: values.only,
}
const unknown = asked.filter((name) => !(name in GROUPS))
if (unknown.length > 0) {
  console.error(`there is no group ${unknown.join(', ')}; the groups are ${Object.keys(GROUPS).join(', ')}`)
  process.exit(2)
}
let missed = false
for (const [name, measure] of Object.entries(GROUPS)) {
  if (asked.length > 0 ? !asked.includes(name) : LONG.includes(name)) continue
  if (name === 'safe') console.error(`safe: seed ${size.seed}`)
  for (const figure of await measure(values.plots, size)) {
    missed ||= (figure.missed?.length ?? 0) > 0
    console.log(JSON.stringify(figure))
  }
}
process.exit(missed ? 1 : 0)

/**
 * `npm run mutation -- FOLDER, FILE or FILE:LINE ...` changes one place of a source at a time, in a copy, runs the tests that come by that place, and says which changes no
 * test noticed. Folders are named as they lie today; nothing else depends on the layout. `--sample N --seed N` takes so many by chance, `--lanes N` runs so many
 * processes, `--most-s N` gives each mutation the nearest and quickest tests of so many seconds of the processor in all, `--near N` only those with
 * at most N imports on the way from test to source, `--tests FOLDER` only those below it, `--strings` changes texts too, `--list` only lists, `--killed` names the test file.
 * What may survive, and why, stands in accepted.yaml. For low priority: `nice -n 19 npm run mutation -- ...`.
 */
import { type ChildProcess, fork } from 'node:child_process'
import { mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, dirname, join, relative } from 'node:path'
import { parseArgs } from 'node:util'
import { seededRng } from '../../src/system/rng.ts'
import config from '../../vitest.config.ts'
import { copyHouse, HOME } from '../kit/copy-house.ts'
import { type Accepted, acceptedMutations } from './accepted.ts'
import type { LaneAnswer, LaneRequest } from './lane.ts'
import { type Mutation, mutationsOf, withMutations } from './mutate.ts'
import { type Distances, filesBelow, reachOf } from './reach.ts'
import { setupText } from './setup-text.ts'

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    sample: { type: 'string' },
    seed: { type: 'string', default: '1' },
    lanes: { type: 'string', default: '2' },
    near: { type: 'string', default: '99' },
    tests: { type: 'string', default: 'tests' },
    'most-s': { type: 'string', default: '600' },
    strings: { type: 'boolean', default: false },
    list: { type: 'boolean', default: false },
    killed: { type: 'boolean', default: false },
  },
})

interface Mutant extends Mutation {
  readonly id: number
  readonly file: string
  /** The folder or file of the command line that it came by. */
  readonly asked: string
}

type Fate = 'killed' | 'timed out' | 'survived' | 'not run'

/** A test never tells more of a mutation than this, ms, and so many times what it took without one. */
const LEAST_MS = 20_000
const TIMES_SLOWER = 8

const home = HOME
const accepted = acceptedMutations()
const near = Number(values.near)
const all = mutants()
const chosen = values.sample === undefined ? all : sampled(all, Number(values.sample), Number(values.seed))
console.log(`${chosen.length} of ${all.length} mutations${values.sample === undefined ? '' : `, seed ${values.seed}`}`)
if (values.list) for (const one of inOrder(chosen)) console.log(described(one))
else await tryAll()

function mutants(): readonly Mutant[] {
  const found: Mutant[] = []
  if (positionals.length === 0)
    throw new TypeError('name the folders or files to be changed: npm run mutation -- src/record')
  for (const one of positionals) {
    const [path = '', line] = one.split(':')
    const asked = relative(home, join(home, path))
    const files = statSync(join(home, asked)).isDirectory() ? filesBelow(home, asked) : [asked]
    for (const file of files.filter((name) => name.endsWith('.ts')).sort())
      for (const mutation of mutationsOf(file, readFileSync(join(home, file), 'utf8'), values.strings))
        if (line === undefined || mutation.line === Number(line))
          found.push({ ...mutation, id: found.length, file, asked })
  }
  return found
}

/** As they stand in the sources; a sample is tried in the order of chance, so that one cut short is a sample too. */
function inOrder(list: readonly Mutant[]): readonly Mutant[] {
  return [...list].sort((a, b) => a.id - b.id)
}

function sampled(from: readonly Mutant[], count: number, seed: number): readonly Mutant[] {
  const rng = seededRng(seed)
  return from
    .map((one) => ({ one, at: rng() }))
    .sort((a, b) => a.at - b.at)
    .slice(0, count)
    .map(({ one }) => one)
}

async function tryAll(): Promise<void> {
  const copy = mkdtempSync(join(tmpdir(), 'trimwright-mutation-'))
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => process.exit(1))
  process.once('exit', () => rmSync(copy, { recursive: true, force: true }))
  try {
    copyHouse(copy)
    for (const file of new Set(chosen.map((one) => one.file))) {
      const text = readFileSync(join(copy, file), 'utf8')
      const here = chosen.filter((one) => one.file === file)
      const changed = withMutations(text, here)
      mutationsOf(file, changed) // throws where a change does not parse
      writeFileSync(join(copy, file), changed)
    }
    const lanes = await Promise.all(Array.from({ length: Number(values.lanes) }, (_, at) => openLane(copy, at)))
    try {
      const seen = await whoComesBy(copy, lanes)
      const fates = await eachInItsLane(lanes, chosen, (lane, one) => fateOf(lane, one, seen))
      const byMutant = new Map(chosen.map((one, at) => [one, fates[at] ?? 'not run']))
      tell(new Map(inOrder(chosen).map((one) => [one, byMutant.get(one) ?? 'not run'])))
    } finally {
      for (const lane of lanes) lane.close()
    }
  } finally {
    rmSync(copy, { recursive: true, force: true })
  }
}

/** Test files that come by a mutation, nearest and quickest first, with the time that each takes: on the wall, and of the processor. */
interface Seen {
  readonly tests: ReadonlyMap<number, readonly { readonly file: string; readonly ms: number; readonly cpuMs: number }[]>
}

/** Runs every test file that reaches a changed source once, with every mutation asleep. */
async function whoComesBy(copy: string, lanes: readonly Lane[]): Promise<Seen> {
  const alone = aloneFiles()
  const tests = filesBelow(home, values.tests).filter(
    (file) => file.endsWith('.test.ts') && !alone.some((one) => one.test(file)),
  )
  const changed = new Set(chosen.map(({ file }) => file))
  const reaching = [...reachOf(home, tests)].filter(([test, far]) =>
    [...changed].some((file) => nearness(test, far, file) <= near),
  )
  console.log(`${reaching.length} of ${tests.length} test files reach these sources`)
  const byId = new Map(chosen.map((one) => [one.id, one]))
  const found = new Map<number, { file: string; ms: number; cpuMs: number; far: number }[]>()
  mkdirSync(join(copy, 'seen'))
  let left = 0
  await eachInItsLane(lanes, reaching, async (lane, [file, far]) => {
    const into = join(copy, 'seen', file.replaceAll('/', '-'))
    writeFileSync(into, '')
    const beganMs = performance.now()
    const answer = await lane.ask({ files: [file], mutant: -1, seen: into }, 300_000)
    const ms = performance.now() - beganMs
    if (answer === 'timed out' || answer.failed) {
      left += 1
      const why = answer === 'timed out' ? answer : answer.why
      return console.log(`left out, it does not hold by itself: ${file} (${why})`)
    }
    const { cpuMs } = answer
    for (const id of new Set(
      readFileSync(into, 'utf8')
        .split('\n')
        .filter((line) => line !== '')
        .map(Number),
    )) {
      const mutant = byId.get(id)
      if (mutant && nearness(file, far, mutant.file) <= near)
        found.set(id, [...(found.get(id) ?? []), { file, ms, cpuMs, far: nearness(file, far, mutant.file) }])
    }
  })
  if (left > 0.2 * reaching.length) throw new Error(`${left} of ${reaching.length} test files do not hold in the copy`)
  return {
    tests: new Map(
      [...found].map(([id, files]) => [
        id,
        // a quick one far away tells sooner than a slow one beside it
        files.sort((a, b) => Math.max(1, a.far) * a.cpuMs - Math.max(1, b.far) * b.cpuMs),
      ]),
    ),
  }
}

/** A test named like its source comes first, then by imports between them. */
function nearness(test: string, far: Distances, file: string): number {
  return basename(test, '.test.ts') === basename(file, '.ts') ? 0 : (far.get(file) ?? Number.POSITIVE_INFINITY)
}

/** Browsers and real processes at their own pace: not here. */
function aloneFiles(): readonly RegExp[] {
  const projects = config.test?.projects ?? []
  return projects.flatMap((one) => {
    const test = typeof one === 'object' && 'test' in one ? one.test : undefined
    return test?.name === 'alone' ? (test.include ?? []).map(asPattern) : []
  })
}

function asPattern(glob: string): RegExp {
  const plain = glob.replace(/[.+^$()|[\]\\]/g, '\\$&')
  return new RegExp(`^${plain.replace(/\*\*\//g, '(?:.*/)?').replace(/(?<!\.)\*/g, '[^/]*')}$`)
}

async function fateOf(lane: Lane, one: Mutant, { tests }: Seen): Promise<Fate> {
  const known = tests.get(one.id) ?? []
  if (known.length === 0) return 'not run'
  let spentMs = 0
  const within = known.filter(({ cpuMs }, at) => {
    spentMs += cpuMs
    return at === 0 || spentMs <= 1000 * Number(values['most-s'])
  })
  const usualMs = within.reduce((sum, { ms }) => sum + ms, 0)
  const request = { files: within.map(({ file }) => file), mutant: one.id, seen: '' }
  const answer = await lane.ask(request, LEAST_MS + TIMES_SLOWER * usualMs)
  if (answer === 'timed out') return 'timed out'
  const fate = answer.failed ? 'killed' : 'survived'
  if (fate === 'killed' && values.killed) console.log(`killed by ${answer.by}: ${described(one)}`)
  if (fate === 'survived') console.log(`survived ${within.length} of ${known.length} test files: ${described(one)}`)
  return fate
}

interface Lane {
  ask(request: LaneRequest, mostMs: number): Promise<LaneAnswer | 'timed out'>
  close(): void
}

/** A process of its own, begun anew after a mutation that never ends. */
async function openLane(copy: string, at: number): Promise<Lane> {
  const setup = `mutation-setup-${at}.mjs`
  writeFileSync(join(copy, setup), setupText(join(copy, `${setup}.json`)))
  const start = () =>
    new Promise<ChildProcess>((resolve, reject) => {
      const child = fork(join(import.meta.dirname, 'lane.ts'), [copy, setup], {
        ...{ cwd: copy, execArgv: ['--import', 'tsx'], stdio: ['ignore', 'ignore', 'ignore', 'ipc'], detached: true },
      })
      child.once('message', () => resolve(child))
      child.once('exit', () => reject(new Error('a lane ended before it was ready')))
    })
  const end = ({ pid, exitCode, signalCode }: ChildProcess) => {
    if (pid === undefined || exitCode !== null || signalCode !== null) return
    try {
      process.kill(-pid, 'SIGKILL') // its own group: what the tests started too
    } catch {} // gone already
  }
  let child = await start()
  process.once('exit', () => end(child))
  return {
    ask: async (request, mostMs) => {
      const answer = await new Promise<LaneAnswer | 'timed out'>((resolve) => {
        const timer = setTimeout(() => done('timed out'), mostMs)
        const onExit = () => done('timed out')
        const done = (said: LaneAnswer | 'timed out') => {
          clearTimeout(timer)
          child.off('message', done)
          child.off('exit', onExit)
          resolve(said)
        }
        child.on('message', done)
        child.on('exit', onExit)
        child.send(request)
      })
      if (answer === 'timed out') {
        end(child)
        child = await start()
      }
      return answer
    },
    close: () => end(child),
  }
}

async function eachInItsLane<T, R>(
  lanes: readonly Lane[],
  list: readonly T[],
  work: (lane: Lane, one: T) => Promise<R>,
): Promise<readonly R[]> {
  const results: R[] = []
  let next = 0
  await Promise.all(
    lanes.map(async (lane) => {
      for (let at = next++; at < list.length; at = next++) {
        const one = list[at]
        if (one !== undefined) results[at] = await work(lane, one)
      }
    }),
  )
  return results
}

function tell(fates: ReadonlyMap<Mutant, Fate>): void {
  const fits = ({ file, code, change }: Accepted, one: Mutant) =>
    file === basename(one.file) && code === one.code && (change === 'any' || change === changeOf(one))
  const reasonOf = (one: Mutant) => accepted.find((entry) => fits(entry, one))?.reason
  const whole = positionals.some((one) => one.includes(':')) ? [] : accepted // one line alone says nothing of the others
  for (const entry of whole)
    if (all.some((one) => basename(one.file) === entry.file) && !all.some((one) => fits(entry, one)))
      console.log(`accepted.yaml: there is no such change any more: ${entry.file} ${entry.change} in ${entry.code}`)
  const survivors = [...fates].filter(([, fate]) => fate === 'survived' || fate === 'not run')
  console.log('\nSurvivors:')
  for (const [one, fate] of survivors) {
    const reason = reasonOf(one)
    console.log(
      `  ${described(one)}${fate === 'not run' ? ' (no test comes by)' : ''}${reason ? ` (accepted: ${reason})` : ''}`,
    )
  }
  console.log('')
  const folders = new Set([...fates.keys()].flatMap(({ asked, file }) => [asked, dirname(file)]))
  for (const folder of [...folders].sort()) {
    const here = [...fates].filter(([one]) => one.asked === folder || dirname(one.file) === folder)
    const count = (...which: readonly Fate[]) => here.filter(([, fate]) => which.includes(fate)).length
    const killed = count('killed', 'timed out')
    const may = here.filter(([one, fate]) => (fate === 'survived' || fate === 'not run') && reasonOf(one)).length
    const share = (of: number) => (of === 0 ? 1 : Math.round((1000 * killed) / of) / 1000)
    console.log(
      JSON.stringify({
        ...{ figure: 'mutation', folder, mutations: here.length, killed, timedOut: count('timed out') },
        ...{ survived: count('survived'), notRun: count('not run'), accepted: may },
        ...{ share: share(here.length), shareWithoutAccepted: share(here.length - may) },
        ...{
          sample: values.sample ?? 'all',
          seed: values.seed,
          mostS: Number(values['most-s']),
          near,
          tests: values.tests,
        },
      }),
    )
  }
}

function changeOf({ was, now }: Mutation): string {
  return `${was} -> ${now}`
}

function described(one: Mutant): string {
  return `${one.file}:${one.line} ${changeOf(one)}`
}

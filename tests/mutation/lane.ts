/**
 * One process that runs test files of a copy again and again, each time with one mutation awake; started by mutation.ts with the copy's folder and the
 * name of its setup file. A mutation that never ends is ended by whoever started this.
 */
import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { createVitest, type TestSpecification } from 'vitest/node'

/** Test files from the copy's folder; `mutant` -1 for none, `seen` the file to which each place that is come by is added. */
export interface LaneRequest {
  readonly files: readonly string[]
  readonly mutant: number
  readonly seen: string
}

export interface LaneAnswer {
  readonly failed: boolean
  /** Of the first file that failed. */
  readonly by: string
  readonly why: string
  readonly tests: number
  /** Of this process and its threads, so that a busy machine does not make a test long. */
  readonly cpuMs: number
}

const [copy = '', setup = ''] = process.argv.slice(2)

/** In the order asked for: nearest first. */
class AsAsked {
  sort(files: TestSpecification[]): TestSpecification[] {
    return files
  }
  shard(files: TestSpecification[]): TestSpecification[] {
    return files
  }
}

const tell = (answer: LaneAnswer | 'ready') => process.send?.(answer)
const vitest = await createVitest('test', {
  ...{
    root: copy,
    config: false,
    watch: false,
    reporters: [{}],
    silent: true,
    bail: 1,
    include: ['tests/**/*.test.ts'],
  },
  ...{
    pool: 'threads',
    isolate: false,
    fileParallelism: false,
    maxWorkers: 1,
    testTimeout: 120_000,
    hookTimeout: 120_000,
  },
  ...{ setupFiles: [join(copy, setup)], sequence: { sequencer: AsAsked } },
})
const project = vitest.getRootProject()

async function run({ files, mutant, seen }: LaneRequest): Promise<LaneAnswer> {
  writeFileSync(
    join(copy, `${setup}.json`),
    JSON.stringify({ MUTANT: String(mutant), ...(seen === '' ? {} : { MUTANT_SEEN: seen }) }),
  )
  const paths = files.map((file) => join(copy, file))
  const before = process.cpuUsage()
  const ran = await vitest.runTestSpecifications(paths.map((path) => project.createSpecification(path)))
  // it also gives every module of the runs before, as it stood then
  const testModules = ran.testModules.filter(({ moduleId }) => paths.includes(moduleId))
  const { unhandledErrors } = ran
  if (testModules.length === 0) throw new Error(`nothing ran of ${files.join(', ')}`)
  const broken = testModules.find((module) => !module.ok())
  const tests = testModules.reduce((sum, module) => sum + [...module.children.allTests('passed')].length, 0)
  const first = broken?.errors()[0] ?? [...(broken?.children.allTests('failed') ?? [])][0]?.result().errors?.[0]
  const why = first?.message ?? String(unhandledErrors[0] ?? '')
  const { user, system } = process.cpuUsage(before)
  const failed = broken !== undefined || unhandledErrors.length > 0
  return { failed, by: broken?.relativeModuleId ?? '', why, tests, cpuMs: (user + system) / 1000 }
}

process.on('message', async (request: LaneRequest) => tell(await run(request)))
process.on('disconnect', () => process.exit())
tell('ready')

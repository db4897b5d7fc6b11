import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { basename, join } from 'node:path'
import type { Offered, OfferedCard, WrongFile } from '../alignment/offered.ts'
import type { LoadedBench } from '../bench/load-bench.ts'
import type { CourseFacts } from '../course/course.ts'
import { sha256 } from '../record/chain.ts'
import { HOME } from '../recording/home.ts'
import type { TextFile } from '../schema/course/course-line.ts'
import { DRIVERS } from './bench-options.ts'

const PLANS = join(HOME, 'procedures', 'plans')
/** What a bench waits for its instruments where nothing else is said, ms. */
const OPEN_WITHIN_MS = 5000

/** What stands at the head of a course: every file that was read, as it was read. */
export function courseFacts(about: {
  readonly benchFile: string
  readonly loaded: LoadedBench
  readonly offered: readonly Offered[]
  readonly ruleCards: readonly OfferedCard[]
  readonly wrongFiles?: readonly WrongFile[]
  readonly addresses: Readonly<Record<string, string>>
  readonly setPage: string | null
  readonly openWithinMs?: number
  readonly writesJobs: boolean
}): CourseFacts {
  const { loaded, offered, ruleCards, wrongFiles = [], addresses, setPage, openWithinMs = OPEN_WITHIN_MS } = about
  return {
    program: `trimwright ${JSON.parse(readFileSync(join(HOME, 'package.json'), 'utf8')).version}`,
    bench: kept('bench.yaml', readFileSync(about.benchFile, 'utf8')),
    drivers: withParents([...loaded.drivers.keys()]).map((id) => fileIn(DRIVERS, `${id}.yaml`)),
    procedures: offered.map(({ file, text }) => kept(file, text)),
    plans: readdirSync(PLANS)
      .filter((name) => name.endsWith('.yaml'))
      .map((name) => fileIn(PLANS, name)),
    ruleCards: ruleCards.map(({ file, text }) => kept(file, text)),
    wrongFiles: wrongFiles.map(({ file, words }) => ({ file, words: [...words] })),
    addresses: { ...addresses },
    setPage,
    openWithinMs,
    writesJobs: about.writesJobs,
  }
}

/** A driver that extends another needs that one too. */
function withParents(ids: readonly string[]): readonly string[] {
  const parents = ids.flatMap((id) => {
    const file = join(DRIVERS, `${id}.yaml`)
    const parent = existsSync(file) ? /^extends:\s*"?([a-z0-9-]+)/m.exec(readFileSync(file, 'utf8'))?.[1] : undefined
    return parent === undefined ? [] : [parent]
  })
  return [...new Set([...ids, ...parents])]
}

function fileIn(folder: string, name: string): TextFile {
  return kept(name, readFileSync(join(folder, name), 'utf8'))
}

function kept(file: string, text: string): TextFile {
  return { file: basename(file), sha256: sha256(text), text }
}

import { execFileSync } from 'node:child_process'
import { readFileSync, realpathSync } from 'node:fs'
import { join } from 'node:path'

/** Holds the commit in an archive that git made (`.gitattributes`), and a place for it everywhere else. */
const ARCHIVED = '.commit'
const COMMIT = /^[0-9a-f]{40}$/
const WITHIN_MS = 10_000

/**
 * The commit that a folder of sources is of, for a record to name: 40 hex digits, with " with changes" behind them where a file that
 * git knows was changed since; null where nothing says so (an archive by other means, no git). Asked when the program is built.
 */
export function builtFrom(home: string): string | null {
  const archived = textOf(() => readFileSync(join(home, ARCHIVED), 'utf8'))
  if (COMMIT.test(archived)) return archived
  const git = (...words: readonly string[]) =>
    execFileSync('git', ['-C', home, ...words], {
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'ignore'],
      timeout: WITHIN_MS,
    })
  // a folder that lies inside another project is not of that project's commit
  const top = textOf(() => git('rev-parse', '--show-toplevel'))
  if (top === '' || realpathSync(top) !== realpathSync(home)) return null
  const commit = textOf(() => git('rev-parse', 'HEAD'))
  if (!COMMIT.test(commit)) return null
  const changed = textOf(() => git('status', '--porcelain', '--untracked-files=no'))
  return changed === '' ? commit : `${commit} with changes`
}

function textOf(read: () => string): string {
  try {
    return read().trim()
  } catch {
    return '' // no such file, no git, no commit: it is not known, and that is said
  }
}

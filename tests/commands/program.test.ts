import { execFileSync, spawnSync } from 'node:child_process'
import { mkdirSync, mkdtempSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { builtFrom } from '../../src/recording/built-from.ts'
import { PROGRAM, programWords } from '../../src/recording/program.ts'

const hasGit = spawnSync('git', ['--version']).status === 0
const COMMIT = '0123456789abcdef0123456789abcdef01234567'
const folder = () => mkdtempSync(join(tmpdir(), 'trimwright-built-'))

function repository(): { readonly home: string; readonly commit: string } {
  const home = folder()
  const git = (...words: readonly string[]) =>
    execFileSync('git', ['-C', home, '-c', 'user.name=test', '-c', 'user.email=test@localhost', ...words], {
      encoding: 'utf8',
    }).trim()
  git('init', '-q')
  writeFileSync(join(home, 'source.ts'), 'one\n')
  git('add', '.')
  git('-c', 'commit.gpgsign=false', 'commit', '-q', '-m', 'one')
  return { home, commit: git('rev-parse', 'HEAD') }
}

describe('the commit that the program was built from', () => {
  test.skipIf(!hasGit)('of a clean clone: its commit', () => {
    const { home, commit } = repository()
    expect(commit).toMatch(/^[0-9a-f]{40}$/)
    expect(builtFrom(home)).toBe(commit)
  })

  test.skipIf(!hasGit)('a file of it was changed: said; a new file that git does not know is no change', () => {
    const { home, commit } = repository()
    writeFileSync(join(home, 'notes.txt'), 'new\n')
    expect(builtFrom(home)).toBe(commit)
    writeFileSync(join(home, 'source.ts'), 'two\n')
    expect(builtFrom(home)).toBe(`${commit} with changes`)
  })

  test.skipIf(!hasGit)('unpacked inside another project: unknown, not the commit of that one', () => {
    const { home } = repository()
    const inside = join(home, 'unpacked')
    mkdirSync(inside)
    expect(builtFrom(inside)).toBeNull()
  })

  test('an archive that git made: the commit written into it', () => {
    const home = folder()
    writeFileSync(join(home, '.commit'), `${COMMIT}\n`)
    expect(builtFrom(home)).toBe(COMMIT)
  })

  test('the place for it left as it is, or another archive: unknown', () => {
    const home = folder()
    expect(builtFrom(home)).toBeNull()
    writeFileSync(join(home, '.commit'), '$Format:%H$\n')
    expect(builtFrom(home)).toBeNull()
  })
})

describe('the program as a record names it', () => {
  test('with its commit, or why that is unknown', () => {
    expect(programWords('0.1.0', COMMIT)).toBe(`trimwright 0.1.0 (commit ${COMMIT})`)
    expect(programWords('0.1.0', null)).toBe('trimwright 0.1.0 (commit unknown: built without git)')
    expect(programWords('0.1.0', undefined)).toBe('trimwright 0.1.0 (commit unknown: run from its sources)')
  })

  test('here, in a test, it runs from its sources', () => {
    expect(PROGRAM).toMatch(/^trimwright \d+\.\d+\.\d+ \(commit unknown: run from its sources\)$/)
  })
})

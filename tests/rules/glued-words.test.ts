import { execFile } from 'node:child_process'
import { cpSync, mkdtempSync, readFileSync, realpathSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, test } from 'vitest'

const HOME = join(import.meta.dirname, '..', '..')

/** Files that still glue words into a text: they shrink to nothing as their sentences become data. */
const STILL: readonly string[] = []

/**
 * A sentence as data in a template literal would read "[object Object]", and the compiler has nothing against it. It has against symbols:
 * in a copy where words may be one too, each such place is an error (TS2731).
 */
test('no sentence as data is glued into a text', { timeout: 120_000 }, async () => {
  const copy = mkdtempSync(join(tmpdir(), 'glued-'))
  try {
    for (const folder of ['src', 'mocks', 'web', 'tests', 'tsconfig.json', 'package.json'])
      cpSync(join(HOME, folder), join(copy, folder), { recursive: true })
    symlinkSync(realpathSync(join(HOME, 'node_modules')), join(copy, 'node_modules'))
    const file = join(copy, 'src/words/said/said.ts')
    const text = readFileSync(file, 'utf8')
    const changed = text.replace('export type Words = string | Said', 'export type Words = string | Said | symbol')
    expect(changed).not.toBe(text)
    writeFileSync(file, changed)
    const told = await types(copy)
    const glued = told.split('\n').flatMap((line) => /^(\S+)\(\d+,\d+\): error TS2731/.exec(line)?.[1] ?? [])
    expect([...new Set(glued)].sort()).toEqual([...STILL].sort())
  } finally {
    rmSync(copy, { recursive: true })
  }
})

function types(folder: string): Promise<string> {
  return new Promise((resolve) => {
    const tsc = join(HOME, 'node_modules/typescript/bin/tsc')
    execFile(process.execPath, [tsc, '--noEmit', '-p', folder], { cwd: folder, maxBuffer: 1 << 26 }, (_, out) =>
      resolve(out),
    )
  })
}

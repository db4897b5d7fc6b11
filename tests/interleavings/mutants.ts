/**
 * `npm run interleavings:mutants` takes each cure out in a copy of this checkout, runs the interleavings there and says whether the fault is found
 * again: by the lists that once showed it, and by chance. `--as-is` looks for each fault in the code as it stands; `--item N` does one.
 * Ends with 1 where a fault is not found, or where the text of an edit is not in its file any more.
 */
import { spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { copyHouse } from '../kit/copy-house.ts'
import { MUTANTS, type Mutant } from './mutant-list.ts'

const { values } = parseArgs({
  options: {
    'as-is': { type: 'boolean', default: false },
    item: { type: 'string' },
    runs: { type: 'string', default: '800' },
  },
})

let missed = 0
for (const mutant of MUTANTS.filter(wanted)) {
  const { item, cure, edits } = mutant
  const head = `${typeof item === 'number' ? `item ${item}` : `rule "${item}"`}, without "${cure}"`
  if (edits.length === 0 && !values['as-is']) {
    console.log(`${head}: no edit is written down`)
    missed += 1
    continue
  }
  const copy = mkdtempSync(join(tmpdir(), 'trimwright-mutant-'))
  try {
    copyHouse(copy)
    if (!values['as-is']) apply(mutant, copy)
    const which = typeof item === 'number' ? ['--item', String(item)] : ['--rule', item]
    const words = ['--import', 'tsx', 'tests/interleavings/find.ts', ...which, '--runs', values.runs]
    const { status, stdout, stderr } = spawnSync(process.execPath, words, { cwd: copy, encoding: 'utf8' })
    if (status !== 0) missed += 1
    console.log(`${head}: ${status === 0 ? 'found' : 'NOT FOUND'} ${stdout.trim()}${status === 0 ? '' : stderr}`)
  } catch (error) {
    missed += 1
    console.log(`${head}: ${error instanceof Error ? error.message : String(error)}`)
  } finally {
    rmSync(copy, { recursive: true, force: true })
  }
}
process.exitCode = missed > 0 ? 1 : 0

/** As the code stands, only faults of the list can be looked for: a guard is there or it is not. */
function wanted({ item }: Mutant): boolean {
  if (values['as-is'] && typeof item === 'string') return false
  return values.item === undefined || String(item) === values.item
}

/** Throws where a text is not in its file exactly once. */
function apply({ edits }: Mutant, copy: string): void {
  for (const { file, text, replacement } of edits) {
    const before = readFileSync(join(copy, file), 'utf8')
    const parts = before.split(text)
    if (parts.length !== 2) throw new Error(`${file} has the text ${parts.length - 1} times: ${text}`)
    writeFileSync(join(copy, file), parts.join(replacement))
  }
}

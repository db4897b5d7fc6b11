/**
 * A process whose files may not grow beyond a few kilobytes, until it makes room for itself: says what became of each entry, a JSON
 * line each. Argument: data folder. To be started under a soft limit on the size of files (`ulimit -S -f`).
 */
import { execFileSync } from 'node:child_process'
import { openJournal } from '../../../src/record/journal.ts'
import { headerOf, WALL } from './journal-kit.ts'

process.on('SIGXFSZ', () => {}) // the write fails instead
const [folder = ''] = process.argv.slice(2)
const journal = await openJournal({ folder, header: headerOf(), clock: WALL })
const say = (facts: object) => process.stdout.write(`${JSON.stringify(facts)}\n`)
const note = async (words: string) => {
  const kept = await journal.append({ kind: 'event', what: 'note', words }).then(
    () => true,
    (error) => String(error.code),
  )
  say({ words: words.slice(0, 12), kept })
}
await note('before')
await note(`too long ${'x'.repeat(20_000)}`)
await note('while full')
execFileSync('prlimit', ['--pid', String(process.pid), '--fsize=unlimited'])
await note('after')
await journal.close()
say({ file: journal.file })

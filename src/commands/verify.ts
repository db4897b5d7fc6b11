import { existsSync } from 'node:fs'
import { isDeepStrictEqual } from 'node:util'
import { BenchError, wordsOf } from '../fault/bench-error.ts'
import { readPublicKey } from '../record/key.ts'
import { readJournal } from '../record/read-journal.ts'
import { recordOf } from '../record/record-of.ts'
import { type Verified, verifyRecord } from '../record/verify-record.ts'
import { LONGEST_RECORD_BYTES, readTextFile } from '../schema/door/yaml-door.ts'
import { type Command, type ExitCode, textOf } from './command.ts'
import { recordDecoder } from './record-decode.ts'

const EXITS: Readonly<Record<Verified['answer'], ExitCode>> = { good: 0, not: 1, unreadable: 2 }

/** `verify RECORD`: 0 it is good, 1 it is not, 2 it cannot be read. */
export const verify: Command = {
  usage: 'verify RECORD',
  does: 'checks a signed record: signature, every raw reply, value and verdict',
  options: { key: { type: 'string' } },
  help: { key: 'public key (PEM) to check with, instead of the one in the file' },
  run: async (values, words, output) => {
    const [file, ...more] = words
    if (file === undefined || more.length > 0)
      throw new BenchError('COMMAND_USAGE', 'trimwright verify', `one record is wanted, ${words.length} given`)
    const keyFile = textOf(values, 'key')
    const key = keyFile === undefined ? null : readPublicKey(keyFile)
    const found = verifyRecord(readTextFile(file, LONGEST_RECORD_BYTES), { key, decode: recordDecoder() })
    const answer = withJournal(found, file)
    if (values.json === true) {
      const { payload: _, ...said } = answer
      output.out(JSON.stringify({ file, ...said }))
    } else for (const line of answer.words) output.out(line)
    return EXITS[answer.answer]
  },
}

/** Where the journal lies beside the record, its chain has to hold, end where the record says, and fold to what was signed. */
function withJournal(found: Verified, file: string): Verified {
  const journal = file.replace(/\.jws$/, '.journal')
  if (!found.payload || found.answer !== 'good' || journal === file || !existsSync(journal)) return found
  try {
    const read = readJournal(journal)
    const { head, lines } = found.payload.journal
    if (head !== read.head || lines !== read.lines.length)
      return noted(found, 'not', 'The journal beside it is another one, or went on after the record was made.')
    if (!isDeepStrictEqual(recordOf(read), found.payload))
      return noted(found, 'not', 'The journal beside it ends where the record says, but says something else.')
    const words = `The journal beside it holds together, ${lines} lines, and says the same.`
    return noted(found, 'good', words)
  } catch (error) {
    return noted(found, 'not', `The journal beside it: ${wordsOf(error)}`)
  }
}

function noted(found: Verified, answer: Verified['answer'], words: string): Verified {
  return { ...found, answer, words: [...found.words, words] }
}

import { existsSync } from 'node:fs'
import { isDeepStrictEqual } from 'node:util'
import { BenchError, wholeWords } from '../fault/bench-error.ts'
import { readPublicKey } from '../record/key.ts'
import { olderTornCut } from '../record/older-values.ts'
import { readJournal } from '../record/read-journal.ts'
import { recordOf } from '../record/record-of.ts'
import { type Verified, verifyRecord } from '../record/verify-record.ts'
import { LONGEST_RECORD_BYTES, readTextFile } from '../schema/door/yaml-door.ts'
import { type Said, said } from '../words/said/said.ts'
import { sentence, worded } from '../words/sentence/sentence.ts'
import { type Command, type ExitCode, textOf } from './command.ts'
import { recordDecoder } from './record-decode.ts'

const EXITS: Readonly<Record<Verified['answer'], ExitCode>> = { good: 0, not: 1, unreadable: 2 }

/** `verify RECORD`: 0 it is good, 1 it is not, 2 it cannot be read. */
export const verify: Command = {
  usage: 'verify RECORD',
  does: said('command.verify-does'),
  options: { key: { type: 'string' } },
  help: { key: said('command.verify-key') },
  run: async (values, words, output) => {
    const [file, ...more] = words
    if (file === undefined || more.length > 0)
      throw new BenchError('COMMAND_USAGE', 'trimwright verify', said('command.record-one', { count: words.length }))
    const keyFile = textOf(values, 'key')
    const key = keyFile === undefined ? null : readPublicKey(keyFile)
    const found = verifyRecord(readTextFile(file, LONGEST_RECORD_BYTES), { key, decode: recordDecoder() })
    const answer = withJournal(found, file)
    const { payload: _, ...told } = answer
    if (values.json === true) output.out(JSON.stringify({ file, ...worded(told) }))
    else for (const line of answer.words) output.out(sentence(line))
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
    if (head !== read.head || lines !== read.lines.length) return noted(found, 'not', said('record.beside-another'))
    const same = [recordOf(read), recordOf(read, olderTornCut)].some((one) => isDeepStrictEqual(one, found.payload))
    return same
      ? noted(found, 'good', said('record.beside-same', { lines }))
      : noted(found, 'not', said('record.beside-otherwise'))
  } catch (error) {
    return noted(found, 'not', said('record.beside-fault', { fault: wholeWords(error) }))
  }
}

function noted(found: Verified, answer: Verified['answer'], words: Said): Verified {
  return { ...found, answer, words: [...found.words, words] }
}

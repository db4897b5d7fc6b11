import { writeFileSync } from 'node:fs'
import { resolve } from 'node:path'
import { BenchError, wordsOf } from '../fault/bench-error.ts'
import { sha256 } from '../record/chain.ts'
import { reportPage } from '../record/report.ts'
import { verifyRecord } from '../record/verify-record.ts'
import { LONGEST_RECORD_BYTES, readTextFile } from '../schema/door/yaml-door.ts'
import { said } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { type Command, textOf } from './command.ts'
import { recordDecoder } from './record-decode.ts'

/** `report RECORD`: 0 written, 1 the record does not hold, 2 it cannot be read or written. */
export const report: Command = {
  usage: 'report RECORD',
  does: said('command.report-does'),
  options: { out: { type: 'string' } },
  help: { out: said('command.report-out') },
  run: async (values, words, output) => {
    const [file, ...more] = words
    if (file === undefined || more.length > 0)
      throw new BenchError('COMMAND_USAGE', 'trimwright report', said('command.record-one', { count: words.length }))
    const text = readTextFile(file, LONGEST_RECORD_BYTES)
    const { answer, payload, fingerprint, words: found } = verifyRecord(text, { key: null, decode: recordDecoder() })
    if (answer !== 'good' || !payload) {
      for (const line of found) output.err(sentence(line))
      return answer === 'unreadable' ? 2 : 1
    }
    const out = textOf(values, 'out') ?? file.replace(/(\.jws)?$/, '.html')
    if (resolve(out) === resolve(file))
      throw new BenchError('COMMAND_USAGE', 'trimwright report', said('command.report-over-record', { file }))
    try {
      writeFileSync(out, reportPage(payload, fingerprint, sha256(text)))
    } catch (error) {
      throw new BenchError('RECORD_WRITE_FAILED', out, wordsOf(error), error)
    }
    output.out(values.json === true ? JSON.stringify({ file: out }) : out)
    return 0
  },
}

import { cpSync, mkdtempSync, readFileSync, renameSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { beforeEach, describe, expect, test } from 'vitest'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { verify } from '../../src/commands/verify.ts'
import { signingKey } from '../../src/record/key.ts'
import { parseJournal } from '../../src/record/read-journal.ts'
import { WHOLE_SHEET } from '../kit/job/job-bench.ts'
import { dataFolder } from '../kit/job/journal-kit.ts'

const made = dataFolder()
const { outcome } = await runFast({ procedure: WHOLE_SHEET, seed: 7, warm: true, bands: [], recordIn: made })

let folder = ''
let record = ''
let journal = ''
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'verify-'))
  cpSync(made, folder, { recursive: true })
  record = outcome.record.replace(made, folder)
  journal = record.replace('.jws', '.journal')
})

async function run(words: readonly string[], values: Readonly<Record<string, string | boolean>> = {}) {
  const out: string[] = []
  const output = { out: (line: string) => out.push(line), err: (line: string) => out.push(line) }
  const exit = await verify.run(values, words, output, new AbortController().signal)
  return { exit, out }
}

describe('verify', () => {
  test('a good record: 0, with the key in the file, and its journal says the same', async () => {
    const { exit, out } = await run([record])
    expect(exit).toBe(0)
    expect(out[0]).toMatch(/^Intact, signed by [0-9A-F-]{19} \(the key in the file/)
    expect(out.at(-1)).toMatch(/^The journal beside it holds together, \d+ lines, and says the same\.$/)
  })

  test('with --key: 0 with the right one, 1 with the key of somebody else', async () => {
    expect((await run([record], { key: join(folder, 'signing-key.pub.pem') })).out[0]).toMatch(/\(the key you gave\)/)
    const other = dataFolder()
    signingKey(other)
    const { exit, out } = await run([record], { key: join(other, 'signing-key.pub.pem') })
    expect([exit, ...out]).toEqual([1, 'Not intact: the signature does not belong to these bytes and this key'])
  })

  test('one digit changed: 1', async () => {
    const text = readFileSync(record, 'utf8')
    writeFileSync(record, `${text.slice(0, 9000)}${text[9000] === 'A' ? 'B' : 'A'}${text.slice(9001)}`)
    expect((await run([record])).exit).toBe(1)
  })

  test('a journal beside it that was changed, or went on: 1, and which line', async () => {
    const text = readFileSync(journal, 'utf8')
    writeFileSync(journal, text.replace('"kind":"answered"', '"kind":"answered" '))
    const changed = await run([record])
    expect(changed.exit).toBe(1)
    expect(changed.out.at(-1)).toMatch(/^The journal beside it: .*line \d+ does not follow the one before/)
    const { lines, head } = parseJournal(Buffer.from(text), journal)
    const more = { n: lines.length, prev: head, at: '2026-01-05T09:00:00.000Z', kind: 'event', what: 'note', words: '' }
    writeFileSync(journal, `${text}${JSON.stringify(more)}\n`)
    const longer = await run([record])
    expect([longer.exit, longer.out.at(-1)]).toEqual([
      1,
      'The journal beside it is another one, or went on after the record was made.',
    ])
  })

  test('without its journal beside it: 0, and nothing is said about one', async () => {
    renameSync(journal, `${journal}.away`)
    const { exit, out } = await run([record])
    expect([exit, out.some((line) => line.includes('journal'))]).toEqual([0, false])
  })

  test('what is no record: 2', async () => {
    writeFileSync(record, 'hello')
    expect(await run([record])).toEqual({
      exit: 2,
      out: ['Not intact: it is not a compact JWS: three parts of base64url with points between'],
    })
  })

  test('a file that is not there, or none named, is a fault', async () => {
    await expect(run([join(folder, 'none.jws')])).rejects.toThrow(/none\.jws/)
    await expect(run([])).rejects.toMatchObject({ code: 'COMMAND_USAGE' })
  })

  test('--json is one object with the answer, the words and the fingerprint', async () => {
    const { exit, out } = await run([record], { json: true })
    expect([exit, out.length]).toEqual([0, 1])
    const said = JSON.parse(out[0] ?? '')
    expect(said).toMatchObject({ file: record, answer: 'good', fingerprint: expect.stringMatching(/^[0-9A-F-]{19}$/) })
    expect(Object.keys(said)).not.toContain('payload')
  })
})

import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { parse } from 'yaml'
import { channels } from '../../src/commands/channels.ts'
import { check } from '../../src/commands/check.ts'
import type { Command } from '../../src/commands/command.ts'
import { replay } from '../../src/commands/course/replay.ts'
import { job } from '../../src/commands/job/job.ts'
import { look } from '../../src/commands/look.ts'
import { report } from '../../src/commands/report.ts'
import { rollcall } from '../../src/commands/rollcall.ts'
import { serve } from '../../src/commands/serve.ts'
import { simulate } from '../../src/commands/simulate.ts'
import { verify } from '../../src/commands/verify.ts'
import { ruleWords } from '../../src/core/uncertainty/decision.ts'
import { signingKey } from '../../src/record/key.ts'
import { reportPage } from '../../src/record/report.ts'
import { signPayload } from '../../src/record/sign.ts'
import { RECORD_SENTENCE, type RecordPayload } from '../../src/schema/kept/record.ts'
import { ENGLISH } from '../../src/words/english/english.ts'
import { said } from '../../src/words/said/said.ts'
import { speakAs } from '../../src/words/sentence/languages.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { dataFolder } from '../kit/job/journal-kit.ts'
import { keptPayload, numbered } from '../kit/job/kept-record.ts'
import { runCommand } from '../kit/program/run-command.ts'
import { textsIn, untranslated } from '../kit/program/untranslated.ts'

beforeAll(() => speakAs('pseudo'))
afterAll(() => speakAs(undefined))

const folder = mkdtempSync(join(tmpdir(), 'trimwright-pseudo-'))

/** What a command prints, all of it. */
async function told(command: Command, words: readonly string[], values = {}): Promise<string> {
  const lines: string[] = []
  const output = { out: (line: string) => lines.push(line), err: (line: string) => lines.push(line) }
  await command.run(values, words, output, new AbortController().signal)
  return lines.join('\n')
}

/** Everything that a report can say at once. */
function fullPayload(): RecordPayload {
  const payload = keptPayload()
  const { header, values, steps } = payload
  Object.assign(header, {
    complaint: 'it hums all day',
    bands: ['cept'],
    intake: { chassis: 'not measured', speaker: 'one side to chassis', tampered: 'wax is broken there' },
    continues: { job: '20250101-080000-T1-abcd', at: '2025-01-01T08:00:00.000Z', head: '0'.repeat(64) },
  })
  Object.assign(header.instruments[0] ?? {}, { typed: true })
  Object.assign(header.instruments[1] ?? {}, { identity: '', due: 'not said' })
  values.forEach((value, at) => {
    Object.assign(value, {
      latest: at % 3 !== 0,
      accepted: at % 5 !== 0,
      ...(at % 6 === 0 ? { takenBack: true } : {}),
      ...(at % 7 === 0 ? { slope: 0.01, label: 'drifting' } : {}),
    })
  })
  for (const at of [1, 2, 3, 4]) numbered(payload, at).limit = 'in but touching'
  for (const at of [5, 7, 8]) numbered(payload, at).limit = 'out but touching'
  steps.forEach((step, at) => {
    if (at % 3 === 0) Object.assign(step, { state: 'left out', reason: said('record.not-as-found-in-time') })
    if (at % 3 === 1) step.state = 'to do'
  })
  payload.events = ['as found closed', 'supply safe', 'link lost', 'resumed'].map((what) => ({
    at: payload.openedAt,
    what,
    words: said('record.torn-cut', { bytes: 7 }),
  }))
  payload.marks = [
    { number: 1, at: payload.openedAt, title: 'Power', reading: '3.8 W', words: '' },
    { number: 2, at: payload.openedAt, title: 'Power', reading: '', words: '' },
  ]
  payload.answers = ['done', 'kept as it is', 'read again', 'caution seen'].map((answer) => ({
    at: payload.openedAt,
    question: said('record.still-open'),
    answer,
  }))
  return payload
}

/** Words of the report that are told in other sentences than the record holds: they are no text of a file. */
const SAID_OTHERWISE = new Set([
  'as found closed',
  'kept as it is',
  'one side to chassis',
  'in but touching',
  'out but touching',
])
const ownTexts = (payload: RecordPayload) =>
  textsIn(payload).filter((text) => !SAID_OTHERWISE.has(text) && text !== RECORD_SENTENCE)

describe('in the pseudo-language nothing untranslated is left', () => {
  test('in a report that says all that it can', () => {
    const payload = fullPayload()
    const page = reportPage(payload, 'AAAA-BBBB', 'f'.repeat(64))
    const text = page
      .replace(/<style>.*?<\/style>/s, '')
      .replace(/<[^>]+>/g, ' | ')
      .replaceAll('&#39;', "'")
      .replaceAll('&quot;', '"')
    expect(untranslated(text, [...ownTexts(payload), ...textsIn(ruleWords(payload.header.decisionRule))])).toEqual([])
    expect(page).toContain(sentence(said('report.title')))
    expect(page).not.toContain('"page "')
  })

  test('in what verify says of a good record, and of one that does not hold', async () => {
    const at = dataFolder()
    const key = signingKey(at)
    for (const payload of [keptPayload(), fullPayload()]) {
      const file = join(at, 'one.jws')
      writeFileSync(file, await signPayload(Buffer.from(JSON.stringify(payload)), key))
      const lines = await told(verify, [file])
      expect(lines.split('\n').length).toBeGreaterThan(3)
      // what is held against the record is quoted as it stands in it
      expect(untranslated(lines, [...ownTexts(payload), ...SAID_OTHERWISE, 'out of band'])).toEqual([])
    }
    writeFileSync(join(at, 'none.jws'), 'hello')
    expect(untranslated(await told(verify, [join(at, 'none.jws')]), [at])).toEqual([])
  })

  test('in what check says of files that are right and of what is to be known of them', async () => {
    const files = [
      'drivers/supply-plain-scpi.yaml',
      'drivers/counter-scpi.yaml',
      join('procedures', 'brackwater-27m-transmit.yaml'),
    ]
    const lines = await told(check, files)
    expect(lines.split('\n')).toHaveLength(4)
    expect(untranslated(lines, files)).toEqual([])
  })

  test('in what a fast job prints', async () => {
    const procedure = join('tests', 'kit', 'two-steps.yaml')
    const own = [...textsIn(parse(readFileSync(procedure, 'utf8'))), folder]
    const lines = await told(job, [procedure], { hand: true, fast: true, data: folder, serial: 'P1' })
    expect(lines).toContain(sentence(said('command.record')))
    expect(untranslated(lines, own)).toEqual([])
  })

  test.each([channels, check, job, look, replay, report, rollcall, serve, simulate, verify])(
    'in the help of $usage',
    ({ does, help }) => {
      const lines = [does, ...Object.values(help)].map((words) => sentence(words))
      expect(lines.every((line) => !/[a-z]{3}/.test(line.replace(/--\S+/g, '')))).toBe(true)
    },
  )

  test('in what the program itself prints when it is asked for help, by the environment', async () => {
    const { out, code } = await runCommand(['--help'], undefined, { TRIMWRIGHT_LANGUAGE: 'pseudo' })
    expect(code).toBe(0)
    expect(untranslated(out, ['npm run -s trimwright -- COMMAND'])).toEqual([])
    expect(out).toContain(sentence(said('command.each-takes')))
  }, 60_000)
})

test('a run of three plain words is found, whatever stands round it', () => {
  expect(untranslated('ŕéáď "this is not" ďóñé; and, so (on) ṽ', [])).toEqual(['this is not', 'and so on'])
  expect(untranslated('Power at full: ŕéáď, two words ŕéáď', ['Power at full'])).toEqual([])
})

test('the sentence of a record is the one of the dictionary, word for word', () => {
  expect(ENGLISH['record.what-it-is']).toBe(RECORD_SENTENCE)
})

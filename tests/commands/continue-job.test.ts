import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { afterAll, expect, test, vi } from 'vitest'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { recordDecoder } from '../../src/commands/record-decode.ts'
import { FIRST, NEWEST } from '../../src/core/reading/algorithms.ts'
import { foundIn, knownJob, withEarlier } from '../../src/recording/earlier-job.ts'
import { sentence, worded } from '../../src/words/sentence/sentence.ts'
import { JobBench, METERS, PROCEDURE, WHOLE_SHEET } from '../kit/job/job-bench.ts'
import { verifiedInWords } from '../kit/job/kept-record.ts'
import { OPENSSL_GOOD, opensslSays } from '../kit/program/openssl.ts'

vi.setConfig({ testTimeout: 60_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-continue-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const about = { warm: true, bands: [], recordIn: folder }

const first = await runFast({ ...about, procedure: WHOLE_SHEET, seed: 11 })
const job = basename(first.outcome.record, '.jws')

const read = (record: string) => {
  const { answer, payload, words } = verifiedInWords(readFileSync(record, 'utf8'), {
    key: null,
    decode: recordDecoder(),
  })
  if (!payload) throw new Error(words.join(' '))
  return { answer, payload, words }
}

test('a new job of the same serial keeps the old as found, locked: not one of its values is read again, and its record is good', async () => {
  const second = await runFast({ ...about, procedure: WHOLE_SHEET, seed: 12, continues: job })
  const before = read(first.outcome.record).payload
  const { answer, payload, words } = read(second.outcome.record)
  expect(answer).toBe('good')
  expect(opensslSays(readFileSync(second.outcome.record, 'utf8'), folder)).toContain(OPENSSL_GOOD)
  expect(words.join(' ')).toContain(`As found stands from job ${job}`)
  expect(payload.header.continues).toMatchObject({ job })
  const found = ({ values }: typeof payload) => values.filter(({ pass }) => pass === 'found')
  expect(found(payload).map(({ step, value, at }) => ({ step, value, at }))).toEqual(
    found(before).map(({ step, value, at }) => ({ step, value, at })),
  )
  expect(new Set(found(payload).map(({ from }) => from))).toEqual(new Set([job]))
  expect(payload.values.filter(({ pass }) => pass !== 'found').every(({ from }) => from === undefined)).toBe(true)
  const settings = (of: typeof payload) => of.settings.map(({ name, found: was }) => ({ name, was }))
  expect(settings(payload)).toEqual(settings(before))
})

test('a job of the first program that kept any: its as-found readings stand, by the versions of that time, beside new ones by the newest', async () => {
  const fixture = join(import.meta.dirname, '..', 'reference', 'records', '217c31d-whole.journal.gz')
  const journal = gunzipSync(readFileSync(fixture))
  const { header } = JSON.parse(journal.toString('utf8', 0, journal.indexOf(10)))
  writeFileSync(join(folder, 'jobs', `${header.job}.journal`), journal)
  const second = await runFast({
    ...about,
    procedure: WHOLE_SHEET,
    seed: 7,
    serial: header.serial,
    continues: header.job,
  })
  const { answer, payload, words } = read(second.outcome.record)
  expect(words.slice(1, 3).join(' ')).toMatch(/worked out again/)
  expect(answer).toBe('good')
  const [found, own] = [true, false].map((earlier) =>
    payload.values.filter(({ from }) => (from !== undefined) === earlier).map(({ evidence }) => evidence.algorithms),
  )
  expect(new Set(found?.map((one) => JSON.stringify(one)))).toEqual(new Set([JSON.stringify(FIRST)]))
  expect(new Set(own?.map((one) => JSON.stringify(one)))).toEqual(new Set([JSON.stringify(NEWEST)]))
})

test('another serial, a job that is not there: refused in words', async () => {
  const wrong = runFast({ ...about, procedure: PROCEDURE, seed: 12, continues: 'no-such-job' })
  await expect(wrong).rejects.toThrow(/there is no journal of job no-such-job/i)
  const other = runFast({ ...about, procedure: PROCEDURE, seed: 12, continues: job, serial: 'SIM-2' })
  await expect(other).rejects.toThrow(/that job was serial SIM-1, this set is SIM-2\. See what the page offers now \[/i)
})

test('a closed job that left an as-found reading out after a turn: it stays left out for good; a driver changed since goes under a name of its own', async () => {
  const known = await knownJob(folder, job)
  const { plan } = new JobBench(METERS, { procedure: WHOLE_SHEET }).job
  const own = known.header.drivers.map((one) => ({
    ...one,
    sha256: one.id.startsWith('counter') ? '0'.repeat(64) : one.sha256,
  }))
  const whole = foundIn(known, plan, own)
  const [first] = whole.flatMap((entry) => (entry.kind === 'captured' ? [entry.step] : []))
  expect(
    whole.filter(
      (entry) => entry.kind === 'step' && entry.state === 'left out' && /turned/.test(sentence(entry.reason)),
    ),
  ).toEqual([])
  const without = {
    ...known,
    lines: known.lines.filter((line) => !(line.kind === 'step' && line.pass === 'found' && line.step === first)),
  }
  expect(worded(foundIn(without, plan, own))).toContainEqual({
    kind: 'step',
    step: first,
    pass: 'found',
    state: 'left out',
    reason: 'not read as found before something was turned',
  })
  const numbers = known.lines.flatMap((line) =>
    line.kind === 'captured' && line.pass === 'found' && line.step === first ? [line.number] : [],
  )
  const [opened] = known.lines
  if (!opened) throw new TypeError('an empty journal')
  const { n, prev, at } = opened
  const back = { ...known, lines: [...known.lines, { n, prev, at, kind: 'taken back' as const, numbers }] }
  expect(foundIn(back, plan, own).filter((entry) => entry.kind === 'captured' && entry.step === first)).toEqual([])
  const drivers = new Set(whole.flatMap((entry) => (entry.kind === 'captured' ? [entry.evidence.facts.driver] : [])))
  expect([...drivers].filter((id) => id.startsWith('counter'))).toEqual([`counter-scpi (${job})`])
  expect(withEarlier(own, known).map(({ id }) => id)).toContain(`counter-scpi (${job})`)
})

test('what a job learned of its adjusters is known to the next one on a set of this type: it says which way round before the first move', async () => {
  const place = mkdtempSync(join(tmpdir(), 'trimwright-learned-'))
  const wayRound = async (seed: number, serial: string) => {
    const said = new Set<string>()
    await runFast({
      ...about,
      recordIn: place,
      procedure: PROCEDURE,
      seed,
      serial,
      onFrame: ({ guide, step }) => {
        if (/, (anti)?clockwise$/.test(sentence(guide.words))) said.add(step?.adjuster ?? '')
      },
    })
    return said
  }
  try {
    expect((await wayRound(21, 'A-1')).has('VK')).toBe(false)
    expect((await wayRound(22, 'A-2')).has('VK')).toBe(true)
  } finally {
    rmSync(place, { recursive: true, force: true })
  }
})

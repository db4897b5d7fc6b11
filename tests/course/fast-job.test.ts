import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test, vi } from 'vitest'
import { differenceWords } from '../../src/commands/course/course-words.ts'
import { replay } from '../../src/commands/course/replay.ts'
import { rerunBench } from '../../src/commands/course/rerun-bench.ts'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { chained, NOTHING_BEFORE, sha256 } from '../../src/record/chain.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { changedCourse } from '../kit/changed-course.ts'
import { PROCEDURE } from '../kit/job/job-bench.ts'

vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-course-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const then: string[] = []
const { outcome } = await runFast({
  procedure: PROCEDURE,
  seed: 3,
  warm: true,
  bands: [],
  recordIn: folder,
  courseIn: join(folder, 'courses'),
  onFrame: (frame) => then.push(JSON.stringify(frame)),
})
const course = join(folder, 'courses', readdirSync(join(folder, 'courses'))[0] ?? '')
const journal = outcome.record.replace('.jws', '.journal')

const said = async (words: readonly string[], values = {}) => {
  const lines: string[] = []
  const output = { out: (line: string) => lines.push(line), err: (line: string) => lines.push(line) }
  const code = await replay.run(values, words, output, new AbortController().signal)
  return { code, lines, text: lines.join('\n') }
}

test('a job on the clock that jumps, run again: all frames are the same, to the last digit', async () => {
  expect(outcome.captured.length).toBeGreaterThan(0)
  const now: string[] = []
  const again = await rerunBench(course, (frame) => now.push(JSON.stringify(frame)))
  expect(again).toMatchObject({ differences: [], stopped: '', ends: 'the service ended' })
  expect(now.length).toBeGreaterThan(100)
  expect(now).toEqual(then.slice(0, now.length))
  expect(then.length - now.length).toBeLessThan(3) // of the closing itself
  const lines = readFileSync(journal, 'utf8').trim().split('\n').slice(1)
  const kept = lines.map((line) => JSON.parse(line)).map(({ n: _n, prev: _prev, ...entry }) => entry)
  expect([...again.written.keys()]).toHaveLength(1)
  expect(kept).toMatchObject(JSON.parse(JSON.stringify([...again.written.values()].flat())))
})

test('the command says what was captured and that the journal agrees, writes the frames, and ends with 0', async () => {
  const frames = join(folder, 'frames.jsonl')
  const { code, text } = await said([course], { journal, frames })
  expect(code).toBe(0)
  expect(text).toContain(`${outcome.captured.length} captured values among them equal to the last digit`)
  expect(text).toContain('frames, each as it was then')
  const [first] = outcome.captured
  expect(text).toContain(`${first?.title}`)
  expect(readFileSync(frames, 'utf8').trimEnd().split('\n')[0]).toBe(then[0])
})

test('a journal in which the last digit of a value is another: both values are said, and the end is 1', async () => {
  const other = join(folder, 'other.journal')
  let prev = NOTHING_BEFORE
  let was = 0
  const lines = readFileSync(journal, 'utf8').trimEnd().split('\n')
  const changed = lines.map((line) => {
    const { n, prev: _prev, at, ...entry } = JSON.parse(line)
    if (was === 0 && entry.kind === 'captured') {
      was = entry.value
      entry.value *= 1 + 2 ** -50
    }
    const text = chained(entry, { n, prev, at })
    prev = sha256(text)
    return text
  })
  writeFileSync(other, `${changed.join('\n')}\n`)
  const { code, text } = await said([course], { journal: other })
  expect(code).toBe(1)
  expect(text).toContain(`${was * (1 + 2 ** -50)} `)
  expect(text).toContain(`run again it is`)
  expect(text).toContain(`${was} `)
})

test('bytes that were sent otherwise then: said with the instrument, the time, what is sent and what was', async () => {
  const other = join(folder, 'sent.course.gz')
  let changed = 0
  changedCourse(course, other, (line) => {
    if (changed > 0 || !line.includes('"kind":"send"') || !line.includes('*IDN?')) return line
    changed += 1
    return line.replace('*IDN?', '*IDM?')
  })
  expect(changed).toBe(1)
  const again = await rerunBench(other, () => {})
  const [first] = again.differences
  if (!first) throw new Error('no difference')
  expect(again.differences).toHaveLength(1)
  expect(sentence(differenceWords(first, again.names))).toMatch(
    /^to \w+ at memory:\w+ "\*IDN\?\\n"; then it was: to \w+ at memory:\w+ "\*IDM\?\\n"$/,
  )
  expect((await said([other])).code).toBe(1)
})

test('the supply read another current then: the next frame is another, and it is said when', async () => {
  const other = join(folder, 'reading.course.gz')
  let at = 0
  changedCourse(course, other, (line) => {
    const found = /"kind":"heard".*"amps":(\d\.\d+),.*"output":"on".*"at":([\d.]+)/.exec(line)
    if (at > 0 || !found) return line
    at = Number(found[2])
    return line.replace(`"amps":${found[1]}`, `"amps":${Number(found[1]) + 0.125}`)
  })
  expect(at).toBeGreaterThan(0)
  const again = await rerunBench(other, () => {})
  expect(again.differences[0]?.atMs).toBeGreaterThanOrEqual(at)
  expect(again.differences[0]?.atMs).toBeLessThan(at + 500)
  const { code, text } = await said([other])
  expect(code).toBe(1)
  expect(text).toMatch(/frame \d+: .*; then it was: frame \d+/)
})

test('torn off in the middle: it is run up to the tear', async () => {
  const torn = join(folder, 'torn.course.gz')
  const bytes = readFileSync(course)
  writeFileSync(torn, bytes.subarray(0, Math.floor(bytes.length / 2)))
  const { code, text, lines } = await said([torn])
  expect(text).toContain('The course was torn off; it was run up to there.')
  expect(lines.some((line) => /^\d+ frames/.test(line))).toBe(true)
  expect(code).toBe(0)
})

test('only read: bytes as visible text, nothing is run', async () => {
  const { code, text } = await said([course], { lines: true })
  expect(code).toBe(0)
  expect(text).toMatch(/> to \w+ at memory:\w+ "\*IDN\?\\n"/)
  expect(text).toMatch(/< \w+ at memory:\w+: bytes "[+-]\d[^\n]*\\n"/)
  expect(text).toContain('the service ended')
})

test('no key, no token and no path of the computer stands in it', async () => {
  const { text } = await said([course], { lines: true })
  expect(text).not.toMatch(/PRIVATE KEY|token/)
  expect(text.replaceAll(outcome.record, '')).not.toContain(folder)
})

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gunzipSync, gzipSync } from 'node:zlib'
import { afterAll, expect, test } from 'vitest'
import { type Part, partMaker, sha256 } from '../../src/course/parts.ts'
import { readCourse } from '../../src/course/read-course.ts'
import { openRing } from '../../src/course/ring.ts'

const folder = mkdtempSync(join(tmpdir(), 'trimwright-read-course-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const FILE = { file: 'bench.yaml', text: 'bench: one\n', sha256: sha256('bench: one\n') }
const HEAD = {
  kind: 'head',
  format: 1,
  startedAt: '2026-01-05T08:00:00.000Z',
  program: 'trimwright 0',
  bench: FILE,
  drivers: [],
  procedures: [],
  plans: [],
  ruleCards: [],
  wrongFiles: [],
  addresses: {},
  setPage: null,
  openWithinMs: 0,
  writesJobs: false,
  atMs: 0,
  wallMs: 0,
  bootMs: null,
}

/** A course of `parts` parts with two things in each that came, and its ending. */
async function made(parts: number, head: object = HEAD) {
  const all: Part[] = []
  const maker = partMaker(
    (part) => void all.push(part),
    (error) => {
      throw error
    },
  )
  maker.add(JSON.stringify(head))
  maker.cut(0)
  for (let n = 1; n <= parts; n += 1) {
    maker.add(JSON.stringify({ kind: 'woke', id: n, at: n }))
    maker.add(JSON.stringify({ kind: 'send', port: 1, text: 'é\r\n' }))
    maker.add(JSON.stringify({ kind: 'woke', id: n, at: n + 0.5 }))
    maker.cut(n)
  }
  const ending = await maker.ending(JSON.stringify({ kind: 'end', at: parts, why: 'over' }))
  await maker.made()
  return { all, ending }
}

function put(...pieces: readonly Buffer[]): string {
  const file = join(folder, 'a.course.gz')
  writeFileSync(file, Buffer.concat(pieces))
  return file
}

const bytesOf = (parts: readonly Part[]) => parts.map(({ bytes }) => bytes)

test('what was written is read again, with what was done about each thing that came', async () => {
  const { all, ending } = await made(3)
  const course = readCourse(put(...bytesOf(all), ending))
  expect(course).toMatchObject({ whole: true, ends: 'over' })
  expect(course.comings).toHaveLength(7)
  expect(course.comings[1]).toEqual({
    came: { kind: 'woke', id: 1, at: 1 },
    did: [{ kind: 'send', port: 1, text: 'é\r\n' }],
  })
})

test('torn off anywhere behind the head: what stands before the tear is read, and that it was torn is known', async () => {
  const { all, ending } = await made(3)
  const bytes = Buffer.concat([...bytesOf(all), ending])
  const head = all[0]?.bytes.length ?? 0
  for (let length = head; length < bytes.length; length += 1) {
    const { ends, comings, whole } = readCourse(put(bytes.subarray(0, length)))
    expect(whole).toBe(true)
    expect(comings.length).toBeLessThanOrEqual(7)
    if (length < bytes.length - 8) expect(ends === null || ends === 'over').toBe(true)
  }
  const cut = bytes.length - ending.length
  expect(readCourse(put(bytes.subarray(0, cut)))).toMatchObject({ ends: null })
  expect(readCourse(put(bytes.subarray(0, cut))).comings).toHaveLength(7)
})

test('one bit changed anywhere: refused in words, or no more than torn; never another course', async () => {
  const { all, ending } = await made(2)
  const good = Buffer.concat([...bytesOf(all), ending])
  const whole = JSON.stringify(readCourse(put(good)).comings)
  for (let at = 0; at < good.length; at += 1) {
    const bad = Buffer.from(good)
    bad[at] = (bad[at] ?? 0) ^ 0x10
    try {
      const { comings } = readCourse(put(bad))
      expect(whole.startsWith(JSON.stringify(comings).slice(0, -1))).toBe(true)
    } catch (error) {
      expect(error).toMatchObject({ code: expect.stringMatching(/^RECORD_BROKEN$/) })
    }
  }
})

test('a line changed and packed again, a part taken out, a part twice: refused with the line', async () => {
  const { all, ending } = await made(3)
  const repacked = bytesOf(all).map((bytes, n) =>
    n === 2 ? gzipSync(gunzipSync(bytes).toString().replace('"id":2,"at":2}', '"id":2,"at":2.1}')) : bytes,
  )
  expect(() => readCourse(put(...repacked, ending))).toThrow(/line 10 begins part 3, which does not follow/)
  const [head, one, two, three] = bytesOf(all)
  if (!head || !one || !two || !three) throw new Error('three parts')
  expect(() => readCourse(put(head, one, three, ending))).toThrow(/part 3, which does not follow the one before/)
  expect(() => readCourse(put(head, one, one, two, three, ending))).toThrow(/part 1, which does not follow/)
  expect(() => readCourse(put(head, one, two, three, ending, ending))).toThrow(/stands behind the end/)
})

test('what is no course, of a newer format, or holds a file that was changed: refused in words', async () => {
  const { all, ending } = await made(1)
  expect(() => readCourse(join(folder, 'none'))).toThrow(/could not be opened\. Check the path \[RECORD_MISSING\]/)
  expect(() => readCourse(put(Buffer.from('not packed at all')))).toThrow(/cannot be unpacked/)
  expect(() => readCourse(put(gzipSync('{"a":1}\n')))).toThrow(/line 1 is not the head of a course/)
  expect(() => readCourse(put(gzipSync('{\n')))).toThrow(/line 1 is not JSON/)
  expect(() => readCourse(put(gzipSync(`${JSON.stringify({ ...HEAD, format: 2 })}\n`)))).toThrow(/SCHEMA_FORMAT_NEWER/)
  const changed = { ...HEAD, bench: { ...FILE, text: 'bench: two\n' } }
  expect(() => readCourse(put(gzipSync(`${JSON.stringify(changed)}\n`)))).toThrow(/bench.yaml, which was changed/)
  const outside = { ...HEAD, bench: { ...FILE, file: '../bench.yaml' } }
  expect(() => readCourse(put(gzipSync(`${JSON.stringify(outside)}\n`)))).toThrow(/the bare name of a file/)
  const odd = gzipSync(`${JSON.stringify({ kind: 'woke', id: 'one', at: 1 })}\n`)
  expect(() => readCourse(put(...bytesOf(all.slice(0, 1)), odd, ending))).toThrow(/line 2 is not right: id/)
})

test('the ring holds the head and the newest parts that fit; of what is left it is known that its beginning was let go', async () => {
  const { all, ending } = await made(40)
  const most = (all[0]?.bytes.length ?? 0) + 10 * (all[40]?.bytes.length ?? 0)
  const ring = openRing(most)
  for (const part of all) {
    ring.take(part)
    expect(ring.bytes()).toBeLessThanOrEqual(most)
  }
  const left = ring.parts()
  const sizes = all.map(({ bytes }) => bytes.length)
  const sum = (from: number) => sizes.slice(from).reduce((so, one) => so + one, sizes[0] ?? 0)
  const oldest = sizes.findIndex((_, n) => n > 0 && sum(n) <= most)
  expect(oldest).toBeGreaterThan(20)
  expect(left.map(({ n }) => n)).toEqual([0, ...sizes.keys()].filter((n, at) => at === 0 || n >= oldest))
  const course = readCourse(put(...bytesOf(left), ending))
  expect(course).toMatchObject({ whole: false, ends: 'over' })
  expect(course.comings).toHaveLength(2 * (41 - oldest) + 1)
})

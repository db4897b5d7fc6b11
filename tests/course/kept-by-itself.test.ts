import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gunzipSync, gzipSync } from 'node:zlib'
import { afterAll, expect, test, vi } from 'vitest'
import type { Session } from '../../src/alignment/session.ts'
import { replay } from '../../src/commands/course/replay.ts'
import { emptyFrame } from '../../src/core/guidance/watch.ts'
import { type CourseFacts, openCourse } from '../../src/course/course.ts'
import { NOTHING_BEFORE, sha256 } from '../../src/course/parts.ts'
import { readCourse } from '../../src/course/read-course.ts'
import type { LiveFrame } from '../../src/schema/messages/live-frame.ts'
import { silentLog } from '../../src/system/log.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'

const folder = mkdtempSync(join(tmpdir(), 'trimwright-by-itself-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const FACTS: CourseFacts = {
  program: 'trimwright 0',
  bench: { file: 'bench.yaml', sha256: sha256(''), text: '' },
  drivers: [],
  procedures: [],
  plans: [],
  ruleCards: [],
  wrongFiles: [],
  addresses: {},
  setPage: null,
  openWithinMs: 0,
  writesJobs: false,
}

/** A course round a session of which only the frames matter. */
function opened(keepIn: string, whole: string | null = null) {
  const clock = virtualClock()
  const told: string[] = []
  const log = { ...silentLog, error: (_facts: object, words: string) => told.push(words) }
  const course = openCourse({ facts: FACTS, clock, rng: () => 0, log, keepIn, whole })
  const empty = emptyFrame({ bench: { name: 'bench', simulated: true }, seq: 1 }, 0)
  const ears: ((frame: LiveFrame) => void)[] = []
  const bare: Session = {
    job: () => null,
    close: async () => {},
    latest: () => empty,
    onFrame: (ear) => {
      ears.push(ear)
      return () => {}
    },
    welcome: () => {
      throw new Error('nobody is welcomed here')
    },
    request: async () => ({ ok: true, words: '' }),
    steererPresent: () => {},
  }
  const session = course.session(bare)
  const show = (state: LiveFrame['state']) => {
    for (const ear of ears) ear({ ...empty, mode: 'job', state })
  }
  return { clock, course, session, show, told }
}

const files = (in_: string) => readdirSync(in_, { recursive: true }).filter((name) => String(name).endsWith('.gz'))

test('a job that stops is kept by itself, once a minute at most, and says why it was', async () => {
  const keepIn = join(folder, 'stopped')
  const { clock, course, session, show } = opened(keepIn)
  show('in')
  show('stopped')
  await vi.waitFor(() => expect(files(keepIn)).toHaveLength(1))
  expect(readCourse(join(keepIn, String(files(keepIn)[0])))).toMatchObject({ ends: 'stopped', whole: true })
  show('in')
  show('stopped')
  await clock.advance(61_000)
  await session.request({ kind: 'ready', id: 'time goes on' })
  expect(files(keepIn)).toHaveLength(1)
  show('in')
  show('stopped')
  await vi.waitFor(() => expect(files(keepIn)).toHaveLength(2))
  await course.end()
})

test('a folder that cannot be written: said in words, and what is asked next is done', async () => {
  const file = join(folder, 'a-file')
  writeFileSync(file, '')
  const { course, session } = opened(join(file, 'courses'))
  const answer = await session.request({ kind: 'keep course', id: 'a' })
  expect(answer.ok).toBe(false)
  expect(sentence(answer.words)).toContain('Make room on the disk or check the folder')
  expect(await session.request({ kind: 'ready', id: 'b' })).toEqual({ ok: true, words: '' })
  await course.end()
})

test('a whole course whose disk takes nothing: told once, and what is held in memory is kept all the same', async () => {
  const file = join(folder, 'another-file')
  writeFileSync(file, '')
  const keepIn = join(folder, 'kept-in-memory')
  const { clock, course, session, told } = opened(keepIn, file)
  for (let n = 0; n < 5; n += 1) {
    await clock.advance(3000)
    await session.request({ kind: 'ready', id: `${n}` })
  }
  const answer = await session.request({ kind: 'keep course', id: 'a' })
  expect(answer.ok).toBe(true)
  expect(readCourse(join(keepIn, String(files(keepIn)[0]))).comings.length).toBe(6)
  expect(told).toEqual(['the course is only held in memory from here on'])
  await course.end()
})

test('a course whose beginning was let go is not run, and can be read', async () => {
  const keepIn = join(folder, 'late')
  const { course } = opened(keepIn)
  const path = await course.keep('try')
  await course.end()
  const [head = ''] = gunzipSync(readFileSync(path)).toString('utf8').split('\n')
  const part = { kind: 'part', n: 7, prev: NOTHING_BEFORE }
  const text = [part, { kind: 'woke', id: 1, at: 3 }, { kind: 'end', at: 3, why: 'try' }].map((line) =>
    JSON.stringify(line),
  )
  writeFileSync(path, Buffer.concat([gzipSync(`${head}\n`), gzipSync(`${text.join('\n')}\n`)]))
  const lines: string[] = []
  const output = { out: (line: string) => lines.push(line), err: () => {} }
  const { signal } = new AbortController()
  await expect(replay.run({}, [path], output, signal)).rejects.toThrow(/only read: use --lines/)
  expect(await replay.run({ lines: true }, [path], output, signal)).toBe(0)
  expect(lines.join('\n')).toContain('its beginning was let go')
  expect(lines.join('\n')).toContain('sleeper 1 wakes')
})

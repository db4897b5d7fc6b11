import { existsSync, readdirSync, readFileSync, readlinkSync, statSync, writeFileSync } from 'node:fs'
import { basename, join } from 'node:path'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { continueJournal, journalsIn, openJournal } from '../../src/record/journal.ts'
import { readJournal } from '../../src/record/read-journal.ts'
import { dataFolder, headerOf, WALL } from '../kit/job/journal-kit.ts'
import { keptPayload } from '../kit/job/kept-record.ts'
import { type WatchedDisk, watchDisk } from '../kit/watched-disk.ts'

const note = (words: string) => ({ kind: 'event' as const, what: 'note', words })
const [value] = keptPayload().values
if (!value) throw new TypeError('no value')
const captured = { kind: 'captured' as const, ...value }

/** What stands in a journal, after its head. */
const kept = (file: string) =>
  readJournal(file)
    .lines.slice(1)
    .map((line) => (line.kind === 'event' ? line.words : line.kind))

/** Files of this process that are open and lie in a folder. */
function openIn(folder: string): readonly string[] {
  return readdirSync('/proc/self/fd').flatMap((fd) => {
    try {
      const file = readlinkSync(`/proc/self/fd/${fd}`)
      return file.startsWith(folder) ? [file] : []
    } catch {
      return [] // closed meanwhile: the one that reads this folder
    }
  })
}

let disk: WatchedDisk
beforeEach(async () => {
  disk = await watchDisk()
})
afterEach(() => disk.release())

async function opened() {
  const folder = dataFolder()
  return { folder, ...(await openJournal({ folder, header: headerOf(), clock: WALL })) }
}

describe('what the disk did not take', () => {
  test('an event goes first when there is room again, in the order it was asked for, with its own time; a captured value is gone', async () => {
    let at = 0
    const clock = { wallTime: () => `2026-01-05T08:00:0${at++}.000Z` }
    const journal = await openJournal({ folder: dataFolder(), header: headerOf(), clock })
    disk.failSync()
    const refused = await Promise.allSettled(['first', 'second'].map((words) => journal.append(note(words))))
    expect(refused.map(({ status }) => status)).toEqual(['rejected', 'fulfilled']) // the second was the next write
    disk.failSync()
    await expect(journal.append(captured)).rejects.toThrow(/EIO/)
    await journal.append(note('third'))
    await journal.close()
    expect(kept(journal.file)).toEqual(['first', 'second', 'third'])
    expect(readJournal(journal.file).lines.map((line) => line.at.slice(17, 19))).toEqual(['00', '01', '02', '04'])
  })

  test('is not in the file, whatever else fails: cut back at once, or before the next write where not even that is taken', async () => {
    const { file, append, close } = await opened()
    const before = readFileSync(file)
    disk.failSync()
    await expect(append(captured)).rejects.toThrow(/EIO/)
    expect(readFileSync(file)).toEqual(before)
    await append(note('at once'))
    expect(disk.did(file).slice(-4)).toEqual(['write', 'truncate', 'write', 'sync'])
    const kept1 = readFileSync(file)
    disk.failSync()
    disk.failTruncate()
    await expect(append(captured)).rejects.toThrow(/EIO/)
    expect(readFileSync(file).length).toBeGreaterThan(kept1.length)
    await append(note('after'))
    expect(kept(file)).toEqual(['at once', 'after'])
    expect(disk.did(file).slice(-3)).toEqual(['truncate', 'write', 'sync'])
    await append(note('and on'))
    expect(disk.did(file).slice(-3)).toEqual(['sync', 'write', 'sync'])
    const did = disk.did(file)
    await close()
    expect(disk.did(file)).toEqual(did) // all of it was on disk
  })

  test('is tried once more on closing: an event is there', async () => {
    const { file, append, close } = await opened()
    disk.failSync()
    await expect(append(note('late'))).rejects.toThrow(/EIO/)
    await close()
    expect(kept(file)).toEqual(['late'])
    expect(disk.unsafe(file)).toBe(false)
  })

  test('not even then: the file ends with its last whole line', async () => {
    const { file, append, close } = await opened()
    const before = readFileSync(file)
    disk.failSync()
    disk.failTruncate()
    await expect(append(note('never'))).rejects.toThrow(/EIO/)
    expect(readFileSync(file)).not.toEqual(before)
    disk.failSync()
    await close()
    expect(readFileSync(file)).toEqual(before)
  })

  test('a captured value that could not be cut out is cut out on closing', async () => {
    const { file, append, close } = await opened()
    const before = readFileSync(file)
    disk.failSync()
    disk.failTruncate()
    await expect(append(captured)).rejects.toThrow(/EIO/)
    await close()
    expect(readFileSync(file)).toEqual(before)
  })
})

describe('a file and its lock are given back', () => {
  test('on closing, once what was asked for is written', async () => {
    const { folder, file, append, close } = await opened()
    expect(openIn(folder)).toEqual([file])
    expect(statSync(`${file}.lock`).mode & 0o777).toBe(0o600)
    expect(readFileSync(`${file}.lock`, 'utf8')).toBe(`${process.pid}\n`)
    expect(readdirSync(join(folder, 'jobs'))).toHaveLength(2)
    const last = append(note('last'))
    await Promise.all([close(), close()])
    await last
    expect(kept(file)).toEqual(['last'])
    expect(openIn(folder)).toEqual([])
    expect(readdirSync(join(folder, 'jobs'))).toEqual([basename(file)])
  })

  test('where the head could not be written: no journal, and the next one of that name has to be another file', async () => {
    const folder = dataFolder()
    disk.failSync()
    await expect(openJournal({ folder, header: headerOf(), clock: WALL })).rejects.toThrow(/RECORD_WRITE_FAILED/)
    expect(openIn(folder)).toEqual([])
    expect(readdirSync(join(folder, 'jobs')).some((name) => name.endsWith('.lock'))).toBe(false)
  })

  test('where a job of that name is there already', async () => {
    const { folder, file, close } = await opened()
    await close()
    await expect(openJournal({ folder, header: headerOf(), clock: WALL })).rejects.toThrow(/RECORD_WRITE_FAILED/)
    expect(existsSync(`${file}.lock`)).toBe(false)
  })

  test('where a job that was closed is not gone on with, nor one without a head, nor one that is not there', async () => {
    const { folder, file, append, close } = await opened()
    await append({ kind: 'closed', keyDownS: 3, why: 'closed by hand', effects: [] })
    await close()
    const headless = join(folder, 'jobs', 'headless.journal')
    writeFileSync(headless, '{"n":0')
    const missing = join(folder, 'jobs', 'missing.journal')
    for (const [one, code] of [
      [file, 'RECORD_CLOSED'],
      [headless, 'RECORD_BROKEN'],
      [missing, 'RECORD_MISSING'],
    ] as const) {
      await expect(continueJournal(one, WALL)).rejects.toThrow(code)
      expect(existsSync(`${one}.lock`)).toBe(false)
    }
    expect(openIn(folder)).toEqual([])
  })

  test('where going on could not be written down', async () => {
    const { folder, file, close } = await opened()
    await close()
    disk.failSync()
    await expect(continueJournal(file, WALL)).rejects.toThrow(/RECORD_WRITE_FAILED/)
    expect(openIn(folder)).toEqual([])
    const again = await continueJournal(file, WALL)
    expect(kept(file)).toEqual(['resumed'])
    await again.close()
    expect(openIn(folder)).toEqual([])
  })

  test('a journal that is gone on with is taken: not by two at once', async () => {
    const { file, close } = await opened()
    await close()
    const again = await continueJournal(file, WALL)
    await expect(continueJournal(file, WALL)).rejects.toThrow(/RECORD_IN_USE/)
    await again.append(note('mine'))
    await again.close()
    expect(kept(file)).toEqual(['resumed', 'mine'])
  })
})

describe('a line that a crash cut off', () => {
  test('is added to those of earlier crashes, and the file is closed', async () => {
    const { folder, file, close } = await opened()
    await close()
    for (const cut of ['{"n":1,"first', '{"n":2,"second']) {
      writeFileSync(file, `${readFileSync(file, 'utf8')}${cut}`)
      await (await continueJournal(file, WALL)).close()
    }
    expect(readFileSync(`${file}.torn`, 'utf8')).toBe('{"n":1,"first\n{"n":2,"second\n')
    expect(readJournal(file).lines.slice(1)).toMatchObject([
      { kind: 'resumed', cut: 13 },
      { kind: 'resumed', cut: 14 },
    ])
    expect(openIn(folder)).toEqual([])
  })

  test('none was: nothing is cut, and no file is put beside', async () => {
    const { file, close } = await opened()
    await close()
    await (await continueJournal(file, WALL)).close()
    expect(readJournal(file).lines[1]).toMatchObject({ kind: 'resumed', cut: 0 })
    expect(existsSync(`${file}.torn`)).toBe(false)
    expect(disk.did(file)).not.toContain('truncate')
  })
})

test('the journals of a folder, oldest name first, and nothing else that lies there', async () => {
  const folder = dataFolder()
  expect(await journalsIn(folder)).toEqual([])
  for (const name of ['20260105-080000-T1-bbbb', '20260105-080000-T1-aaaa', '20251231-080000-T1-cccc'])
    await (await openJournal({ folder, header: headerOf(name), clock: WALL })).close()
  writeFileSync(join(folder, 'jobs', '20260105-080000-T1-aaaa.jws'), '')
  writeFileSync(join(folder, 'jobs', 'a.journal.torn'), '')
  expect((await journalsIn(folder)).map((file) => basename(file))).toEqual([
    '20251231-080000-T1-cccc.journal',
    '20260105-080000-T1-aaaa.journal',
    '20260105-080000-T1-bbbb.journal',
  ])
})

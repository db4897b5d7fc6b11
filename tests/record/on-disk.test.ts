import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { continueJournal, openJournal } from '../../src/record/journal.ts'
import { readJournal } from '../../src/record/read-journal.ts'
import { signJournal } from '../../src/record/sign.ts'
import { dataFolder, headerOf, WALL } from '../kit/job/journal-kit.ts'
import { type WatchedDisk, watchDisk } from '../kit/watched-disk.ts'

const note = (words: string) => ({ kind: 'event' as const, what: 'note', words })

let disk: WatchedDisk
beforeEach(async () => {
  disk = await watchDisk()
})
afterEach(() => disk.release())

describe('an entry that was said to be kept outlives a power cut: its bytes are synced before that is said', () => {
  test('the head of a job, and the folder that names the new file', async () => {
    const folder = dataFolder()
    const { file, close } = await openJournal({ folder, header: headerOf(), clock: WALL })
    expect(disk.did(file)).toEqual(['write', 'sync'])
    expect(disk.did(join(folder, 'jobs'))).toEqual(['sync'])
    await close()
  })

  test('each of 50 entries, one by one and all at once', async () => {
    const journal = await openJournal({ folder: dataFolder(), header: headerOf(), clock: WALL })
    for (let at = 0; at < 10; at++) {
      await journal.append(note(`entry ${at}`))
      expect(disk.unsafe(journal.file)).toBe(false)
    }
    expect(disk.did(journal.file)).toEqual(Array.from({ length: 11 }, () => ['write', 'sync']).flat())
    const syncs = () => disk.did(journal.file).filter((what) => what === 'sync').length
    const first = syncs()
    const seen = await Promise.all(
      Array.from({ length: 40 }, (_, at) => journal.append(note(`more ${at}`)).then(() => syncs() - first)),
    )
    expect(seen[0]).toBe(1)
    expect(Math.min(...seen.slice(1))).toBe(2) // what came while the first was written is one write and one sync
    expect(Math.max(...seen)).toBe(2)
    await journal.close()
  })

  test('a sync that fails keeps nothing: the entry is refused, is not found in the file, and the next one is kept', async () => {
    const journal = await openJournal({ folder: dataFolder(), header: headerOf(), clock: WALL })
    const before = readFileSync(journal.file)
    disk.failSync()
    await expect(journal.append(note('at the wrong moment'))).rejects.toThrow(/EIO.*\[RECORD_WRITE_FAILED\]/)
    expect(readFileSync(journal.file)).toEqual(before)
    await journal.append(note('after'))
    expect(disk.unsafe(journal.file)).toBe(false)
    await journal.close()
    expect(readJournal(journal.file).lines.at(-1)).toMatchObject({ words: 'after' })
  })

  test('what a crash cut off is on disk beside the journal before it is cut out of it', async () => {
    const journal = await openJournal({ folder: dataFolder(), header: headerOf(), clock: WALL })
    await journal.close()
    writeFileSync(journal.file, `${readFileSync(journal.file, 'utf8')}{"n":1,"torn`)
    const again = await continueJournal(journal.file, WALL)
    expect(disk.did(`${journal.file}.torn`)).toEqual(['write', 'sync'])
    expect(disk.did(journal.file)).toEqual(['write', 'sync', 'truncate', 'write', 'sync'])
    await again.close()
  })

  test('a signed record, before it takes its name, and the folder after', async () => {
    const folder = dataFolder()
    const journal = await openJournal({ folder, header: headerOf(), clock: WALL })
    await journal.append({ kind: 'closed', keyDownS: 1, why: 'closed by hand', effects: [] })
    await journal.close()
    const { record } = await signJournal(journal.file, folder)
    expect(disk.did(`${record}.new`)).toEqual(['write', 'sync'])
    expect(disk.did(join(folder, 'jobs'))).toEqual(['sync', 'sync'])
  })
})

import { type ChildProcess, execFileSync, spawn } from 'node:child_process'
import { chmodSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { continueJournal, journalsIn, openJournal } from '../../src/record/journal.ts'
import { parseJournal, readJournal } from '../../src/record/read-journal.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { dataFolder, headerOf, WALL } from '../kit/job/journal-kit.ts'

const note = (words: string) => ({ kind: 'event' as const, what: 'note', words })

/** A journal of a head and a few notes, as bytes. */
async function written(count = 5): Promise<{ readonly file: string; readonly bytes: Buffer }> {
  const journal = await openJournal({ folder: dataFolder(), header: headerOf(), clock: WALL })
  for (let at = 0; at < count; at++) await journal.append(note(`entry ${at} \u00b5\u03a9 "quoted"`))
  await journal.close()
  return { file: journal.file, bytes: readFileSync(journal.file) }
}
const whole = await written()

describe('a journal', () => {
  test('reads back as it was written, each line holding the hash of the one before', () => {
    const { lines, torn } = readJournal(whole.file)
    expect(lines.map(({ n, kind }) => `${n} ${kind}`)).toEqual([
      '0 opened',
      '1 event',
      '2 event',
      '3 event',
      '4 event',
      '5 event',
    ])
    expect(torn).toHaveLength(0)
    expect(lines[0]?.prev).toBe('0'.repeat(64))
  })

  test('keeps the order of entries asked for at once, and each is on disk when it says so', async () => {
    const journal = await openJournal({ folder: dataFolder(), header: headerOf(), clock: WALL })
    const seen: number[] = []
    await Promise.all(
      Array.from({ length: 200 }, async (_, at) => {
        await journal.append(note(`entry ${at}`))
        seen.push(readJournal(journal.file).lines.length)
      }),
    )
    expect(Math.min(...seen.map((count, at) => count - at))).toBeGreaterThanOrEqual(2)
    const words = readJournal(journal.file).lines.flatMap((line) => (line.kind === 'event' ? [line.words] : []))
    expect(words).toEqual(Array.from({ length: 200 }, (_, at) => `entry ${at}`))
    await journal.close()
  })

  test('is never begun twice under one name, and says why a folder cannot be written: RECORD_WRITE_FAILED', async () => {
    const folder = dataFolder()
    await (await openJournal({ folder, header: headerOf(), clock: WALL })).close()
    await expect(openJournal({ folder, header: headerOf(), clock: WALL })).rejects.toThrow(
      /EEXIST.*\[RECORD_WRITE_FAILED\]/,
    )
    const file = join(dataFolder(), 'file')
    writeFileSync(file, '')
    await expect(openJournal({ folder: file, header: headerOf(), clock: WALL })).rejects.toThrow(
      /\[RECORD_WRITE_FAILED\]/,
    )
    expect(await journalsIn(folder)).toHaveLength(1)
  })

  test('a disk that was full for a while: what was refused is said, what was kept stays, and it goes on when there is room', () => {
    const script = join(import.meta.dirname, '..', 'kit', 'job', 'journal-full.ts')
    const said = execFileSync(
      'bash',
      ['-c', 'ulimit -S -f 8 && exec "$@"', 'sh', process.execPath, '--import', 'tsx', script, dataFolder()],
      {
        encoding: 'utf8',
        timeout: 15_000,
      },
    )
    const lines = said
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line))
    expect(lines.slice(0, 4)).toEqual([
      { words: 'before', kept: true },
      { words: 'too long xxx', kept: 'RECORD_WRITE_FAILED' },
      { words: 'while full', kept: 'RECORD_WRITE_FAILED' },
      { words: 'after', kept: true },
    ])
    const { lines: kept, torn } = readJournal(lines[4].file)
    expect(torn).toHaveLength(0)
    expect(kept.map((line) => (line.kind === 'event' ? sentence(line.words).slice(0, 10) : line.kind))).toEqual([
      'opened',
      'before',
      'too long x',
      'while full',
      'after',
    ])
  })

  test('takes nothing after it is closed', async () => {
    const journal = await openJournal({ folder: dataFolder(), header: headerOf(), clock: WALL })
    await journal.close()
    await journal.close()
    await expect(journal.append(note('late'))).rejects.toThrow(/the journal is closed/)
  })

  test('takes no entry that could not be read again, and goes on with the next', async () => {
    const journal = await openJournal({ folder: dataFolder(), header: headerOf(), clock: WALL })
    const unfit = journal.append({ kind: 'closed', keyDownS: Number.NaN, why: '', effects: [] })
    const fit = journal.append(note('after'))
    await expect(unfit).rejects.toThrow(/a journal takes no closed with keyDownS: .*expected number/)
    await fit
    await journal.close()
    expect(readJournal(journal.file).lines.map(({ kind }) => kind)).toEqual(['opened', 'event'])
  })

  test('that was closed is not gone on with: RECORD_CLOSED', async () => {
    const journal = await openJournal({ folder: dataFolder(), header: headerOf(), clock: WALL })
    await journal.append({ kind: 'closed', keyDownS: 3, why: 'closed by hand', effects: [] })
    await journal.close()
    const before = readFileSync(journal.file)
    await expect(continueJournal(journal.file, WALL)).rejects.toThrow(
      /the job was closed at 2026-01-05T08:00:00\.000Z.*\[RECORD_CLOSED\]/,
    )
    expect(readFileSync(journal.file)).toEqual(before)
  })

  test("is its owner's alone", async () => {
    const { file } = await written(0)
    const { statSync } = await import('node:fs')
    expect(statSync(file).mode & 0o777).toBe(0o600)
  })
})

describe('a crash', () => {
  const ends = [...whole.bytes.entries()].flatMap(([at, byte]) => (byte === 10 ? [at + 1] : []))
  const from = ends.at(-3) ?? 0

  test('at every byte of the last two lines: the whole lines before it are read, the torn one is recognised', () => {
    for (let cut = from; cut < whole.bytes.length; cut++) {
      const read = parseJournal(whole.bytes.subarray(0, cut), 'cut')
      const full = ends.filter((end) => end <= cut).length
      expect(read.lines).toHaveLength(full)
      expect(read.torn).toEqual(whole.bytes.subarray(ends[full - 1] ?? 0, cut))
    }
  })

  test('the torn line is cut off into a file beside it when the job goes on, it is written down, and the chain holds', async () => {
    const { file, bytes } = await written(3)
    writeFileSync(file, Buffer.concat([bytes, Buffer.from(`{"n":4,${'x'.repeat(2000)}`)])) // longer than what comes in its place
    const { torn: cut } = readJournal(file)
    const journal = await continueJournal(file, WALL)
    await journal.append(note('after'))
    await journal.close()
    const { lines, torn } = readJournal(file)
    expect(torn).toHaveLength(0)
    expect(lines.slice(-2)).toMatchObject([
      { kind: 'resumed', cut: cut.length },
      { kind: 'event', words: 'after' },
    ])
    expect(readFileSync(`${file}.torn`, 'utf8')).toBe(`${cut.toString()}\n`)
  })

  test('in the first line leaves a journal that cannot go on: RECORD_BROKEN', async () => {
    const { file, bytes } = await written(0)
    writeFileSync(file, bytes.subarray(0, 100))
    await expect(continueJournal(file, WALL)).rejects.toThrow(/line 1 is not the head of a job.*\[RECORD_BROKEN\]/)
    expect(readFileSync(file)).toEqual(bytes.subarray(0, 100))
  })

  test('kill -9 of the writing process at 12 random moments: every entry that it said was kept is there', async () => {
    const results = await Promise.all([0, 1].map(() => killed(6)))
    expect(results.flat().every(({ lost }) => lost === 0)).toBe(true)
    expect(Math.max(...results.flat().map(({ kept }) => kept))).toBeGreaterThan(20)
  }, 60_000)
})

/** Starts a writer, kills it at a random moment, and holds what it said against what is on disk. */
async function killed(times: number): Promise<readonly { readonly kept: number; readonly lost: number }[]> {
  const found: { kept: number; lost: number }[] = []
  for (let run = 0; run < times; run++) {
    const folder = dataFolder()
    const child: ChildProcess = spawn(
      process.execPath,
      ['--import', 'tsx', join(import.meta.dirname, '..', 'kit', 'job', 'journal-writer.ts'), folder],
      {
        stdio: ['ignore', 'pipe', 'inherit'],
      },
    )
    let said = ''
    child.stdout?.on('data', (text) => {
      said += text
    })
    await new Promise<void>((resolve) => child.stdout?.once('data', () => resolve()))
    await new Promise((resolve) => setTimeout(resolve, 5 + 150 * Math.random()))
    child.kill('SIGKILL')
    await new Promise<void>((resolve) => child.once('close', () => resolve()))
    const kept = said.split('\n').slice(0, -1).map(Number)
    const [file = ''] = await journalsIn(folder)
    const there = new Set(
      readJournal(file).lines.flatMap((line) =>
        line.kind === 'event' ? [Number(sentence(line.words).split(' ')[1])] : [],
      ),
    )
    found.push({ kept: kept.length, lost: kept.filter((one) => !there.has(one)).length })
  }
  return found
}

describe('a change', () => {
  test('of any one bit of any whole line is noticed: RECORD_BROKEN, or the last line is no longer the one that was signed', () => {
    const { head } = readJournal(whole.file)
    fc.assert(
      fc.property(fc.nat(whole.bytes.length - 1), fc.nat(7), (at, bit) => {
        const bytes = Buffer.from(whole.bytes)
        bytes[at] = (bytes[at] ?? 0) ^ (1 << bit)
        let read: ReturnType<typeof parseJournal> | null = null
        try {
          read = parseJournal(bytes, 'changed')
        } catch (error) {
          expect(String(error)).toMatch(/line \d+ .*\[RECORD_BROKEN\]/s)
        }
        if (read) expect(read.head === head && read.torn.length === 0).toBe(false)
      }),
      { numRuns: 400 },
    )
  })

  test('a line taken out, or two that changed places, are noticed', () => {
    const lines = whole.bytes.toString().split('\n')
    const without = lines.filter((_, at) => at !== 2).join('\n')
    const swapped = [lines[0], lines[2], lines[1], ...lines.slice(3)].join('\n')
    for (const text of [without, swapped])
      expect(() => parseJournal(Buffer.from(text), 'changed')).toThrow(/line \d does not follow the one before/)
  })

  const third = (change: (line: string) => string) => {
    const lines = whole.bytes.toString().split('\n')
    return Buffer.from(lines.map((line, at) => (at === 2 ? change(line) : line)).join('\n'))
  }
  test.each([
    ['no JSON', third((line) => line.slice(1)), 'line 3 is not JSON'],
    [
      'a wrong shape',
      third((line) => line.replace('"what":"note"', '"what":7')),
      'line 3 has what that is not right: Invalid input: expected string',
    ],
    ['no kind', third((line) => line.replace('"kind":"event",', '')), 'line 3 has kind that is not right: '],
    ['another number', third((line) => line.replace('"n":2', '"n":3')), 'line 3 does not follow the one before: '],
    ['another hash', third((line) => line.replace(/"prev":"\w/, '"prev":"g')), 'line 3 has prev that is not right: '],
    ['other words', third((line) => line.replace('entry', 'Entry')), 'line 4 does not follow the one before: '],
    [
      'no first line',
      Buffer.from(whole.bytes.toString().replace(/^.*\n/, '')),
      'line 1 does not follow the one before: ',
    ],
  ])('the fault names the line as an editor counts it, from 1: %s in the third', (_, bytes, words) => {
    expect(() => parseJournal(bytes, 'changed')).toThrow(`changed: ${words}`)
  })

  test('an entry that cannot stand where it does is named with its line', () => {
    const first = whole.bytes.toString().split('\n')[1] ?? ''
    const alone = first.replace('"n":1', '"n":0').replace(/"prev":"\w+"/, `"prev":"${'0'.repeat(64)}"`)
    expect(() => parseJournal(Buffer.from(`${alone}\n`), 'changed')).toThrow(
      'changed: line 1 "event" does not stand there',
    )
  })

  test('a file that is not there is said: RECORD_MISSING', () => {
    expect(() => readJournal('/nowhere/at/all.journal')).toThrow(/\[RECORD_MISSING\]/)
  })
})

test('a data folder without rights is refused in words', async () => {
  if (process.getuid?.() === 0) return expect(await journalsIn('/nowhere')).toEqual([]) // root may write anywhere
  const folder = dataFolder()
  mkdirSync(join(folder, 'jobs'))
  chmodSync(join(folder, 'jobs'), 0o500)
  await expect(openJournal({ folder, header: headerOf(), clock: WALL })).rejects.toThrow(/EACCES/)
})

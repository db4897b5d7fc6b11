import { closeSync, fstatSync, fsyncSync, mkdirSync, openSync, promises, readSync, writeSync } from 'node:fs'
import { join } from 'node:path'
import { wordsOf } from '../../fault/bench-error.ts'
import type { Clock } from '../../system/clock.ts'
import type { Log } from '../../system/log.ts'
import type { KeeperNote } from '../rules/keeper-state.ts'

/** The keeper's notes on disk: keeper-notes.jsonl, a line each, only ever appended to. */
export interface KeeperNotes {
  /** Written and flushed to the disk behind the caller's back: switching off never waits for a disk. */
  note(note: KeeperNote): void
  /** Resolves when everything noted so far is on the disk, or could not be brought there (which is logged). */
  written(): Promise<void>
}

/** Keeps notes in `folder`, which is made if need be. */
export function openNotes(folder: string, clock: Clock, log: Log): KeeperNotes {
  let tail: Promise<void> = Promise.resolve()
  return {
    note: (note) => {
      const line = `${JSON.stringify({ at: clock.wallTime(), ...note })}\n`
      tail = tail
        .then(() => append(folder, line))
        .catch((error) => log.error({ folder }, `keeper note not written: ${wordsOf(error)}`))
    },
    written: () => tail,
  }
}

/** The same, each note on the disk before the call returns: for a keeper on a clock that does not wait for disks. */
export function openNotesAtOnce(folder: string, clock: Clock, log: Log): KeeperNotes {
  return {
    note: (note) => {
      try {
        appendAtOnce(folder, `${JSON.stringify({ at: clock.wallTime(), ...note })}\n`)
      } catch (error) {
        log.error({ folder }, `keeper note not written: ${wordsOf(error)}`)
      }
    },
    written: async () => {},
  }
}

function appendAtOnce(folder: string, line: string): void {
  mkdirSync(folder, { recursive: true })
  const file = openSync(join(folder, NOTES_FILE), 'a+')
  try {
    const { size } = fstatSync(file)
    const last = Buffer.alloc(1)
    if (size > 0) readSync(file, last, 0, 1, size - 1)
    writeSync(file, size === 0 || last[0] === NEWLINE ? line : `\n${line}`)
    fsyncSync(file)
  } finally {
    closeSync(file)
  }
}

const NEWLINE = 0x0a

async function append(folder: string, line: string): Promise<void> {
  await promises.mkdir(folder, { recursive: true })
  const file = await promises.open(join(folder, NOTES_FILE), 'a+')
  try {
    await file.appendFile((await endsWhole(file)) ? line : `\n${line}`)
    await file.sync()
  } finally {
    await file.close()
  }
}

/** A power cut may have left half a line. */
async function endsWhole(file: promises.FileHandle): Promise<boolean> {
  const { size } = await file.stat()
  if (size === 0) return true
  const { buffer } = await file.read(Buffer.alloc(1), 0, 1, size - 1)
  return buffer[0] === NEWLINE
}

/** The file's name inside the data folder. */
export const NOTES_FILE = 'keeper-notes.jsonl'

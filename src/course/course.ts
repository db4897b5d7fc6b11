import { type FileHandle, mkdir, open, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import type { Recorder } from '../alignment/recorder.ts'
import type { Session } from '../alignment/session.ts'
import { BenchError, wordsOf } from '../fault/bench-error.ts'
import type { Supply } from '../keeper/service/supply.ts'
import type { CameLine, CourseHead, DidLine } from '../schema/course/course-line.ts'
import type { LiveFrame } from '../schema/messages/live-frame.ts'
import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import type { Rng } from '../system/rng.ts'
import type { Through } from '../transport/port/port-needs.ts'
import { said } from '../words/said/said.ts'
import { heldTime } from './held-time.ts'
import { liveSide } from './live-side.ts'
import { partMaker, sha256 } from './parts.ts'
import { portsThrough } from './ports.ts'
import { recorderThrough } from './recorder.ts'
import { openRing } from './ring.ts'
import { frameLine, sessionThrough } from './session.ts'
import { supplyThrough } from './supply.ts'

/** Everything that comes to bench and session from outside, written down as it comes; and what both are opened with, so that it is. */
export interface Course {
  /** For bench and session; whoever is outside of them keeps the clock that the course was opened with. */
  readonly deps: { readonly clock: Clock; readonly rng: Rng; readonly through: Through }
  supply(real: Supply): Supply
  recorder(real: Recorder): Recorder
  /** Right after it was opened. */
  session(real: Session): Session
  /** Called right before the bench is opened. */
  begin(): void
  /** What is still held of it, from the start where it fits, as a file; resolves with its path. Throws RECORD_WRITE_FAILED. */
  keep(why: string): Promise<string>
  /** Nothing more is written down; what was is on disk. Idempotent, never throws. */
  end(): Promise<void>
}

/** Where it begins: all of a head that does not come from the clock. */
export type CourseFacts = Omit<CourseHead, 'kind' | 'format' | 'startedAt' | 'atMs' | 'wallMs' | 'bootMs'>

/** A part is as long as this, ms, or as many characters. */
const PART_MS = 2000
const PART_CHARACTERS = 128 * 1024
/** A course is kept by itself at most so often, ms, and so many times. */
const BY_ITSELF_MS = 60_000
const BY_ITSELF_MOST = 20

/** Begins a course. */
export function openCourse(about: {
  readonly facts: CourseFacts
  readonly clock: Clock
  readonly rng: Rng
  readonly log: Log
  /** Where what is kept of it goes. */
  readonly keepIn: string | null
  /** Where the whole of it goes as it comes; null: it is only held in memory. */
  readonly whole: string | null
  /** A clock that jumps stands still for what is given to this. */
  readonly hold?: (work: Promise<void>) => void
}): Course {
  const { clock, log, hold } = about
  const startedAt = clock.wallTime()
  const from = {
    atMs: Math.ceil(clock.nowMs() * 1000) / 1000,
    wallMs: Date.parse(startedAt),
    bootMs: clock.bootMs?.() ?? 0,
  }
  const held = heldTime(from)
  const ring = openRing()
  let file = about.whole === null ? null : wholeFile(about.whole, startedAt)
  const parts = partMaker(
    async (part) => {
      ring.take(part)
      await file?.add(part.bytes).catch((error: unknown) => {
        log.error({ folder: about.whole, fault: wordsOf(error) }, 'the course is only held in memory from here on')
        void file?.close().catch(() => {}) // what stands in it is run up to there
        file = null
      })
    },
    (error) => log.error({ fault: wordsOf(error) }, 'what comes and goes is not written down any more'),
  )
  let pending: (CameLine | DidLine | LiveFrame)[] = []
  let cutMs = from.atMs
  let over = false

  const keepLine = (line: CameLine | DidLine | LiveFrame) => {
    if (!over) pending.push(line)
  }
  const settled = () => {
    const lines = pending
    pending = []
    for (const line of lines) parts.add(JSON.stringify('mode' in line ? frameLine(line, sha256) : line))
    if (parts.waiting() < PART_CHARACTERS && held.nowMs() - cutMs < PART_MS) return
    cutMs = held.nowMs()
    parts.cut(cutMs)
  }
  const side = liveSide({ clock, rng: about.rng, held, keep: keepLine, settled, hold })
  const head: CourseHead = {
    kind: 'head',
    format: 1,
    startedAt,
    ...about.facts,
    ...from,
    bootMs: clock.bootMs ? from.bootMs : null,
  }
  parts.add(JSON.stringify(head))
  parts.cut(from.atMs)

  const keep = async (why: string): Promise<string> => {
    if (about.keepIn === null) throw new BenchError('RECORD_WRITE_FAILED', 'course', said('course.nowhere'))
    settled()
    parts.cut(held.nowMs())
    const last = parts.ending(JSON.stringify({ kind: 'end', at: held.nowMs(), why }))
    await parts.made()
    const path = join(about.keepIn, nameOf(clock.wallTime(), why))
    try {
      await mkdir(about.keepIn, { recursive: true })
      await writeFile(path, Buffer.concat([...ring.parts().map(({ bytes }) => bytes), await last]), { mode: 0o600 })
      return path
    } catch (error) {
      throw new BenchError('RECORD_WRITE_FAILED', path, wordsOf(error), error)
    }
  }

  let keptMs = Number.NEGATIVE_INFINITY
  let kept = 0
  /** What went wrong is found out later, if what led to it is still there. */
  const keepByItself = (why: string) => {
    if (about.keepIn === null || over || kept >= BY_ITSELF_MOST || held.nowMs() - keptMs < BY_ITSELF_MS) return
    keptMs = held.nowMs()
    kept += 1
    // after what follows from it at once
    setImmediate(() => {
      keep(why).then(
        (path) => log.warn({ path }, `kept what led to it (${why})`),
        (error) => log.error({ fault: wordsOf(error) }, 'what led to it was not kept'),
      )
    })
  }

  const end = async () => {
    settled()
    over = true
    parts.cut(held.nowMs())
    const last = parts.ending(JSON.stringify({ kind: 'end', at: held.nowMs(), why: 'the service ended' }))
    await parts.made()
    try {
      await file?.add(await last)
      await file?.close()
    } catch (error) {
      log.error({ fault: wordsOf(error) }, 'the end was not written down')
    }
  }

  let ending: Promise<void> | null = null

  return {
    deps: { clock: side.clock, rng: side.rng, through: portsThrough(side, clock) },
    supply: (real) => {
      real.onGone(() => keepByItself('keeper gone'))
      return supplyThrough(side, real)
    },
    recorder: (real) => recorderThrough(side, real),
    session: (real) => {
      let stopped = false
      real.onFrame((frame) => {
        keepLine(frame)
        if (frame.state === 'stopped' && !stopped) keepByItself('stopped')
        stopped = frame.state === 'stopped'
      })
      return sessionThrough(side, real, keep)
    },
    begin: side.begin,
    keep,
    end: () => {
      if (!ending) {
        ending = end()
        hold?.(ending)
      }
      return ending
    },
  }
}

/** "20261129-071500-keeper-gone.course.gz": sorts by time. */
function nameOf(at: string, why: string): string {
  const time = at.replace(/[-:]/g, '').replace('T', '-').slice(0, 15)
  const words = why
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .slice(0, 40)
  return `${time}-${words}.course.gz`
}

/** Parts as they come, one behind the other; the file is there from the first on. */
function wholeFile(folder: string, startedAt: string) {
  let handle: FileHandle | null = null
  return {
    add: async (bytes: Buffer) => {
      if (!handle) {
        await mkdir(folder, { recursive: true })
        handle = await open(join(folder, nameOf(startedAt, 'whole')), 'wx', 0o600)
      }
      await handle.writeFile(bytes)
    },
    close: async () => {
      await handle?.sync()
      await handle?.close()
    },
  }
}

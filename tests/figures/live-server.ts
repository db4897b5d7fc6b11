import { fork } from 'node:child_process'
import { once } from 'node:events'
import { mkdtemp } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { openJournal } from '../../src/record/journal.ts'
import { openServer, type Server } from '../../src/server/open-server.ts'
import { realClock, sleep } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { headerOf, WALL } from '../kit/job/journal-kit.ts'
import { type FakeSource, fakeSource, jobFrame } from '../kit/links/fake-source.ts'
import { pageFolder } from '../kit/program/page-folder.ts'
import type { Figure } from './figure.ts'
import type { Order, Report } from './live-pages.ts'

const FRAMES_PER_S = 20
const PAGES = 30
const STALLED = 3
const BLOCKS = 5
const FRAMES_PER_BLOCK = 80
const ROUNDS = 5
const FRAMES_PER_ROUND = 200
const WARM_UP_FRAMES = 300
/** More than this and the machine is too busy for the figure to mean anything. */
const MAX_MISSED = 0.01

const clock = realClock()
const nowMs = () => Number(process.hrtime.bigint()) / 1e6

interface Run {
  /** Frame made -> arrived, of every reading page. */
  readonly latenciesMs: readonly number[]
  /** Share of the frames that reading pages were not sent, because newer ones had been made before they caught up. */
  readonly missed: number
}

/** A running server and, in another process, pages that read it. */
interface Hall {
  readonly source: FakeSource
  /** Lets pages come, makes frames of a job in the middle, lets the pages go. */
  run(pages: { reading: number; stalled: number; frames: number; everyMs: number }): Promise<Run>
  close(): Promise<void>
}

async function openHall(): Promise<Hall> {
  const source = fakeSource(clock)
  const server = await openServer({ source, port: 0, webRoot: await pageFolder(), clock, log: silentLog })
  const pages = fork(new URL('./live-pages.ts', import.meta.url), { execArgv: ['--import', 'tsx'] })
  const tell = async <D extends Report['did']>(order: Order & { do: D }): Promise<Extract<Report, { did: D }>> => {
    pages.send(order)
    const [report] = await once(pages, 'message')
    return report
  }
  return {
    source,
    run: async ({ reading, stalled, frames, everyMs }) => {
      await tell({ do: 'join', url: server.url, token: server.token, reading, stalled })
      const madeMs = await makeFrames(source, frames, everyMs)
      const { arrivals } = await tell({ do: 'leave' })
      await empty(server)
      const latenciesMs = arrivals
        .slice(0, reading)
        .flat()
        .flatMap(([seq, atMs]) => {
          const began = madeMs.get(seq)
          return began === undefined ? [] : [atMs - began]
        })
      return { latenciesMs, missed: 1 - latenciesMs.length / (reading * frames) }
    },
    close: async () => {
      pages.disconnect()
      await once(pages, 'exit')
      await server.close()
    },
  }
}

/** Makes a frame every so often; number of the frame -> when it was made. */
async function makeFrames(source: FakeSource, frames: number, everyMs: number): Promise<Map<number, number>> {
  const madeMs = new Map<number, number>()
  const never = new AbortController().signal
  let dueMs = clock.nowMs()
  for (let count = 0; count < frames; count += 1) {
    dueMs += everyMs
    await clock.sleepUntil(dueMs, never)
    const frame = jobFrame(source.latest().seq + 1, clock.nowMs())
    madeMs.set(frame.seq, nowMs())
    source.emit(frame)
  }
  await sleep(clock, 200, never) // the last one is on its way
  return madeMs
}

async function empty(server: Server): Promise<void> {
  const never = new AbortController().signal
  while (server.clients() > 0) await sleep(clock, 5, never)
}

/** live.capturing: frames to one page while every second of them brings a capture of four values to the journal, against none, in turns. */
export async function capturingFigures(): Promise<Figure[]> {
  const hall = await openHall()
  const journal = await openJournal({
    folder: await mkdtemp(join(tmpdir(), 'figures-')),
    header: headerOf(),
    clock: WALL,
  })
  const one = { reading: 1, stalled: 0, frames: FRAMES_PER_BLOCK, everyMs: 1000 / FRAMES_PER_S }
  const quiet: number[] = []
  const capturing: number[] = []
  let kept = 0
  try {
    await hall.run({ ...one, frames: WARM_UP_FRAMES, everyMs: 5 })
    for (let block = 0; block < BLOCKS; block += 1) {
      quiet.push(...(await hall.run(one)).latenciesMs)
      let frames = 0
      const done = hall.source.onFrame(() => {
        frames += 1
        if (frames % 2 === 0) return
        for (let value = 0; value < 4; value += 1)
          void journal.append({ kind: 'event', what: 'note', words: 'x'.repeat(3000) }).then(() => {
            kept += 1
          })
      })
      capturing.push(...(await hall.run(one)).latenciesMs)
      done()
    }
  } finally {
    await journal.close()
    await hall.close()
  }
  const [ours, reference] = [p99(capturing), p99(quiet)]
  const against = `p99 without a journal; ours: ${kept} entries of 3 kB written and synced meanwhile, four at a time, ten times a second; ${capturing.length} and ${quiet.length} arrivals`
  return [{ name: 'live.capturing', ours, reference, ratio: ours / reference, unit: 'ms', against }]
}

/**
 * live.fanout: 30 watching pages, 3 of them stalled, against one page, in turns; and what the service's memory grew by.
 * Each round is two times ten seconds with a p99 of its own; the median round counts, so that what else the machine does
 * for a moment does not.
 */
export async function fanoutFigures(): Promise<Figure[]> {
  const hall = await openHall()
  const everyMs = 1000 / FRAMES_PER_S
  const one = { reading: 1, stalled: 0, frames: FRAMES_PER_ROUND, everyMs }
  const many = { ...one, reading: PAGES - STALLED, stalled: STALLED }
  const alone: number[] = []
  const among: number[] = []
  let grownMiB = 0
  const p99Of = async (pages: typeof one): Promise<number> => {
    const { latenciesMs, missed } = await hall.run(pages)
    if (missed > MAX_MISSED) throw new Error(`reading pages missed ${(100 * missed).toFixed(1)} % of the frames`)
    return p99(latenciesMs)
  }
  try {
    await hall.run({ ...one, frames: WARM_UP_FRAMES, everyMs: 5 })
    const restMiB = memoryMiB()
    const unwatch = hall.source.onFrame(() => {
      grownMiB = Math.max(grownMiB, memoryMiB() - restMiB)
    })
    await hall.run({ ...many, frames: WARM_UP_FRAMES, everyMs: 5 })
    unwatch() // to ask for the memory takes time that belongs to no page
    for (let round = 0; round < ROUNDS; round += 1) {
      alone.push(await p99Of(one))
      among.push(await p99Of(many))
    }
    grownMiB = Math.max(grownMiB, memoryMiB() - restMiB)
  } finally {
    await hall.close()
  }
  const [ours, reference] = [median(among), median(alone)]
  const frames = `${ROUNDS} rounds of ${FRAMES_PER_ROUND} frames at ${FRAMES_PER_S}/s, the p99 of the median round`
  return [
    {
      name: 'live.fanout',
      ours,
      reference,
      ratio: ours / reference,
      unit: 'ms',
      against: `with one page; ours: the ${PAGES - STALLED} reading pages beside ${STALLED} stalled ones; ${frames}; p99 of the rounds ${list(among)} ms against ${list(alone)} ms`,
    },
    {
      name: 'live.fanout.memory',
      ours: grownMiB,
      reference: 32,
      ratio: grownMiB / 32,
      unit: 'MiB',
      against: `the most that is allowed; resident memory of the service with ${PAGES} pages, ${STALLED} stalled, over what it was before any but one had come, ${WARM_UP_FRAMES} frames at 200/s and all of live.fanout`,
    },
  ]
}

function list(values: readonly number[]): string {
  return values.map((value) => value.toFixed(2)).join(', ')
}

function median(values: readonly number[]): number {
  return sorted(values)[(values.length - 1) / 2] ?? Number.NaN
}

function sorted(values: readonly number[]): number[] {
  return [...values].sort((a, b) => a - b)
}

function p99(values: readonly number[]): number {
  return sorted(values)[Math.ceil(values.length * 0.99) - 1] ?? Number.NaN
}

function memoryMiB(): number {
  return process.memoryUsage.rss() / 1024 / 1024
}

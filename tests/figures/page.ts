import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import type { Page } from 'playwright-core'
import { type Clock, realClock, sleep } from '../../src/system/clock.ts'
import type { Figure } from './figure.ts'
import { p99Figure } from './live-readings.ts'
import { eightFrame, hourFrame } from './page-frames.ts'
import { openPageHall, type PageHall } from './page-hall.ts'

const FRAMES_PER_S = 20
const STARTS = 10
const MINUTE_FRAMES = 60 * FRAMES_PER_S
const HOUR_FRAMES = 60 * MINUTE_FRAMES

const clock = realClock()
const never = new AbortController().signal
const nowMs = () => performance.timeOrigin + performance.now()

/** What the page weighs, how soon it is there, how smoothly a minute of the live gauge runs, and what an hour leaves behind. About four minutes. */
export async function pageFigures(): Promise<readonly Figure[]> {
  const hall = await openPageHall(clock)
  try {
    return [await bundle(hall.dist), await firstPaint(hall), ...(await minuteOfGauge(hall)), await memory()]
  } finally {
    await hall.close()
  }
}

async function bundle(dist: string): Promise<Figure> {
  const files = await readdir(dist, { recursive: true, withFileTypes: true })
  const sizes = await Promise.all(
    files
      .filter((file) => file.isFile() && !file.parentPath.endsWith('handbook')) // read when somebody opens it
      .map(async (file) => gzipSync(await readFile(join(file.parentPath, file.name))).length),
  )
  const ours = sizes.reduce((sum, size) => sum + size, 0) / 1000
  const against = `bound; all ${sizes.length} files of the built gauge page, each by gzip`
  return { name: 'page.bundle', ours, reference: 120, ratio: ours / 120, unit: 'kB', against }
}

/** page.first-paint: first contentful paint after the address is opened by a browser that was started for it. */
async function firstPaint({ source, server, withPage }: PageHall): Promise<Figure> {
  source.emit(eightFrame(source.latest().seq + 1, clock.nowMs()))
  const paints: number[] = []
  for (let start = 0; start < STARTS; start += 1) {
    const paintMs = await withPage(async (page) => {
      await page.goto(server.url)
      return page.evaluate(
        () =>
          new Promise<number>((resolve) => {
            new PerformanceObserver((list) => {
              for (const { startTime } of list.getEntriesByName('first-contentful-paint')) resolve(startTime)
            }).observe({ type: 'paint', buffered: true })
          }),
      )
    })
    paints.push(paintMs)
  }
  paints.sort((a, b) => a - b)
  const ours = paints[Math.ceil(paints.length * 0.95) - 1] ?? Number.NaN
  const against = `bound; first contentful paint on loopback, a cold browser profile each time, p95 of ${STARTS} (median ${(paints[STARTS / 2] ?? Number.NaN).toFixed(0)} ms)`
  return { name: 'page.first-paint', ours, reference: 1000, ratio: ours / 1000, unit: 'ms', against }
}

/** live.paint.eight and page.long-task: a real minute of eight quantities at 20 readings a second, with sound. */
async function minuteOfGauge({ source, server, withPage }: PageHall): Promise<Figure[]> {
  const madeMs = new Map<number, number>()
  const { painted, longTasks } = await withPage(async (page) => {
    await page.goto(server.url)
    await page.mouse.click(2, 2) // sound starts with a touch
    await frames(source, MINUTE_FRAMES / 20, new Map()) // the first pictures compile what draws them
    await page.evaluate(() => {
      const painted: [number, number][] = []
      const longTasks: number[] = []
      Object.assign(window, { measured: { painted, longTasks } })
      document.addEventListener('trimwright:painted', (event) => {
        if (event instanceof CustomEvent) painted.push([event.detail.seq, performance.timeOrigin + performance.now()])
      })
      new PerformanceObserver((list) => {
        for (const { duration } of list.getEntries()) longTasks.push(duration)
      }).observe({ type: 'longtask' })
    })
    await frames(source, MINUTE_FRAMES, madeMs)
    const measured: { painted: [number, number][]; longTasks: number[] } = await page.evaluate(() =>
      Reflect.get(window, 'measured'),
    )
    return measured
  })
  const latencies = painted.flatMap(([seq, atMs]) => {
    const began = madeMs.get(seq)
    return began === undefined ? [] : [atMs - began]
  })
  const longest = Math.max(0, ...longTasks)
  return [
    p99Figure(
      'live.paint.eight',
      latencies,
      40,
      `bound; frame of eight quantities and a whole job made in the service to its peg painted, 20 a second, p99 of ${latencies.length} paints of ${madeMs.size} frames`,
    ),
    {
      name: 'page.long-task',
      ours: longest,
      reference: 50,
      ratio: longest / 50,
      unit: 'ms',
      against: `bound from which the browser calls a task long; the longest of ${longTasks.length} such in a real minute of eight quantities at 20 readings/s with sound, 0: none`,
    },
  ]
}

async function frames(source: PageHall['source'], count: number, madeMs: Map<number, number>): Promise<void> {
  let dueMs = clock.nowMs()
  for (let index = 0; index < count; index += 1) {
    dueMs += 1000 / FRAMES_PER_S
    await clock.sleepUntil(dueMs, never)
    const frame = eightFrame(source.latest().seq + 1, clock.nowMs())
    madeMs.set(frame.seq, nowMs())
    source.emit(frame)
  }
  await sleep(clock, 200, never) // the last one is on its way
}

/** The machine code that the browser makes of what runs often is a third of a MiB and its own: without it what grows is the page's. */
const PLAIN_SCRIPT = '--js-flags=--no-turbofan --no-maglev --no-sparkplug'

/** page.memory: an hour of frames as fast as the page takes them, on a service clock that goes with the frames; what is still held after its garbage is thrown away. */
async function memory(): Promise<Figure> {
  let simulatedMs = 0
  const frameClock: Clock = { ...clock, nowMs: () => simulatedMs }
  const hall = await openPageHall(frameClock)
  try {
    return await hall.withPage(
      async (page) => {
        const painted = await followPaints(page)
        await page.goto(hall.server.url)
        await page.mouse.click(2, 2)
        const held = await openScales(page)
        const feed = async (from: number, to: number) => {
          for (let index = from; index < to; index += 1) {
            simulatedMs += 1000 / FRAMES_PER_S
            const { seq } = hall.source.emit(hourFrame(index, hall.source.latest().seq + 1, simulatedMs))
            if (index % FRAMES_PER_S === FRAMES_PER_S - 1) await painted(seq)
          }
        }
        await feed(0, MINUTE_FRAMES)
        const minute = await held()
        await feed(MINUTE_FRAMES, HOUR_FRAMES)
        const hour = await held()
        return {
          name: 'page.memory',
          ours: hour.heapMiB,
          reference: minute.heapMiB,
          ratio: hour.heapMiB / minute.heapMiB,
          unit: 'MiB',
          against: `the page's script memory after a minute; ours: after an hour, ${HOUR_FRAMES} frames as fast as it takes them, a second's worth a paint, the browser's compilers off; nodes ${minute.nodes} and ${hour.nodes}, listeners ${minute.listeners} and ${hour.listeners}`,
        }
      },
      [PLAIN_SCRIPT],
    )
  } finally {
    await hall.close()
  }
}

/** Resolves when the page says that it has painted that frame. */
async function followPaints(page: Page): Promise<(seq: number) => Promise<void>> {
  let newest = -1
  let wake = () => {}
  await page.exposeFunction('saysPainted', (seq: number) => {
    newest = seq
    wake()
  })
  await page.addInitScript(() =>
    document.addEventListener('trimwright:painted', (event) => {
      if (event instanceof CustomEvent) Reflect.get(window, 'saysPainted')(event.detail.seq)
    }),
  )
  return async (seq) => {
    while (newest < seq)
      await new Promise<void>((resolve) => {
        wake = resolve
      })
  }
}

/** What the page holds once its garbage is thrown away. */
async function openScales(page: Page) {
  const session = await page.context().newCDPSession(page)
  await session.send('Performance.enable')
  return async () => {
    for (let pass = 0; pass < 3; pass += 1) {
      await page.waitForTimeout(300) // sounds that have ended let go of their nodes
      await session.send('HeapProfiler.collectGarbage')
    }
    const { metrics } = await session.send('Performance.getMetrics')
    const of = (name: string) => metrics.find((metric) => metric.name === name)?.value ?? Number.NaN
    return { heapMiB: of('JSHeapUsedSize') / 1024 / 1024, nodes: of('Nodes'), listeners: of('JSEventListeners') }
  }
}

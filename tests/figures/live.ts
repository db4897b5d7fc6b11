import { chromium } from 'playwright-core'
import { CHROMIUM } from '../kit/program/chromium.ts'
import { type ServiceProcess, startService } from '../kit/program/service.ts'
import type { Figure } from './figure.ts'
import { p99Figure, readingsOf } from './live-readings.ts'
import { soundFigure } from './live-sound.ts'

/** Four times life: the multimeter then answers 20 times a second, over its real serial line. */
const PACE = 4

/**
 * live.latency, live.paint and live.sound: from the last byte of a reply arriving in the service to a client's frame, to the
 * peg on the page, and to the first sample of the sound that is another. First without a browser, then with one: two cores
 * cannot both paint and be measured.
 */
export async function liveFigures(): Promise<readonly Figure[]> {
  const service = await startService(['--pace', String(PACE)])
  try {
    const { latencies } = await readingsOf(service, async () => {})
    const paints = await paintsOf(service)
    return [
      p99Figure(
        'live.latency',
        latencies,
        5,
        `bound; last byte of a reply to the frame at a WebSocket client in another process, p99 of ${latencies.length} readings`,
      ),
      p99Figure(
        'live.paint',
        paints,
        40,
        `bound; last byte of a reply to the peg painted in headless Chromium, p99 of ${paints.length} paints`,
      ),
      await soundFigure(service),
    ]
  } finally {
    await service.close()
  }
}

async function paintsOf(service: ServiceProcess): Promise<number[]> {
  const browser = await chromium.launch(CHROMIUM)
  try {
    const page = await browser.newPage({ viewport: { width: 1280, height: 800 } })
    await page.goto(service.url)
    const { arrivals } = await readingsOf(service, async () => {
      await page.evaluate(() => {
        const painted: [number, number][] = []
        Object.assign(window, { painted })
        document.addEventListener('trimwright:painted', (event) => {
          if (event instanceof CustomEvent) painted.push([event.detail.seq, performance.timeOrigin + performance.now()])
        })
      })
    })
    const painted: [number, number][] = await page.evaluate(() => Reflect.get(window, 'painted'))
    return painted.flatMap(([seq, atMs]) => {
      const arrivedMs = arrivals.get(seq)
      return arrivedMs === undefined ? [] : [atMs - arrivedMs]
    })
  } finally {
    await browser.close()
  }
}

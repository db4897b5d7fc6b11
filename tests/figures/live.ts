import { chromium } from 'playwright-core'
import { CHROMIUM } from '../kit/chromium.ts'
import { joinLive } from '../kit/live-client.ts'
import { type ServiceProcess, startService } from '../kit/service.ts'
import type { Figure } from './figure.ts'

const SECONDS = 30
/** Four times life: the multimeter then answers 20 times a second, over its real serial line. */
const PACE = 4

const nowMs = () => performance.timeOrigin + performance.now()

/**
 * live.latency and live.paint: from the last byte of a reply arriving in the service to a client's frame, and to the peg on the
 * page. First without a browser, then with one: two cores cannot both paint and be measured.
 */
export async function liveFigures(): Promise<readonly Figure[]> {
  const service = await startService(['--pace', String(PACE)])
  try {
    const { latencies } = await readingsOf(service, async () => {})
    const paints = await paintsOf(service)
    return [
      figure(
        'live.latency',
        latencies,
        5,
        `bound; last byte of a reply to the frame at a WebSocket client in another process, p99 of ${latencies.length} readings`,
      ),
      figure(
        'live.paint',
        paints,
        40,
        `bound; last byte of a reply to the peg painted in headless Chromium, p99 of ${paints.length} paints`,
      ),
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

/** Watches the voltmeter (five readings a second at pace 1, over its serial line) for a while: latencies of new readings, and when the reading in each frame arrived. Real ms. */
async function readingsOf(service: ServiceProcess, ready: () => Promise<void>) {
  const client = await joinLive(service)
  await client.ask({ kind: 'watch', id: `watch-${nowMs()}`, quantity: 'DC voltage', target: '13.75 .. 13.85 V' })
  const latencies: number[] = []
  const arrivals = new Map<number, number>()
  let last = -1
  await ready()
  const endMs = nowMs() + SECONDS * 1000
  client.socket.on('message', (data) => {
    const atMs = nowMs()
    const message = JSON.parse(String(data))
    if (message.kind !== 'frame' || !message.reading || message.reading.arrivedMs === last) return
    last = message.reading.arrivedMs
    latencies.push(atMs - service.realMs(last))
    arrivals.set(message.seq, service.realMs(last))
  })
  while (nowMs() < endMs) {
    await new Promise((resolve) => setTimeout(resolve, 500))
    client.say({ kind: 'here', visible: true })
  }
  client.close()
  return { latencies, arrivals }
}

function figure(name: string, values: number[], bound: number, against: string): Figure {
  values.sort((a, b) => a - b)
  const p99 = values[Math.ceil(values.length * 0.99) - 1] ?? Number.NaN
  return { name, ours: p99, reference: bound, ratio: p99 / bound, unit: 'ms', against }
}

import { joinLive } from '../kit/links/live-client.ts'
import type { ServiceProcess } from '../kit/program/service.ts'
import type { Figure } from './figure.ts'

const SECONDS = 30

/** Real time, ms since 1970. */
export const nowMs = () => performance.timeOrigin + performance.now()

/** Watches the voltmeter, unless another page steers and has it watched (five readings a second at pace 1, over its serial line) for a while: latencies of new readings, and when the reading in each frame arrived. Real ms. */
export async function readingsOf(service: ServiceProcess, ready: () => Promise<void>) {
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

/** The p99 of `values`, ms, against a bound. Sorts them. */
export function p99Figure(name: string, values: number[], bound: number, against: string): Figure {
  values.sort((a, b) => a - b)
  const p99 = values[Math.ceil(values.length * 0.99) - 1] ?? Number.NaN
  const median = values[Math.ceil(values.length / 2) - 1] ?? Number.NaN
  const words = `${against} (median ${median.toFixed(1)} ms)`
  return { name, ours: p99, reference: bound, ratio: p99 / bound, unit: 'ms', against: words }
}

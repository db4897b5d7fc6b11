import { expect, test } from 'vitest'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { openSupplyPort } from '../../src/instrument/supply.ts'
import { silentLog } from '../../src/system/log.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import type { MemoryNet } from '../../src/transport/port/byte-port.ts'
import { type Act, memoryInstrument } from '../kit/links/memory-pair.ts'
import { benchEntry } from '../kit/links/open-scripted.ts'

const driver = loadDriver('drivers', 'supply-scpi')

/** Opens a supply that was proved before in this run, or not, on a line that answers as it is told; when the opening failed and the connection was closed. */
function opening(provedBefore: boolean, answer: (line: string) => Act | undefined) {
  const clock = virtualClock()
  const instrument = memoryInstrument(clock, { answer })
  const stop = new AbortController()
  const seen = { closedMs: Number.NaN, failedMs: Number.NaN, code: '' }
  const offsMs: number[] = []
  const memory: MemoryNet = {
    connect: (name) => {
      const port = instrument.net.connect(name)
      const write: typeof port.write = (text) => {
        if (text.includes('OUTP OFF')) offsMs.push(clock.nowMs())
        return port.write(text)
      }
      const close = () => {
        seen.closedMs = clock.nowMs()
        return port.close()
      }
      return { ...port, write, close }
    },
  }
  const deps = { clock, log: silentLog, memory }
  const entry = benchEntry('supply', 'supply-scpi')
  openSupplyPort(entry, driver, deps, { ms: 500, signal: stop.signal }, provedBefore).catch((error) => {
    seen.failedMs = clock.nowMs()
    seen.code = error.code ?? error.message
  })
  return { clock, seen, offsMs, stop }
}

const mute = () => null

test('nobody answers: the connection that carries the first off is kept for 2 s more, off is told again in them, and only then the opening has failed', async () => {
  const plain = opening(false, mute)
  await plain.clock.advance(10_000)
  expect(plain.seen).toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT', closedMs: plain.seen.failedMs })
  const { clock, seen, offsMs } = opening(true, mute)
  await clock.advance(10_000)
  expect(seen).toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT', closedMs: seen.failedMs })
  expect(seen.closedMs - plain.seen.closedMs).toBeCloseTo(2000, -2)
  expect(seen.closedMs - (offsMs.at(-1) ?? 0)).toBeLessThan(1100)
})

test('something was heard on it: off has arrived, and it is closed at once', async () => {
  const { clock, seen } = opening(true, (line) => (line === '*ESE?' ? 'rubbish' : null))
  await clock.advance(10_000)
  const plain = opening(false, (line) => (line === '*ESE?' ? 'rubbish' : null))
  await plain.clock.advance(10_000)
  expect(seen.code).toBe('TRANSPORT_OUT_OF_STEP')
  expect(seen.closedMs).toBeCloseTo(plain.seen.closedMs, -2)
})

test('another instrument is there: closed at once, told nothing more', async () => {
  const { clock, seen } = opening(true, (line) => (line === '*IDN?' ? 'COUNTER' : undefined))
  await clock.advance(10_000)
  expect(seen.code).toBe('DRIVER_WRONG_INSTRUMENT')
  expect(seen.closedMs).toBeLessThan(500)
})

test('called off, before or while it is kept: closed at once', async () => {
  const plain = opening(false, mute)
  await plain.clock.advance(10_000)
  for (const afterMs of [300, plain.seen.failedMs + 1000]) {
    const { clock, seen, stop } = opening(true, mute)
    await clock.advance(afterMs)
    expect(seen.closedMs).toBeNaN()
    stop.abort(new Error('not wanted any more'))
    await clock.advance(10)
    expect(seen.closedMs).toBeLessThan(afterMs + 10)
  }
})

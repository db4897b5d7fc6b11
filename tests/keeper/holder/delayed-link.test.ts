import { type AddressInfo, connect, createServer, type Socket } from 'node:net'
import { expect, test } from 'vitest'
import { loadDriver } from '../../../src/instrument/load-driver.ts'
import { openSupplyPort } from '../../../src/instrument/supply.ts'
import { openSeat } from '../../../src/keeper/holder/supply-seat.ts'
import { realClock } from '../../../src/system/clock.ts'
import { silentLog } from '../../../src/system/log.ts'
import type { Wait } from '../../../src/transport/link.ts'
import { openLineServer } from '../../kit/links/line-server.ts'
import { benchEntry } from '../../kit/links/open-scripted.ts'

/** Delays every byte and every connection by `now.delayMs`; what is under way on a connection that is closed is lost. */
async function delayingProxy(port: number, now: { delayMs: number }) {
  const sockets = new Set<Socket>()
  const mind = (socket: Socket) => {
    sockets.add(socket)
    socket.on('error', () => {}) // the other side may be gone already
  }
  const server = createServer((near) => {
    mind(near)
    const far = new Promise<Socket>((resolve) =>
      setTimeout(() => {
        const socket = connect(port, '127.0.0.1', () => resolve(socket))
        mind(socket)
        near.on('close', () => socket.destroy())
        socket.on('data', (bytes) => setTimeout(() => near.write(bytes), now.delayMs))
      }, now.delayMs),
    )
    near.on('data', (bytes) => setTimeout(() => far.then((to) => !near.destroyed && to.write(bytes)), now.delayMs))
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const { port: own } = server.address() as AddressInfo // it listens on TCP
  return {
    address: `tcp://127.0.0.1:${own}`,
    close: () => {
      for (const socket of sockets) socket.destroy()
      return new Promise((resolve) => server.close(resolve))
    },
  }
}

test.each([1000, 3000])(
  'with %s ms of delay each way the first off arrives, hardly later',
  { timeout: 20_000 },
  async (delayMs) => {
    const now = { delayMs: 0 }
    let offAtMs = Number.POSITIVE_INFINITY
    const server = await openLineServer((line, socket) => {
      if (line === 'OUTP OFF') offAtMs = Math.min(offAtMs, performance.now())
      const numbers = [
        'MEAS:VOLT?',
        'MEAS:CURR?',
        'SOUR:VOLT?',
        'SOUR:CURR?',
        'OUTP?',
        'SOUR:VOLT:PROT:TRIP?',
        'STAT:QUES:COND?',
      ]
      if (line === 'SYST:ERR?') socket.write('0,"No error"\n')
      else if (numbers.includes(line)) socket.write('0\n')
      return line !== '' && !line.startsWith('*')
    })
    const proxy = await delayingProxy(server.port, now)
    const clock = realClock({ times: 1, originMs: performance.timeOrigin })
    const entry = { ...benchEntry('supply', 'supply-scpi'), at: proxy.address }
    const driver = loadDriver('drivers', 'supply-scpi')
    const deps = { clock, log: silentLog }
    const within = (ms: number): Wait => ({ ms, signal: AbortSignal.timeout(ms) })
    const port = await openSupplyPort(entry, driver, deps, within(4000))
    const seat = openSeat(port, (wait) => openSupplyPort(entry, driver, deps, wait, true), {
      ...deps,
      rules: { patience: 1 },
    })
    now.delayMs = delayMs
    const askedMs = performance.now()
    await seat.perform({ do: 'off' }, within(400))
    while (performance.now() - askedMs < delayMs + 700) await seat.perform({ do: 'look' }, within(500)).catch(() => {}) // too late
    expect(offAtMs - askedMs).toBeLessThan(delayMs + 300)
    await seat.close()
    await proxy.close()
    await server.close()
  },
)

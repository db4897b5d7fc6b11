import { expect, test } from 'vitest'
import { BenchError } from '../../../src/fault/bench-error.ts'
import type { SupplyPort } from '../../../src/instrument/supply-port.ts'
import { codeOf, openSeat } from '../../../src/keeper/holder/supply-seat.ts'
import type { Act } from '../../../src/keeper/rules/keeper-state.ts'
import { silentLog } from '../../../src/system/log.ts'
import { virtualClock } from '../../../src/system/virtual-clock.ts'
import type { Wait } from '../../../src/transport/link.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { fakeSupply } from '../fake-supply.ts'

const who = 'supply (fake at memory:supply)'

/** A seat whose link is lost, and whose new connections come about as `reopen` says. */
function lostSeat(reopen: (wait: Wait, clock: ReturnType<typeof virtualClock>) => Promise<SupplyPort>) {
  const clock = virtualClock()
  const port = fakeSupply(clock)
  port.manner = 'lost'
  const openings: number[] = []
  const opening = { now: 0, most: 0 }
  const seat = openSeat(
    port,
    async (wait) => {
      openings.push(clock.nowMs())
      opening.now += 1
      opening.most = Math.max(opening.most, opening.now)
      try {
        return await reopen(wait, clock)
      } finally {
        opening.now -= 1
      }
    },
    { clock, log: silentLog, rules: { patience: 1 } },
  )
  /** One act with `ms` for it; what it was refused with, "" when it was done. */
  const attempt = async (act: Act, ms = 400): Promise<{ code: string; words: string }> => {
    const cut = new AbortController()
    const late = clock.sleepUntil(clock.nowMs() + ms, new AbortController().signal)
    late.then(() => cut.abort(new Error('took too long')))
    return seat.perform(act, { ms, signal: cut.signal }).then(
      () => ({ code: '', words: '' }),
      (error: unknown) => ({
        code: codeOf(error),
        words: error instanceof BenchError ? sentence(error.happened) : String(error),
      }),
    )
  }
  return { clock, port, seat, openings, opening, attempt }
}

const refused = async () => {
  throw new BenchError('TRANSPORT_OPEN_FAILED', who, 'nobody listens there')
}

test('a supply that cannot be had at once is tried again later each time, at least each second, never ten times in one', async () => {
  const it = lostSeat(refused)
  const work = async () => {
    while (it.clock.nowMs() < 20_000) {
      await it.attempt({ do: 'off' })
      await it.clock.sleepUntil(it.clock.nowMs() + 50, new AbortController().signal)
    }
  }
  await it.clock.runUntil(work())
  const gaps = it.openings.slice(1).map((atMs, index) => atMs - (it.openings[index] ?? 0))
  expect(it.openings.length).toBeLessThan(28)
  expect(Math.min(...gaps)).toBeGreaterThanOrEqual(100)
  expect(Math.max(...gaps)).toBeLessThanOrEqual(1500)
  await it.clock.runUntil(it.seat.close())
})

test('a connection that is kept for the sake of its first off is not overtaken by the next one', async () => {
  const it = lostSeat(async (wait, clock) => {
    await clock.sleepUntil(clock.nowMs() + 60_000, wait.signal).catch(() => {}) // it is never in step
    await clock.sleepUntil(clock.nowMs() + 2000, new AbortController().signal)
    throw wait.signal.reason
  })
  const work = async () => {
    while (it.clock.nowMs() < 20_000) await it.attempt({ do: 'off' })
  }
  await it.clock.runUntil(work())
  expect(it.opening.most).toBe(1)
  expect(it.openings.length).toBeGreaterThanOrEqual(3)
  await it.clock.runUntil(it.seat.close())
})

test.each(['off', 'look'] as const)(
  'a lost link is the reason for all that fails until there is another one, not what follows from it: %s',
  async (act) => {
    const it = lostSeat(refused)
    const answers = [await it.clock.runUntil(it.attempt({ do: act }))]
    for (let times = 0; times < 6; times++) answers.push(await it.clock.runUntil(it.attempt({ do: act })))
    expect(new Set(answers.map(({ code, words }) => `${code}: ${words}`))).toEqual(
      new Set(['TRANSPORT_LINK_LOST: the cable is out']),
    )
    await it.clock.runUntil(it.seat.close())
  },
)

test('another instrument in its place is said as that', async () => {
  const it = lostSeat(async (_wait, clock) => fakeSupply(clock, undefined, 'COUNTER'))
  await it.clock.runUntil(it.attempt({ do: 'look' }))
  const { code, words } = await it.clock.runUntil(it.attempt({ do: 'look' }))
  expect(code).toBe('DRIVER_WRONG_INSTRUMENT')
  expect(words).toBe('"COUNTER" answers where "TRIMWRIGHT SIMULATED,SUPPLY,FAKE,1" did')
  await it.clock.runUntil(it.seat.close())
})

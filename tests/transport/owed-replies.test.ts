import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { memoryBench, quietSignal, WAIT } from '../kit/links/link-kit.ts'
import type { Act } from '../kit/links/memory-pair.ts'

const MANNERS = ['sentinel', 'identity', 'drain', 'reopen'] as const

/** Takes `afterMs` for a reading and answers everything else at once, while it still measures. */
const besideBench = (afterMs: (asked: number) => number) => {
  let asked = 0
  return memoryBench({
    answer: (line): Act | undefined => {
      if (line !== 'READ?') return undefined
      asked += 1
      return { say: String(asked), afterMs: afterMs(asked), beside: true }
    },
  })
}

describe('while a reply is owed no other is believed, however well the instrument answers meanwhile', () => {
  test.each(MANNERS)('a reading that is 900 ms late does not answer the next one (%s)', async (resync) => {
    const { clock, opened } = besideBench((asked) => (asked === 1 ? 1900 : 700))
    const link = await opened({ resync })
    await clock.runUntil(expect(link.ask('READ?', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT' }))
    expect((await clock.runUntil(link.ask('READ?', WAIT))).text).toBe('2')
    expect((await clock.runUntil(link.ask('READ?', WAIT))).text).toBe('3')
  })

  test.each(MANNERS)('nor one that was called off (%s)', async (resync) => {
    const { clock, opened } = besideBench((asked) => (asked === 1 ? 1900 : 700))
    const link = await opened({ resync })
    const stop = new AbortController()
    const first = link.ask('READ?', { ms: 1000, signal: stop.signal })
    await clock.advance(300)
    stop.abort('not wanted')
    await expect(first).rejects.toBe('not wanted')
    expect((await clock.runUntil(link.ask('READ?', WAIT))).text).toBe('2')
  })

  test('it is asked again as soon as the late reply has come, else when its 1 s has passed once more in silence, counted from the last byte', async () => {
    const { clock, opened } = besideBench((asked) => (asked === 1 ? 1300 : 10))
    const link = await opened()
    const beganMs = clock.nowMs()
    await clock.runUntil(expect(link.ask('READ?', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT' }))
    const second = await clock.runUntil(link.ask('READ?', WAIT))
    expect(second.sentMs - beganMs).toBeGreaterThanOrEqual(1300)
    expect(second.sentMs - beganMs).toBeLessThan(1400)

    const other = memoryBench({ answer: (line) => (line === 'NEVER?' ? null : line === 'READ?' ? '1' : undefined) })
    const silent = await other.opened()
    const askedMs = other.clock.nowMs()
    await other.clock.runUntil(expect(silent.ask('NEVER?', WAIT)).rejects.toMatchObject({ message: /no reply/ }))
    expect((await other.clock.runUntil(silent.ask('READ?', WAIT))).sentMs - askedMs).toBe(2100)
  })

  test('a late reply that comes twice, 20 ms apart, answers nothing either', async () => {
    const { clock, instrument, opened } = memoryBench({
      answer: (line) => (line === 'READ?' ? null : line === 'B?' ? { say: 'B', afterMs: 100 } : undefined),
    })
    const link = await opened()
    const missed = expect(link.ask('READ?', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT' })
    instrument.say('late\n', 1500)
    instrument.say('late\n', 1520)
    await clock.runUntil(missed)
    expect((await clock.runUntil(link.ask('B?', WAIT))).text).toBe('B')
  })

  test('a new link to the same instrument waits for what the old one was owed', async () => {
    const { clock, opened, open, instrument } = besideBench(() => 10)
    const link = await opened()
    const stop = new AbortController()
    const first = link.ask('NEVER?', { ms: 1000, signal: stop.signal }).catch(() => {})
    await clock.advance(10)
    stop.abort('not wanted')
    await first
    const owed = link.owed()
    expect(owed).toMatchObject({ count: 1, slowestMs: 1000 })
    await link.close()
    const opening = open({}, WAIT, owed ?? undefined)
    instrument.say('late\n', 1500)
    const again = await clock.runUntil(opening)
    expect((await clock.runUntil(again.ask('READ?', WAIT))).text).toBe('1')
  })
})

/** What somebody does with a link: asks, asks and calls it off, or waits. */
const doing = fc.oneof(
  { weight: 5, arbitrary: fc.record({ do: fc.constant('ask' as const), forMs: fc.constant(0) }) },
  {
    weight: 2,
    arbitrary: fc.record({ do: fc.constant('call off' as const), forMs: fc.integer({ min: 0, max: 500 }) }),
  },
  { weight: 2, arbitrary: fc.record({ do: fc.constant('wait' as const), forMs: fc.integer({ min: 0, max: 1500 }) }) },
)
const PATIENCE = { ms: 500, signal: quietSignal }

test.each(MANNERS)(
  'whatever each reply takes, up to twice what it is given, no reply is given to a question that did not ask for it (%s)',
  async (resync) => {
    const trial = fc.asyncProperty(
      fc.array(fc.integer({ min: 0, max: 1000 }), { minLength: 1, maxLength: 30 }),
      fc.array(doing, { minLength: 2, maxLength: 12 }),
      fc.boolean(),
      async (delays, todo, common) => {
        let at = 0
        let enabled = '0'
        const delay = () => delays[at++ % delays.length] ?? 0
        const { clock, open } = memoryBench({
          answer: (line): Act | undefined => {
            if (line.startsWith('*ESE ')) enabled = line.slice(5)
            const reply = line === '*ESE?' ? enabled : line === '*IDN?' ? 'EXAMPLE,BESIDE,0,1' : null
            const own = /^READ (\d+)\?$/.exec(line)?.[1]
            if (own) return { say: own, afterMs: delay(), beside: true }
            return reply === null ? null : { say: reply, afterMs: common ? delay() / 4 : 0, beside: true }
          },
        })
        const link = await clock.runUntil(open({ resync }, { ms: 1000, signal: quietSignal }).catch(() => null))
        if (!link) return
        for (const [number, { do: what, forMs }] of todo.entries()) {
          if (what === 'wait') {
            await clock.advance(forMs)
            continue
          }
          const stop = new AbortController()
          const wait = what === 'ask' ? PATIENCE : { ms: 500, signal: stop.signal }
          const asked = link.ask(`READ ${number + 100}?`, wait).then(
            ({ text }) => text,
            () => null,
          )
          if (what === 'call off') {
            await clock.advance(forMs)
            stop.abort('called off')
          }
          const said = await clock.runUntil(asked)
          if (said !== null) expect(said).toBe(String(number + 100))
        }
        await link.close()
      },
    )
    await fc.assert(trial, { numRuns: 250, seed: 12 })
  },
)

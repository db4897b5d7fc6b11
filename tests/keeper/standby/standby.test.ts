import { describe, expect, test } from 'vitest'
import { BenchError } from '../../../src/fault/bench-error.ts'
import type { KeeperNote } from '../../../src/keeper/rules/keeper-state.ts'
import { rulesFor } from '../../../src/keeper/rules/keeper-state.ts'
import { runStandby, type StandbyEnd } from '../../../src/keeper/standby/standby.ts'
import type { FromStandby } from '../../../src/schema/messages/standby-message.ts'
import { silentLog } from '../../../src/system/log.ts'
import { virtualClock } from '../../../src/system/virtual-clock.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { fakeSupply } from '../fake-supply.ts'

const MADE = 'TRIMWRIGHT SIMULATED,SUPPLY,FAKE,1'
const REAL = 'EXAMPLE,SUPPLY,1,1'
const OTHER = { pid: 77, start: '1', role: 'standby' as const, who: 'the supply' }

/** A standby beside a supply left on at 15.6 V; `mortal`: the keeper goes when it is killed. */
function stand(
  about: {
    readonly mortal?: boolean
    readonly opens?: (tries: number) => boolean
    readonly identity?: string
    /** Another process holds the supply until then, ms of the clock. */
    readonly heldUntilMs?: number
  } = {},
) {
  const { mortal = true, opens = () => true, identity = MADE, heldUntilMs = 0 } = about
  const clock = virtualClock()
  const port = fakeSupply(clock)
  Object.assign(port.model, { on: true, setVolts: 15.6, volts: 15.6 })
  const said: (FromStandby & { atMs: number })[] = []
  const notes: KeeperNote[] = []
  let alive = true
  let kills = 0
  let tries = 0
  let held = false
  let end: StandbyEnd | null = null
  const standby = runStandby({
    rules: rulesFor(port.who, 16.5, 4, 1),
    factor: 1,
    clock,
    bootMs: () => clock.nowMs(),
    log: silentLog,
    keeper: {
      alive: () => alive,
      kill: () => {
        kills += 1
        alive = !mortal
        return mortal ? null : 'not permitted'
      },
    },
    takeLease: () => {
      if (clock.nowMs() < heldUntilMs) return { heldBy: OTHER }
      held = true
      return {
        lease: {
          isOurs: () => held,
          giveBack: () => {
            held = false
          },
        },
      }
    },
    openSupply: async () => {
      expect([alive && mortal, held || !mortal]).toEqual([false, true]) // never beside a living keeper, never without the lease
      if (!opens(++tries)) throw new BenchError('TRANSPORT_BUSY', port.who, 'takes no second client')
      port.closed = 0
      return port
    },
    say: (word) => said.push({ ...worded(word), atMs: clock.nowMs() }),
    note: (note) => notes.push(note),
    begin: 'watching',
    identity: '',
  })
  standby.ended.then((how) => {
    end = how
  })
  const hear = async (ms: number) => {
    for (let passed = 0; passed < ms; passed += 500) {
      standby.heard({ kind: 'beat', identity, hears: true })
      await clock.advance(500)
    }
  }
  return {
    clock,
    port,
    standby,
    said,
    notes,
    hear,
    kills: () => kills,
    tries: () => tries,
    end: () => worded(end),
    held: () => held,
  }
}

describe('a standby', () => {
  test('does nothing while the keeper is heard, and ends when it leaves in order', async () => {
    const it = stand()
    await it.hear(20_000)
    it.standby.heard({ kind: 'leaving' })
    it.standby.lost()
    await it.clock.advance(100)
    expect([it.end()?.proved, it.said, it.kills(), it.port.model.on]).toEqual([true, [], 0, true])
  })

  test('a keeper that is silent for two beats is ended; off within 2.1 s, proved again for 5 s, then the end', async () => {
    const it = stand()
    await it.hear(1000)
    const fromMs = it.clock.nowMs() - 500
    await it.clock.advance(1600)
    expect([it.kills(), it.port.model.on]).toEqual([1, false])
    const [first] = it.said
    expect(first).toMatchObject({ kind: 'taking over', why: 'the keeper said nothing for 1.8 s' })
    expect((first?.atMs ?? 0) - fromMs).toBeLessThanOrEqual(2100)
    it.port.model.on = true // a late byte of the dead one
    await it.clock.advance(1000)
    expect([it.port.model.on, it.end()]).toEqual([false, null])
    await it.clock.advance(7000)
    expect(it.end()).toMatchObject({ proved: true })
    expect([it.port.model.on, it.held()]).toEqual([false, false])
    expect(it.port.model.setVolts).toBe(0) // nobody told this one what normal is
    expect(it.notes.filter(({ what }) => what === 'safe')[0]).toMatchObject({ proved: true })
  })

  test('a look that takes longer than the next off: proved once, never unsaid, and the end comes', async () => {
    const it = stand()
    await it.hear(500)
    Object.assign(it.port, { manner: 'slow', slowMs: 560, looksOnly: true }) // a serial line with pauses
    it.standby.lost()
    await it.clock.advance(12_000)
    expect(it.end()).toMatchObject({ proved: true })
    const kinds = it.said.map(({ kind }) => kind)
    expect(kinds.lastIndexOf('not proved')).toBeLessThan(kinds.indexOf('proved'))
  })

  test('another standby froze while it held the supply: waited for until it is ended, then off', async () => {
    const it = stand({ heldUntilMs: 2500 })
    await it.hear(500)
    it.standby.lost()
    await it.clock.advance(1900)
    expect([it.port.model.on, it.end()]).toEqual([true, null])
    expect(it.said.at(-1)).toMatchObject({ kind: 'not proved', words: 'process 77 holds it' })
    await it.clock.advance(300)
    expect(it.port.model.on).toBe(false)
    await it.clock.advance(7000)
    expect(it.end()).toMatchObject({ proved: true })
  })

  test('who holds the supply for good makes it safe itself, and that is said', async () => {
    const it = stand({ heldUntilMs: 60_000 })
    await it.hear(500)
    it.standby.lost()
    await it.clock.advance(3100)
    expect(it.end()).toEqual({ proved: false, words: 'process 77 holds the supply by now and makes it safe itself' })
  })

  test('the end of the way to the keeper is its death: at once', async () => {
    const it = stand()
    await it.hear(500)
    it.standby.lost()
    await it.clock.advance(100)
    expect(it.port.model.on).toBe(false)
  })

  test('a supply that the keeper never had is left alone', async () => {
    const it = stand()
    it.standby.lost()
    await it.clock.advance(5000)
    expect([it.end()?.proved, it.tries(), it.port.model.on]).toEqual([false, 0, true])
  })

  test('a supply that takes no second client: said within 2 s, and tried once a second until it does', async () => {
    const it = stand({ opens: (tries) => tries > 30, identity: REAL })
    await it.hear(500)
    it.standby.lost()
    await it.clock.advance(2000)
    expect(it.tries()).toBeLessThan(10)
    expect(it.said.map(({ kind }) => kind)).toEqual(['taking over', 'not proved'])
    expect(it.said.at(-1)).toMatchObject({ words: expect.stringMatching(/takes no second client/) })
    await it.clock.advance(40_000)
    expect([it.port.model.on, it.end()?.proved]).toEqual([false, true])
  })

  test('a real supply that is gone is tried for ever; a simulated one went with its bench, and its standby ends too', async () => {
    for (const [identity, end] of [
      [REAL, null],
      [MADE, { proved: false, words: 'the simulated supply is gone' }],
    ] as const) {
      const it = stand({ opens: () => false, identity })
      await it.hear(500)
      it.standby.lost()
      await it.clock.advance(60_000)
      expect(it.end()).toEqual(end)
    }
  })

  test('a keeper that cannot be ended: said within 2 s, off is ordered all the same', async () => {
    const it = stand({ mortal: false })
    await it.hear(500)
    it.standby.takeOver('the service asks')
    await it.clock.advance(2000)
    expect(it.port.model.on).toBe(false)
    expect(it.kills()).toBeGreaterThan(10)
  })
})

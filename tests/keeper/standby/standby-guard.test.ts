import { describe, expect, test } from 'vitest'
import { guardStandby, type StandbyPipe, type Swept } from '../../../src/keeper/standby/standby-guard.ts'
import type { FromStandby, StandbyStart, ToStandby } from '../../../src/schema/messages/standby-message.ts'
import { silentLog } from '../../../src/system/log.ts'
import { virtualClock } from '../../../src/system/virtual-clock.ts'

/** A standby that was started, as the guard sees it. */
interface Started {
  readonly about: Pick<StandbyStart, 'begin' | 'identity'>
  readonly atMs: number
  readonly told: ToStandby[]
  killed: boolean
  say(word: FromStandby): void
  /** Its process ends. */
  die(): void
}

/** A guard whose standbys do nothing by themselves; `refusals`: so many starts throw first. */
function guarded(refusals = 0) {
  const clock = virtualClock()
  const all: Started[] = []
  let left = refusals
  const start = (about: Started['about']): StandbyPipe => {
    if (left-- > 0) throw new Error('no more processes')
    let ear: Parameters<StandbyPipe['listen']>[0] | null = null
    const one: Started = {
      about,
      atMs: clock.nowMs(),
      told: [],
      killed: false,
      say: (word) => ear?.word(word),
      die: () => {
        ear?.gone('ended by SIGKILL')
        ear = null
      },
    }
    all.push(one)
    return {
      say: (word) => one.told.push(word),
      listen: (to) => {
        ear = to
      },
      kill: () => {
        one.killed = true
        one.die()
      },
    }
  }
  const guard = guardStandby({ clock, log: silentLog, factor: 1, identity: () => 'A SUPPLY', start })
  const at = (index: number): Started => {
    const one = all[index]
    if (!one) throw new Error(`only ${all.length} were started`)
    return one
  }
  /** It beats for so long. */
  const beating = async (one: Started, ms: number) => {
    for (let passed = 0; passed < ms; passed += 500) {
      one.say({ kind: 'beat' })
      await clock.advance(500)
    }
  }
  return { clock, guard, all, at, beating }
}

const BEAT: FromStandby = { kind: 'beat' }
const pending = Symbol('pending')
const now = async <T>(promise: Promise<T>) => Promise.race([promise, new Promise((r) => setImmediate(r, pending))])

describe('while the keeper lives', () => {
  test('one is started to watch, with what is known of the supply; it is there once it and the keeper hear each other', async () => {
    const { clock, guard, all, at } = guarded()
    expect(all.map(({ about }) => about)).toEqual([{ begin: 'watching', identity: 'A SUPPLY' }])
    at(0).say(BEAT)
    expect(await now(guard.there)).toBe(pending)
    at(0).say({ kind: 'watching' })
    expect(await now(guard.there)).toBeUndefined()
    await clock.runUntil(guard.close())
  })

  test('one that dies is replaced after 0.5 s', async () => {
    const { clock, guard, all, at } = guarded()
    at(0).say(BEAT)
    at(0).die()
    await clock.advance(490)
    expect(all.length).toBe(1)
    await clock.advance(20)
    expect(all.length).toBe(2)
    expect(at(1).about.begin).toBe('watching')
    await clock.runUntil(guard.close())
  })

  test('a system that cannot start one is asked again each 0.5 s', async () => {
    const { clock, guard, all } = guarded(3)
    await clock.advance(1400)
    expect(all.length).toBe(0)
    await clock.advance(200)
    expect(all.length).toBe(1)
    await clock.runUntil(guard.close())
  })

  test('one that is being started and says nothing yet has 8 s', async () => {
    const { clock, guard, at } = guarded()
    await clock.advance(7900)
    expect(at(0).killed).toBe(false)
    await clock.advance(300)
    expect(at(0).killed).toBe(true)
    await clock.runUntil(guard.close())
  })

  test('silent for a second: a spare is started, and ended again when the first one speaks', async () => {
    const { clock, guard, all, at } = guarded()
    at(0).say(BEAT)
    await clock.advance(900)
    expect(all.length).toBe(1)
    await clock.advance(250)
    expect(all.length).toBe(2)
    at(0).say(BEAT)
    await clock.advance(150)
    expect([at(0).killed, at(1).killed]).toEqual([false, true])
    await clock.runUntil(guard.close())
  })

  test('silent for two beats: ended by force, and the spare takes its place', async () => {
    const { clock, guard, all, at, beating } = guarded()
    at(0).say(BEAT)
    await clock.advance(1200)
    at(1).say(BEAT)
    await clock.advance(700)
    expect([at(0).killed, at(1).killed]).toEqual([true, false])
    await beating(at(1), 3000)
    expect(all.length).toBe(2)
    await clock.runUntil(guard.close())
  })
})

describe('when the keeper is lost', () => {
  const swept = async (it: ReturnType<typeof guarded>) => {
    const news: Swept[] = []
    const end = it.guard.sweep('the keeper was ended', (word) => news.push(word))
    await it.clock.advance(1)
    return { news, end }
  }

  test('the standby is told to take over; what it says is passed on, its last word is the result', async () => {
    const it = guarded()
    await it.beating(it.at(0), 1000)
    const { news, end } = await swept(it)
    expect(it.at(0).told).toEqual([{ verb: 'take over', why: 'the keeper was ended' }])
    it.at(0).say({ kind: 'taking over', why: 'the keeper was ended' })
    it.at(0).say({ kind: 'not proved', words: 'no answer' })
    it.at(0).say({ kind: 'proved', words: 'output off' })
    expect(news).toEqual([
      { proved: false, words: 'no answer' },
      { proved: true, words: 'output off' },
    ])
    expect(await now(end)).toBe(pending)
    it.at(0).say({ kind: 'ended', proved: true, words: 'all is off' })
    expect(await now(end)).toEqual({ proved: true, words: 'all is off' })
    it.at(0).die()
    await it.clock.advance(2000)
    expect(it.all.length).toBe(1)
    await it.clock.runUntil(it.guard.close())
  })

  test('one that does not answer within 0.6 s is ended, and another one makes safe from its start', async () => {
    const it = guarded()
    await it.beating(it.at(0), 1000)
    await swept(it)
    await it.clock.advance(550)
    expect(it.at(0).killed).toBe(false)
    await it.clock.advance(100)
    expect(it.at(0).killed).toBe(true)
    expect(it.at(1).about).toEqual({ begin: { why: 'the keeper was ended' }, identity: 'A SUPPLY' })
    await it.clock.runUntil(it.guard.close())
  })

  test('one that was silent for a second already is not asked', async () => {
    const it = guarded()
    it.at(0).say(BEAT)
    await it.clock.advance(1250)
    it.at(1).say(BEAT) // the spare
    await swept(it)
    expect([it.at(0).killed, it.at(0).told]).toEqual([true, []])
    expect(it.at(1).told).toEqual([{ verb: 'take over', why: 'the keeper was ended' }])
    await it.clock.runUntil(it.guard.close())
  })

  test('where none is there another one is started for it at once', async () => {
    const it = guarded()
    it.at(0).say(BEAT)
    it.at(0).die()
    await swept(it)
    expect(it.at(1).about.begin).toEqual({ why: 'the keeper was ended' })
    await it.clock.runUntil(it.guard.close())
  })

  test('one that freezes while it makes safe, and a spare that gave up on it but is still there: another one makes safe', async () => {
    const { clock, guard, all, at, beating } = guarded()
    const news: Swept[] = []
    await beating(at(0), 1000)
    const swept = guard.sweep('the keeper is gone', (one) => news.push(one))
    at(0).say({ kind: 'taking over', why: 'the keeper is gone' })
    await clock.advance(1200)
    expect(at(1).about.begin).toEqual({ why: 'the keeper is gone' })
    at(1).say(BEAT)
    await clock.advance(500)
    at(1).say({ kind: 'ended', proved: false, words: 'process 1 holds it by now and makes it safe itself' })
    await clock.advance(200)
    expect(at(0).killed).toBe(true)
    at(1).die()
    await clock.advance(1000)
    expect(all.length).toBe(3)
    expect(at(2).about.begin).toEqual({ why: 'the keeper is gone' })
    at(2).say({ kind: 'ended', proved: true, words: 'off' })
    expect(await swept).toEqual({ proved: true, words: 'off' })
    await clock.runUntil(guard.close())
  })

  test('one that dies while it makes safe: the next one at once', async () => {
    const it = guarded()
    await it.beating(it.at(0), 1000)
    const { end } = await swept(it)
    it.at(0).say({ kind: 'taking over', why: 'the keeper was ended' })
    it.at(0).die()
    await it.clock.advance(1)
    expect(it.at(1).about.begin).toEqual({ why: 'the keeper was ended' })
    it.at(1).say({ kind: 'ended', proved: true, words: 'all is off' })
    expect(await now(end)).toMatchObject({ proved: true })
    await it.clock.runUntil(it.guard.close())
  })
})

describe('closed', () => {
  test('one that watches and ends by itself is not ended by force', async () => {
    const it = guarded()
    await it.beating(it.at(0), 1000)
    const closed = it.guard.close()
    await it.clock.advance(100)
    it.at(0).say({ kind: 'ended', proved: true, words: 'the keeper left in order, output off' })
    it.at(0).die()
    await it.clock.advance(1)
    expect(await now(closed)).toBeUndefined()
    await it.clock.advance(5000)
    expect([it.all.length, it.at(0).killed]).toEqual([1, false])
  })

  test('one that watches on is ended after 2 s, and none is started in its place', async () => {
    const it = guarded()
    await it.beating(it.at(0), 1000)
    const closed = it.guard.close()
    await it.beating(it.at(0), 1500)
    expect(it.at(0).killed).toBe(false)
    await it.clock.advance(600)
    expect(it.at(0).killed).toBe(true)
    await it.clock.advance(5000)
    expect(await now(closed)).toBeUndefined()
    expect(it.all.length).toBe(1)
  })

  test('one that makes safe goes on, and is not waited for', async () => {
    const it = guarded()
    await it.beating(it.at(0), 1000)
    it.guard.sweep('the keeper was ended', () => {})
    it.at(0).say({ kind: 'taking over', why: 'the keeper was ended' })
    const closed = it.guard.close()
    await it.clock.advance(1)
    expect(await now(closed)).toBeUndefined()
    await it.clock.advance(10_000)
    expect(it.at(0).killed).toBe(false)
  })

  test('whoever waits for a standby to be there is not left waiting', async () => {
    const it = guarded()
    const closed = it.guard.close()
    expect(await now(it.guard.there)).toBeUndefined()
    await it.clock.advance(2100)
    expect(await now(closed)).toBeUndefined()
  })
})

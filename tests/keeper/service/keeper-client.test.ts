import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { afterEach, describe, expect, test } from 'vitest'
import type { BenchError } from '../../../src/fault/bench-error.ts'
import { NOTES_FILE, openNotes, openNotesAtOnce } from '../../../src/keeper/holder/keeper-notes.ts'
import { readLines } from '../../../src/keeper/line/keeper-lines.ts'
import { KeeperClient } from '../../../src/keeper/service/keeper-client.ts'
import { openKeeperHere } from '../../../src/keeper/service/keeper-here.ts'
import type { KeeperEar, KeeperPipe } from '../../../src/keeper/service/keeper-pipe.ts'
import type { FromKeeper, SupplyState, ToKeeper } from '../../../src/schema/messages/keeper-message.ts'
import { silentLog } from '../../../src/system/log.ts'
import { virtualClock } from '../../../src/system/virtual-clock.ts'
import { sentence, worded } from '../../../src/words/sentence/sentence.ts'
import { fakeSupply } from '../fake-supply.ts'
import { LIMITS } from '../fold-bench.ts'

const WHO = 'supply (fake at memory:supply)'
const never = new AbortController().signal
const folders: string[] = []
afterEach(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true })
})

function folder(): string {
  const path = mkdtempSync(join(tmpdir(), 'keeper-'))
  folders.push(path)
  return path
}

const STATE: SupplyState = {
  beganMs: 0,
  atMs: 1,
  volts: 0,
  amps: 0,
  rawAmps: '0',
  output: 'off',
  regulation: 'none',
  tripped: false,
  setVolts: 0,
  limitAmps: 1,
  moving: false,
  resting: 'safe',
}

/** How a request was refused, in words. */
function refusal(asked: Promise<unknown>): Promise<{ code: string; happened: string } | null> {
  return asked.then(
    () => null,
    (error: BenchError) => ({ code: error.code, happened: sentence(error.happened) }),
  )
}

/** A pipe with nobody at the other end but the test. */
function barePipe() {
  const said: ToKeeper[] = []
  let ear: KeeperEar | null = null
  let gone = () => {}
  const pipe: KeeperPipe & { killed: boolean; ended: boolean } = {
    killed: false,
    ended: false,
    say: (message) => said.push(message),
    listen: (listener) => {
      ear = listener
    },
    end: () => {
      pipe.ended = true
    },
    kill: () => {
      pipe.killed = true
    },
    gone: new Promise<void>((resolve) => {
      gone = resolve
    }),
  }
  return {
    pipe,
    said,
    tell: (message: FromKeeper) => ear?.message(message),
    leave: (how: string) => {
      ear?.gone(how)
      gone()
    },
  }
}

const SWEPT = { proved: true, words: 'switched off' }

async function client(sweep: (() => Promise<typeof SWEPT>) | null = null) {
  const clock = virtualClock()
  const bare = barePipe()
  const made = new KeeperClient(
    bare.pipe,
    { who: WHO, ceilingVolts: 16.5, ceilingAmps: 4, times: 1, clock, log: silentLog },
    sweep && { sweep, close: async () => {} },
  )
  const opening = made.open(never)
  bare.tell({ kind: 'hello', identity: 'TRIMWRIGHT SIMULATED,SUPPLY,1,1', simulated: true, pid: 7 })
  bare.tell({ kind: 'state', state: STATE })
  return { clock, ...bare, supply: await opening }
}

describe('opening', () => {
  test('is done with the identity and a first look', async () => {
    const { supply } = await client()
    expect([supply.identity, supply.simulated, supply.latest()]).toEqual([
      'TRIMWRIGHT SIMULATED,SUPPLY,1,1',
      true,
      STATE,
    ])
  })

  test('fails with the words of the keeper, and the pipe is closed', async () => {
    const clock = virtualClock()
    const { pipe, tell } = barePipe()
    const opening = new KeeperClient(
      pipe,
      { who: WHO, ceilingVolts: 16.5, ceilingAmps: 4, times: 1, clock, log: silentLog },
      null,
    ).open(never)
    tell({ kind: 'refused', id: 0, code: 'TRANSPORT_OPEN_FAILED', words: 'nobody answers there' })
    await expect(opening).rejects.toThrow(
      `${WHO}: nobody answers there. Check that the instrument is on, the cable is in and nobody else uses the port [TRANSPORT_OPEN_FAILED]`,
    )
    expect(pipe.ended).toBe(true)
  })

  test('fails after 20 s of silence', async () => {
    const clock = virtualClock()
    const { pipe } = barePipe()
    const opening = new KeeperClient(
      pipe,
      { who: WHO, ceilingVolts: 16.5, ceilingAmps: 4, times: 1, clock, log: silentLog },
      null,
    ).open(never)
    await expect(clock.runUntil(opening)).rejects.toThrow(/the keeper did not start within 20 s.*\[KEEPER_GONE\]/)
    expect(clock.nowMs()).toBe(20_000)
  })

  test('called off, waits for the keeper to end, then rejects with the reason untouched', async () => {
    const clock = virtualClock()
    const { pipe, leave } = barePipe()
    const stop = new AbortController()
    const opening = new KeeperClient(
      pipe,
      { who: WHO, ceilingVolts: 16.5, ceilingAmps: 4, times: 1, clock, log: silentLog },
      null,
    ).open(stop.signal)
    let ended = false
    const told = opening
      .catch((error: unknown) => error)
      .finally(() => {
        ended = true
      })
    const reason = new Error('changed my mind')
    stop.abort(reason)
    await clock.advance(1000)
    expect({ pipeEnded: pipe.ended, ended }).toEqual({ pipeEnded: true, ended: false })
    leave('exit 0')
    expect(await told).toBe(reason)
    expect(clock.nowMs()).toBe(1000)
  })

  test('called off, and the keeper never ends: waits 6 s', async () => {
    const clock = virtualClock()
    const { pipe } = barePipe()
    const stop = new AbortController()
    const needs = { who: WHO, ceilingVolts: 16.5, ceilingAmps: 4, times: 1, clock, log: silentLog }
    const opening = new KeeperClient(pipe, needs, null).open(stop.signal)
    stop.abort(new Error('changed my mind'))
    await expect(clock.runUntil(opening)).rejects.toThrow('changed my mind')
    expect(clock.nowMs()).toBe(6000)
  })
})

describe('requests', () => {
  test('answers find their request by its number, whatever their order', async () => {
    const { supply, said, tell } = await client()
    const [on, normal] = [supply.wish().on(), supply.normal('step end')]
    const ids = said.flatMap((one) => ('id' in one ? [one.id] : []))
    expect(ids).toHaveLength(2)
    tell({ kind: 'done', id: ids[1] ?? 0, state: { ...STATE, volts: 13.8 } })
    tell({ kind: 'refused', id: ids[0] ?? 0, code: 'KEEPER_REFUSED', words: '"normal" came before it was done' })
    await expect(normal).resolves.toMatchObject({ volts: 13.8 })
    await expect(on).rejects.toMatchObject({ code: 'KEEPER_REFUSED', happened: '"normal" came before it was done' })
  })

  test('beats once a second', async () => {
    const { clock, said, tell } = await client()
    for (let second = 0; second < 10; second++) {
      await clock.advance(1000)
      tell({ kind: 'state', state: STATE })
    }
    expect(said.filter(({ verb }) => verb === 'beat')).toHaveLength(11)
  })

  test.each([
    ['set', (supply: Supplies) => supply.wish().set(16.6, 1), '16.6 V asked for, the ceiling is 16.5 V'],
    ['set NaN', (supply: Supplies) => supply.wish().set(Number.NaN, 1), 'NaN V asked for, the ceiling is 16.5 V'],
    [
      'set current',
      (supply: Supplies) => supply.wish().set(13.8, 5),
      'a current limit of 5 A asked for, the ceiling is 4 A',
    ],
    [
      'limits',
      (supply: Supplies) => supply.wish().limits({ ...LIMITS, ceilingVolts: 17 }),
      'a ceiling of 17 V asked for, the bench allows 16.5 V',
    ],
    [
      'limits current',
      (supply: Supplies) => supply.wish().limits({ ...LIMITS, ceilingAmps: 5 }),
      'a current ceiling of 5 A asked for, the bench allows 4 A',
    ],
  ])('%s above the ceiling is refused before the keeper hears of it', async (_name, ask, words) => {
    const { supply, said } = await client()
    expect(await refusal(ask(supply))).toEqual({ code: 'KEEPER_REFUSED', happened: words })
    expect(said.filter(({ verb }) => verb !== 'beat')).toEqual([])
  })

  test('after limits the lower ceiling holds here too', async () => {
    const { supply, said, tell } = await client()
    const limits = supply.wish().limits(LIMITS)
    tell({ kind: 'done', id: 1, state: STATE })
    await limits
    expect(await refusal(supply.wish().set(16.2, 1))).toEqual({
      code: 'KEEPER_REFUSED',
      happened: '16.2 V asked for, the ceiling is 16 V',
    })
    expect(said.filter(({ verb }) => verb === 'set')).toEqual([])
  })

  test('without an answer for 90 s a request is rejected', async () => {
    const { clock, supply, tell } = await client()
    const asked = supply.wish().on()
    const outcome = expect(asked).rejects.toThrow(/no answer to "on" within 90 s/)
    for (let second = 0; second < 92; second++) {
      await clock.advance(1000)
      tell({ kind: 'state', state: STATE })
    }
    await outcome
  })
})

type Supplies = Awaited<ReturnType<typeof client>>['supply']

describe('the keeper is gone', () => {
  test('everybody who waits is told, a second keeper is sent to switch off', async () => {
    let sweeps = 0
    const { supply, leave } = await client(async () => {
      sweeps += 1
      return SWEPT
    })
    const gone: string[] = []
    supply.onGone((reason) => gone.push(reason.message))
    const waiting = [supply.wish().on(), supply.wish().set(12, 1), supply.safe('x')]
    leave('the keeper was ended by SIGKILL')
    const outcomes = await Promise.allSettled(waiting)
    const words = `${WHO}: the keeper was ended by SIGKILL; whether the output is on is not known. The supply output goes off by itself; look at the supply before going on, then start again [KEEPER_GONE]`
    expect(outcomes.map((one) => (one.status === 'rejected' ? one.reason.message : one.status))).toEqual([
      words,
      words,
      words,
    ])
    expect(gone).toEqual([words])
    await expect(supply.wish().on()).rejects.toThrow(words)
    await supply.close()
    expect(sweeps).toBe(1)
  })

  test('a keeper that says nothing for two beats is ended by force', async () => {
    const { clock, supply, pipe } = await client(async () => SWEPT)
    const gone: string[] = []
    supply.onGone((reason) => gone.push(reason.message))
    await clock.advance(1700)
    expect(pipe.killed).toBe(false)
    await clock.advance(300)
    expect(pipe.killed).toBe(true)
    expect(gone).toEqual([expect.stringMatching(/the keeper said nothing for 1\.\d s and was ended/)])
  })

  test('closed by us is not gone: nobody is alarmed, nothing is swept', async () => {
    let sweeps = 0
    const { supply, said, tell, leave } = await client(async () => {
      sweeps += 1
      return SWEPT
    })
    const gone: Error[] = []
    supply.onGone((reason) => gone.push(reason))
    const closing = supply.close()
    const off = said.find(({ verb }) => verb === 'off')
    tell({ kind: 'done', id: off && 'id' in off ? off.id : 0, state: STATE })
    await Promise.resolve()
    leave('the keeper ended, output off')
    await closing
    await supply.close()
    expect([gone, sweeps]).toEqual([[], 0])
    await expect(supply.wish().on()).rejects.toThrow(/the keeper was closed/)
  })
})

describe('keeper and client in one process', () => {
  async function here(dataFolder: string | null = null) {
    const clock = virtualClock()
    const port = fakeSupply(clock)
    const about = {
      port,
      ceilingVolts: 16.5,
      ceilingAmps: 4,
      dataFolder,
      deps: { clock, log: silentLog },
      signal: never,
    }
    const supply = await clock.runUntil(openKeeperHere(about))
    return { clock, port, supply }
  }

  test('a whole turn: limits, on, up, down, off', async () => {
    const { clock, port, supply } = await here()
    await clock.runUntil(supply.wish().limits(LIMITS))
    await clock.runUntil(supply.wish().set(13.8, 0.8))
    expect(await clock.runUntil(supply.wish().on())).toMatchObject({ output: 'on', resting: 'normal' })
    const beganMs = clock.nowMs()
    expect(await clock.runUntil(supply.wish().set(15.6, 2.5))).toMatchObject({
      setVolts: 15.6,
      limitAmps: 2.5,
      resting: 'working',
    })
    expect(clock.nowMs() - beganMs).toBeGreaterThan(1700)
    expect(clock.nowMs() - beganMs).toBeLessThan(2600)
    expect(await clock.runUntil(supply.normal('step end'))).toMatchObject({
      setVolts: 13.8,
      limitAmps: 0.8,
      resting: 'normal',
    })
    expect(await clock.runUntil(supply.safe('stop control'))).toMatchObject({ output: 'off', resting: 'safe' })
    await clock.runUntil(supply.close())
    expect(port.closed).toBe(1)
    expect(port.model.on).toBe(false)
  })

  test('refused by the keeper, in its words', async () => {
    const { clock, port, supply } = await here()
    await clock.runUntil(supply.wish().limits(LIMITS))
    await clock.runUntil(supply.wish().on())
    port.model.limitAmps = 2.5
    port.model.keyed = true
    await clock.advance(200)
    const message = `${WHO}: 15.60 V asked for from 13.80 V while the set is keyed (1.240 A, keyed from 0.900 A): release the key first. `
    await expect(clock.runUntil(supply.wish().set(15.6, 2.5))).rejects.toThrow(message)
    await clock.runUntil(supply.close())
  })

  test('what the keeper does by itself is heard, and stands on disk', async () => {
    const path = folder()
    const { clock, port, supply } = await here(path)
    await clock.runUntil(supply.wish().limits(LIMITS))
    await clock.runUntil(supply.wish().on())
    const acted: string[] = []
    supply.onActed(({ why, proved }) => acted.push(`${sentence(why)} ${proved}`))
    port.model.on = false
    port.model.tripped = true
    await clock.advance(500)
    expect(acted).toEqual(['the supply has tripped (set to 13.80 V) true'])
    await clock.runUntil(supply.close())
    const notes = readFileSync(join(path, NOTES_FILE), 'utf8')
      .trim()
      .split('\n')
      .map((line) => worded(JSON.parse(line)))
    expect(notes).toMatchObject([
      { what: 'safe', why: 'the keeper has started' },
      {
        what: 'going safe',
        why: 'the supply has tripped (set to 13.80 V)',
        proved: false,
        at: expect.stringMatching(/^2026-01-05T08:00:0/),
      },
      { what: 'safe', why: 'the supply has tripped (set to 13.80 V)', proved: true },
      { what: 'going safe', why: 'the supply is being closed' },
      { what: 'safe', why: 'the supply is being closed' },
      { what: 'going safe', why: 'the service closed the pipe' },
      { what: 'safe', why: 'the service closed the pipe', proved: true },
    ])
  })
})

describe('notes on disk', () => {
  const note = { what: 'safe', why: 'x', proved: true, volts: null, amps: null, atMs: 1 } as const

  test.each([
    ['behind the keeper', openNotes],
    ['at once', openNotesAtOnce],
  ])('half a line left by a power cut does not spoil the next (%s)', async (_name, opened) => {
    const path = folder()
    writeFileSync(join(path, NOTES_FILE), '{"at":"2026-01-05T08')
    const notes = opened(path, virtualClock(), silentLog)
    notes.note(note)
    notes.note(note)
    await notes.written()
    const lines = readFileSync(join(path, NOTES_FILE), 'utf8').split('\n')
    expect(lines).toHaveLength(4)
    expect(JSON.parse(lines[1] ?? '')).toMatchObject({ what: 'safe', why: 'x', proved: true })
  })

  test('a disk that cannot be written is logged, and nothing waits for it', async () => {
    const path = join(folder(), 'a-file')
    writeFileSync(path, '')
    const errors: string[] = []
    const notes = openNotes(path, virtualClock(), { ...silentLog, error: (_facts, words) => errors.push(words) })
    notes.note(note)
    await notes.written()
    expect(errors).toEqual([expect.stringMatching(/^keeper note not written: /)])
  })
})

describe('lines', () => {
  test.each([1, 2, 3, 7, 1000])('come whole however they are cut (%d bytes)', async (bytes) => {
    const stream = new PassThrough()
    const lines: string[] = []
    const ended = new Promise<void>((resolve) => readLines(stream, (line) => lines.push(line), resolve))
    const text = Buffer.from('{"why":"0.35 Ω"}\n\n{"verb":"beat"}\nrest')
    for (let at = 0; at < text.length; at += bytes) stream.write(text.subarray(at, at + bytes))
    stream.end()
    await ended
    expect(lines).toEqual(['{"why":"0.35 Ω"}', '{"verb":"beat"}'])
  })

  test('longer than 64 KiB are dropped, and the next one counts', async () => {
    const stream = new PassThrough()
    const lines: string[] = []
    const ended = new Promise<void>((resolve) => readLines(stream, (line) => lines.push(line), resolve))
    for (let part = 0; part < 5; part++) stream.write('x'.repeat(50_000))
    stream.write('\n{"verb":"beat"}\n')
    stream.end()
    await ended
    expect(lines).toEqual(['{"verb":"beat"}'])
  })
})

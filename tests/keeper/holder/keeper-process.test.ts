import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { afterEach, describe, expect, test } from 'vitest'
import { BenchError } from '../../../src/fault/bench-error.ts'
import type { SupplyPort } from '../../../src/instrument/supply-port.ts'
import { serveKeeper } from '../../../src/keeper/holder/keeper-process.ts'
import { silentLog } from '../../../src/system/log.ts'
import { virtualClock } from '../../../src/system/virtual-clock.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { fakeSupply } from '../fake-supply.ts'
import { LIMITS } from '../fold-bench.ts'

const folders: string[] = []
afterEach(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true })
})

/** A keeper between two streams; `open` may have something else happen than that it gets the fake supply. */
function served(open: (tries: number) => SupplyPort | null = () => null) {
  const clock = virtualClock()
  const port = fakeSupply(clock)
  const dataFolder = mkdtempSync(join(tmpdir(), 'keeper-'))
  folders.push(dataFolder)
  const requests = new PassThrough()
  const answers = new PassThrough()
  const stop = new AbortController()
  const text: string[] = []
  answers.on('data', (chunk) => text.push(String(chunk)))
  let tries = 0
  const ended = serveKeeper({
    start: {
      who: port.who,
      address: 'memory:supply',
      driver: 'x',
      ceilingVolts: 16.5,
      ceilingAmps: 4,
      dataFolder,
      pace: { times: 1, originMs: 0 },
    },
    pid: 7,
    clock,
    bootMs: () => clock.nowMs(),
    log: silentLog,
    openSupply: async () => open(++tries) ?? port,
    requests,
    answers,
    stop: stop.signal,
  })
  const said = () =>
    text
      .join('')
      .split('\n')
      .filter(Boolean)
      .map((line) => worded(JSON.parse(line)))
  const notes = () =>
    readFileSync(join(dataFolder, 'keeper-notes.jsonl'), 'utf8')
      .trim()
      .split('\n')
      .map((line) => worded(JSON.parse(line)))
  /** Time on the keeper's clock, with a turn for the streams first. */
  const pass = async (ms: number) => {
    for (let turn = 0; turn < 5; turn++) await new Promise((resolve) => setImmediate(resolve))
    await clock.advance(ms)
  }
  const ask = (request: object) => requests.write(`${JSON.stringify(request)}\n`)
  return { clock, port, requests, answers, stop, ended, said, notes, pass, ask, tries: () => tries }
}

describe('a keeper between two streams', () => {
  test('says hello, takes requests, answers with the state read back', async () => {
    const it = served()
    it.ask({ verb: 'beat' })
    it.ask({ verb: 'limits', id: 1, wish: 1, ...LIMITS })
    it.ask({ verb: 'on', id: 2, wish: 1 })
    await it.pass(1500)
    expect(it.said()[0]).toEqual({
      kind: 'hello',
      identity: 'TRIMWRIGHT SIMULATED,SUPPLY,FAKE,1',
      simulated: true,
      pid: 7,
    })
    expect(it.said().filter(({ kind }) => kind === 'done')).toMatchObject([
      { id: 1, state: { output: 'off' } },
      { id: 2, state: { output: 'on', resting: 'normal' } },
    ])
    it.requests.end()
    await it.pass(500)
    expect(await it.ended).toBe(0)
    expect(it.port.model.on).toBe(false)
    expect(it.notes().at(-1)).toMatchObject({ what: 'safe', why: 'the service closed the pipe', proved: true })
  })

  test('with its requests closed from the start it makes safe and ends: that is how a lost keeper is swept up after', async () => {
    const it = served()
    Object.assign(it.port.model, { on: true, setVolts: 15.6, volts: 15.6 })
    it.requests.end()
    await it.pass(500)
    expect(await it.ended).toBe(0)
    expect(it.port.model.on).toBe(false)
    expect(it.notes()[0]).toMatchObject({ what: 'found on', volts: 15.6 })
  })

  test('told to stop by a signal: safe, then the end', async () => {
    const it = served()
    await it.pass(300)
    it.stop.abort(new Error('the keeper was ended by SIGTERM'))
    await it.pass(500)
    expect(await it.ended).toBe(0)
    expect(it.notes().at(-1)).toMatchObject({ why: 'the keeper was ended by SIGTERM', proved: true })
  })

  test('nobody reads its answers any more: safe, then the end', async () => {
    const it = served()
    await it.pass(300)
    it.answers.destroy(new Error('EPIPE'))
    await it.pass(500)
    expect(await it.ended).toBe(0)
    expect(it.notes().at(-1)).toMatchObject({ why: 'the service is gone', proved: true })
  })

  test('a service that is dead breaks each answer again: safe once, the setting down, then the end', async () => {
    const it = served()
    it.ask({ verb: 'beat' })
    it.ask({ verb: 'limits', id: 1, wish: 1, ...LIMITS })
    it.ask({ verb: 'set', id: 2, wish: 1, volts: 15.6, amps: 2.5 })
    it.ask({ verb: 'on', id: 3, wish: 1 })
    await it.pass(2800)
    expect(it.port.model).toMatchObject({ on: true, setVolts: 15.6 })
    const write = it.answers.write.bind(it.answers)
    it.answers.write = (chunk: string) => {
      if (!it.requests.writableEnded) return write(chunk)
      setImmediate(() => it.answers.emit('error', new Error('EPIPE')))
      return true
    }
    it.requests.end()
    for (let ms = 0; ms < 1000; ms += 5) await it.pass(5)
    expect(await it.ended).toBe(0)
    expect(it.notes().filter(({ what }) => what === 'going safe')).toMatchObject([
      { why: 'the service closed the pipe' },
    ])
    expect(it.port.model).toMatchObject({ on: false, setVolts: 13.8 })
  })

  test('not proved off within 30 s: exit code 1', async () => {
    const it = served()
    await it.pass(300)
    it.port.manner = 'silent'
    it.requests.end()
    await it.pass(32_000)
    expect(await it.ended).toBe(1)
  })

  test.each([
    ['no JSON at all', 'hello', []],
    [
      'a voltage in words',
      '{"verb":"set","id":5,"volts":"high","amps":1}',
      [{ kind: 'refused', id: 5, code: 'SCHEMA_REJECTED' }],
    ],
    [
      'a negative voltage',
      '{"verb":"set","id":6,"volts":-1,"amps":1}',
      [{ kind: 'refused', id: 6, code: 'SCHEMA_REJECTED' }],
    ],
    ['an unknown verb', '{"verb":"boost","id":7}', [{ kind: 'refused', id: 7, code: 'SCHEMA_REJECTED' }]],
  ])('%s is refused and changes nothing', async (_name, line, answers) => {
    const it = served()
    await it.pass(300)
    it.requests.write(`${line}\n`)
    await it.pass(300)
    expect(it.said().filter(({ kind }) => kind === 'refused')).toMatchObject(answers)
    expect(it.port.model.log.map(({ what }) => what)).toEqual(['off'])
    it.requests.end()
    await it.pass(500)
    expect(await it.ended).toBe(0)
  })
})

describe('opening the supply', () => {
  const who = 'supply (fake at memory:supply)'

  test('a link that is still held by the last keeper is tried for 2 s', async () => {
    const it = served((tries) => {
      if (tries < 5) throw new BenchError('TRANSPORT_BUSY', who, 'another client holds it')
      return null
    })
    await it.pass(3000)
    expect([it.tries(), it.said()[0]?.kind]).toEqual([5, 'hello'])
    it.requests.end()
    await it.pass(500)
    expect(await it.ended).toBe(0)
  })

  test('then the service is told why, and the keeper ends with 2', async () => {
    const it = served(() => {
      throw new BenchError('TRANSPORT_OPEN_FAILED', who, 'nobody answers there')
    })
    await it.pass(3000)
    expect(await it.ended).toBe(2)
    expect(it.said()).toEqual([
      { kind: 'refused', id: 0, code: 'TRANSPORT_OPEN_FAILED', words: 'nobody answers there' },
    ])
    expect(it.tries()).toBeGreaterThan(5)
  })

  test('another instrument at the address is no matter of patience', async () => {
    const it = served(() => {
      throw new BenchError('DRIVER_WRONG_INSTRUMENT', who, 'answers as a counter')
    })
    await it.pass(10)
    expect(await it.ended).toBe(2)
    expect([it.tries(), it.said()[0]?.code]).toEqual([1, 'DRIVER_WRONG_INSTRUMENT'])
  })

  test('a mistake in the program is told as KEEPER_UNREADABLE', async () => {
    const it = served(() => {
      throw new TypeError('a mistake')
    })
    await it.pass(10)
    expect(await it.ended).toBe(2)
    expect(it.said()).toEqual([{ kind: 'refused', id: 0, code: 'KEEPER_UNREADABLE', words: 'a mistake' }])
  })

  test('for a keeper that only makes safe it is tried for 10 s', async () => {
    const it = served((tries) => {
      if (tries < 30) throw new BenchError('TRANSPORT_BUSY', who, 'another client holds it')
      return null
    })
    Object.assign(it.port.model, { on: true, setVolts: 15.6, volts: 15.6 })
    it.requests.end()
    await it.pass(9500)
    expect(await it.ended).toBe(0)
    expect(it.port.model.on).toBe(false)
  })
})

import { readdirSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { BENCHES, type BenchKind, type InstrumentName } from '../../mocks/simulated-bench.ts'
import { loadBench } from '../../src/bench/load-bench.ts'
import { sampleFaults } from '../../src/instrument/check-samples.ts'
import { decodeReply } from '../../src/instrument/decode-reply.ts'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { agrees, messageOfSwitch, stateRead, switchRead, valueRead } from '../../src/instrument/setting-message.ts'
import type { DriverFile } from '../../src/schema/files/driver-file.ts'
import { isSimulated, readIdentity } from '../../src/scpi/identity.ts'
import { type Client, memoryBench } from '../mocks/kit.ts'

const KINDS = ['separate', 'one-box', 'no-socket', 'older', 'both-sides'] as const satisfies readonly BenchKind[]

interface Pair {
  readonly kind: BenchKind
  readonly driver: DriverFile
  readonly name: InstrumentName
  readonly answersAs: string
}

/** Which simulated instrument speaks a driver's dialect; both are written from the standard, neither from the other. */
const everywhere = KINDS.flatMap((kind) => {
  const { file, drivers } = loadBench(`mocks/benches/${kind}.yaml`, 'drivers')
  return file.entries
    .filter((entry) => entry.at === 'simulated')
    .map((entry): Pair => {
      const driver = drivers.get(entry.driver)
      const name = BENCHES[kind].instruments.find((one) => one === entry.name)
      if (!driver || !name) throw new TypeError(`${entry.name} is not on the simulated bench ${kind}`)
      return { kind, driver, name, answersAs: entry.answersAs ?? 'nothing' }
    })
})
/** Each driver once, on the first bench that has it. */
const pairs = everywhere.filter(
  ({ driver }, at) => everywhere.findIndex((other) => other.driver.id === driver.id) === at,
)

const readingRows = pairs.flatMap((pair) =>
  pair.driver.readings.map((row) => ({ title: `${pair.driver.id}: ${row.quantity}`, pair, row })),
)
const settingRows = pairs.flatMap((pair) =>
  pair.driver.settings.map((row) => ({ title: `${pair.driver.id}: ${row.name}`, pair, row })),
)
const stateRows = pairs.flatMap((pair) =>
  pair.driver.states.map((row) => ({ title: `${pair.driver.id}: ${row.name}`, pair, row })),
)
const messages = pairs.flatMap((pair) =>
  [...pair.driver.start, ...pair.driver.stop].map((message) => ({
    title: `${pair.driver.id}: ${message}`,
    pair,
    message,
  })),
)

test('every file in drivers/ is loaded: 11, of which 9 speak to the simulated bench, and one that is typed in; supply-plain-scpi is a part of supply-scpi', () => {
  const ids = readdirSync('drivers').map((name) => name.replace(/\.yaml$/, ''))
  const loaded = ids.map((id) => loadDriver('drivers', id))
  expect(loaded.map((driver) => driver.id)).toEqual(ids)
  expect(loaded).toHaveLength(11)
  expect(new Set(pairs.map(({ driver }) => driver.id)).size).toBe(9)
  const rows = loaded.map((driver) => driver.readings.length + driver.settings.length + driver.states.length)
  expect(rows.reduce((sum, count) => sum + count, 0)).toBe(47)
})

test('the rows put to the simulated instruments are 12 readings, 15 settings, 2 states and 13 messages', () => {
  expect([readingRows.length, settingRows.length, stateRows.length, messages.length]).toEqual([12, 15, 2, 13])
})

/** The set keyed at 13.8 V on a load, a tone at its microphone socket, the prod on its plug; start messages sent. */
async function keyedBench({ kind, driver, name }: Pair) {
  const stage = await memoryBench({ kind })
  await stage.power(13.8)
  const client = stage.client(name, endOf(driver))
  const ask = (text: string) => stage.run(() => client.ask(text, 4000))
  for (const message of driver.start) await stage.run(() => client.tell(message))
  if (stage.bench.addresses.oscillator !== undefined)
    await stage.run(() =>
      withTone(name === 'oscillator' ? client : stage.client('oscillator'), ['FREQ 1000', 'VOLT 0.03', 'OUTP ON']),
    )
  else await stage.run(() => withTone(client, ['SOUR2:FREQ 1000', 'SOUR2:VOLT 0.03', 'OUTP2 ON']))
  const { set } = stage.bench
  set.microphone('oscillator')
  set.mode('FM')
  set.prod('plug')
  set.common('strip')
  set.key(true)
  await stage.clock.advance(3000)
  return {
    ask,
    tell: (text: string) => stage.run(() => client.tell(text)),
    /** One that keeps no list of errors answers a message that it does not know with something. */
    errors: async () => {
      const errorsAsk = driver.link?.errorsAsk ?? null
      if (errorsAsk !== null) return ask(errorsAsk)
      await stage.clock.advance(1000)
      return client.rest() === '' ? '0,"No error"' : client.rest()
    },
    /** Puts a box in a function and waits until it stands in it. */
    select: async (name: string | null) => {
      const one = driver.functions.find((other) => other.name === name)
      for (const message of one?.select ?? []) await stage.run(() => client.tell(message))
      await stage.clock.advance(one?.takesMs ?? 0)
      return one?.readBack ? { said: await ask(one.readBack), answers: one.answers } : null
    },
  }
}

async function withTone(oscillator: Client, messages: readonly string[]): Promise<void> {
  for (const message of messages) await oscillator.tell(message)
}

function endOf(driver: DriverFile): '\n' | '\r' {
  return driver.link?.sendEnd === '\r' ? '\r' : '\n'
}

function pairOf(id: string): Pair {
  const pair = pairs.find(({ driver }) => driver.id === id)
  if (!pair) throw new TypeError(`${id} is on no bench`)
  return pair
}

describe('each reading row: its samples decode, and the simulated instrument understands the question and answers in that form', () => {
  test.each(readingRows)('$title', async ({ pair, row }) => {
    expect(sampleFaults({ ...pair.driver, readings: [row], settings: [], states: [], start: [], stop: [] })).toEqual([])
    expect(row.samples.length).toBeGreaterThan(0)
    const { ask, errors, select } = await keyedBench(pair)
    const stands = await select(row.function)
    if (stands) expect(stands.answers).toContain(stands.said)
    const reply = await ask(row.ask ?? '')
    expect(await errors()).toBe('0,"No error"')
    const decoded = decodeReply(row, reply ?? '')
    expect(decoded.state, `${row.ask} was answered with ${reply}`).toBe('good')
    expect(decoded.parts?.length).toBe(row.reply === 'two numbers' ? 2 : undefined)
  })
})

describe('each setting row: the message of its sample is understood, and the read back decodes to what was set', () => {
  test.each(settingRows)('$title', async ({ pair, row }) => {
    expect(sampleFaults({ ...pair.driver, readings: [], settings: [row], states: [], start: [], stop: [] })).toEqual([])
    const { ask, tell, errors } = await keyedBench(pair)
    await tell(row.sample.message)
    expect(await errors()).toBe('0,"No error"')
    const reply = (await ask(row.readBack ?? '')) ?? ''
    if (row.kind === 'value')
      expect(
        agrees(row, row.sample.value, valueRead(row, reply) ?? Number.NaN),
        `${row.readBack} was answered with ${reply}`,
      ).toBe(true)
    else expect(switchRead(row, reply)).toBe(row.sample.value)
  })

  test.each(settingRows.filter(({ row }) => row.kind === 'switch'))('$title, both ways', async ({ pair, row }) => {
    if (row.kind !== 'switch') throw new TypeError('filtered')
    const { ask, tell } = await keyedBench(pair)
    for (const state of ['off', 'on', 'off'] as const) {
      await tell(messageOfSwitch(row, state))
      expect(switchRead(row, (await ask(row.readBack ?? '')) ?? '')).toBe(state)
    }
  })
})

describe('each state row: its samples decode, and the simulated instrument answers in that form', () => {
  test.each(stateRows)('$title', async ({ pair, row }) => {
    expect(sampleFaults({ ...pair.driver, readings: [], settings: [], states: [row], start: [], stop: [] })).toEqual([])
    const { ask, errors } = await keyedBench(pair)
    const reply = (await ask(row.ask)) ?? ''
    expect(await errors()).toBe('0,"No error"')
    expect(stateRead(row, reply)).toBe({ regulation: 'voltage', tripped: 'no' }[row.name])
  })

  test('the current limit shows as regulation by current when the set is keyed with 0.6 A', async () => {
    const pair = pairOf('supply-scpi')
    const row = pair.driver.states.find((state) => state.name === 'regulation')
    if (!row) throw new TypeError('the supply says how it regulates')
    const { ask, tell } = await keyedBench(pair)
    await tell('SOUR:CURR 0.600')
    expect(stateRead(row, (await ask(row.ask)) ?? '')).toBe('current')
  })
})

describe('each start and stop message is understood', () => {
  test.each(messages)('$title', async ({ pair, message }) => {
    const { tell, errors } = await keyedBench(pair)
    await tell(message)
    expect(await errors()).toBe('0,"No error"')
  })
})

describe('each identity fits its driver and holds what the bench file says', () => {
  test.each(pairs)('$name', async ({ kind, driver, name, answersAs }) => {
    const stage = await memoryBench({ kind })
    const { bench, client } = stage
    const identity = (await stage.run(() => client(name, endOf(driver)).ask(driver.identify?.ask ?? ''))) ?? ''
    expect(identity).toContain(answersAs)
    expect(isSimulated(readIdentity(identity))).toBe(true)
    if (driver.link?.resync === 'sentinel') expect(identity.split(',')).toHaveLength(4)
    expect(Object.keys(bench.addresses).toSorted()).toEqual([...BENCHES[kind].instruments].toSorted())
  })
})

test('a misspelt question is noticed: READ:POWR? gets no answer, and -113 in the queue', async () => {
  const { ask, errors } = await keyedBench(pairOf('power-meter-scpi'))
  expect(await ask('READ:POWR?')).toBe(null)
  expect(await errors()).toMatch(/^-113,/)
})

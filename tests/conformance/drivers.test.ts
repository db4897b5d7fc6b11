import { readdirSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { INSTRUMENT_NAMES, type InstrumentName } from '../../mocks/simulated-bench.ts'
import { loadBench } from '../../src/bench/load-bench.ts'
import { sampleFaults } from '../../src/instrument/check-samples.ts'
import { decodeReply } from '../../src/instrument/decode-reply.ts'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { agrees, messageOfSwitch, stateRead, switchRead, valueRead } from '../../src/instrument/setting-message.ts'
import type { DriverFile } from '../../src/schema/driver-file.ts'
import { type Client, memoryBench } from '../mocks/kit.ts'

const { file, drivers } = loadBench('mocks/bench.yaml', 'drivers')

/** Which simulated instrument speaks a driver's dialect; both are written from the standard, neither from the other. */
const pairs = file.entries.map((entry) => {
  const driver = drivers.get(entry.driver)
  const name = INSTRUMENT_NAMES.find((one) => one === entry.name)
  if (!driver || !name) throw new TypeError(`${entry.name} is not on the simulated bench`)
  return { driver, name }
})

const readingRows = pairs.flatMap(({ driver, name }) =>
  driver.readings.map((row) => ({ title: `${driver.id}: ${row.quantity}`, name, driver, row })),
)
const settingRows = pairs.flatMap(({ driver, name }) =>
  driver.settings.map((row) => ({ title: `${driver.id}: ${row.name}`, name, driver, row })),
)
const stateRows = pairs.flatMap(({ driver, name }) =>
  driver.states.map((row) => ({ title: `${driver.id}: ${row.name}`, name, driver, row })),
)
const messages = pairs.flatMap(({ driver, name }) =>
  [...driver.start, ...driver.stop].map((message) => ({ title: `${driver.id}: ${message}`, name, driver, message })),
)

test('every file in drivers/ is loaded: 7, of which 6 speak to the simulated bench', () => {
  const ids = readdirSync('drivers').map((name) => name.replace(/\.yaml$/, ''))
  const loaded = ids.map((id) => loadDriver('drivers', id))
  expect(loaded.map((driver) => driver.id)).toEqual(ids)
  expect(loaded).toHaveLength(7)
  expect(new Set(pairs.map(({ driver }) => driver.id)).size).toBe(6)
  const rows = loaded.map((driver) => driver.readings.length + driver.settings.length + driver.states.length)
  expect(rows.reduce((sum, count) => sum + count, 0)).toBe(28)
})

test('the rows put to the simulated instruments are 7 readings, 7 settings, 2 states and 4 messages', () => {
  expect([readingRows.length, settingRows.length, stateRows.length, messages.length]).toEqual([7, 7, 2, 4])
})

/** The set keyed at 13.8 V on a load, a tone at its microphone socket, the prod on its plug; start messages sent. */
async function keyedBench(name: InstrumentName, driver: DriverFile) {
  const stage = await memoryBench()
  await stage.power(13.8)
  await stage.run(() => withTone(stage.client('oscillator')))
  const client = stage.client(name)
  const ask = (text: string) => stage.run(() => client.ask(text, 4000))
  for (const message of driver.start) await stage.run(() => client.tell(message))
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
    errors: () => ask(driver.link?.errorsAsk ?? ''),
  }
}

async function withTone(oscillator: Client): Promise<void> {
  for (const message of ['FREQ 1000', 'VOLT 0.03', 'OUTP ON']) await oscillator.tell(message)
}

describe('each reading row: its samples decode, and the simulated instrument understands the question and answers in that form', () => {
  test.each(readingRows)('$title', async ({ name, driver, row }) => {
    expect(sampleFaults({ ...driver, readings: [row], settings: [], states: [], start: [], stop: [] })).toEqual([])
    expect(row.samples.length).toBeGreaterThan(0)
    const { ask, errors } = await keyedBench(name, driver)
    const reply = await ask(row.ask ?? '')
    expect(await errors()).toBe('0,"No error"')
    const decoded = decodeReply(row, reply ?? '')
    expect(decoded.state, `${row.ask} was answered with ${reply}`).toBe('good')
    expect(decoded.parts?.length).toBe(row.reply === 'two numbers' ? 2 : undefined)
  })
})

describe('each setting row: the message of its sample is understood, and the read back decodes to what was set', () => {
  test.each(settingRows)('$title', async ({ name, driver, row }) => {
    expect(sampleFaults({ ...driver, readings: [], settings: [row], states: [], start: [], stop: [] })).toEqual([])
    const { ask, tell, errors } = await keyedBench(name, driver)
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

  test.each(settingRows.filter(({ row }) => row.kind === 'switch'))(
    '$title, both ways',
    async ({ name, driver, row }) => {
      if (row.kind !== 'switch') throw new TypeError('filtered')
      const { ask, tell } = await keyedBench(name, driver)
      for (const state of ['off', 'on', 'off'] as const) {
        await tell(messageOfSwitch(row, state))
        expect(switchRead(row, (await ask(row.readBack ?? '')) ?? '')).toBe(state)
      }
    },
  )
})

describe('each state row: its samples decode, and the simulated instrument answers in that form', () => {
  test.each(stateRows)('$title', async ({ name, driver, row }) => {
    expect(sampleFaults({ ...driver, readings: [], settings: [], states: [row], start: [], stop: [] })).toEqual([])
    const { ask, errors } = await keyedBench(name, driver)
    const reply = (await ask(row.ask)) ?? ''
    expect(await errors()).toBe('0,"No error"')
    expect(stateRead(row, reply)).toBe({ regulation: 'voltage', tripped: 'no' }[row.name])
  })

  test('the current limit shows as regulation by current when the set is keyed with 0.6 A', async () => {
    const driver = drivers.get('supply-scpi')
    const row = driver?.states.find((state) => state.name === 'regulation')
    if (!driver || !row) throw new TypeError('the supply says how it regulates')
    const { ask, tell } = await keyedBench('supply', driver)
    await tell('SOUR:CURR 0.600')
    expect(stateRead(row, (await ask(row.ask)) ?? '')).toBe('current')
  })
})

describe('each start and stop message is understood', () => {
  test.each(messages)('$title', async ({ name, driver, message }) => {
    const { tell, errors } = await keyedBench(name, driver)
    await tell(message)
    expect(await errors()).toBe('0,"No error"')
  })
})

describe('each identity fits its driver and holds what the bench file says', () => {
  test.each(pairs)('$name', async ({ driver, name }) => {
    const stage = await memoryBench()
    const identity = (await stage.run(() => stage.client(name).ask(driver.identify?.ask ?? ''))) ?? ''
    expect(identity.split(',')).toHaveLength(4)
    expect(identity).toContain(file.entries.find((entry) => entry.name === name)?.answersAs ?? 'nothing')
  })
})

test('a misspelt question is noticed: READ:POWR? gets no answer, and -113 in the queue', async () => {
  const driver = drivers.get('power-meter-scpi')
  if (!driver) throw new TypeError('the bench has a power meter')
  const { ask, errors } = await keyedBench('power', driver)
  expect(await ask('READ:POWR?')).toBe(null)
  expect(await errors()).toMatch(/^-113,/)
})

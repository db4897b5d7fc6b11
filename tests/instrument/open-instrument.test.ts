import { describe, expect, test } from 'vitest'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { type Instrument, openInstrument } from '../../src/instrument/open-instrument.ts'
import { type BenchEntry, BenchFile } from '../../src/schema/files/bench-file.ts'
import { instrumentDeps, never, rejectionOf } from '../kit/links/instrument-deps.ts'

const POWER = 'EXAMPLE,PM-3,1182,2.1'

const entryOf = (written: Record<string, unknown>): BenchEntry => {
  const [entry] = BenchFile.parse({
    bench: 'test',
    instruments: { power: { driver: 'power-meter-scpi', at: 'memory:power', ...written } },
  }).entries
  if (!entry) throw new TypeError('no entry')
  return entry
}

const stage = (answers: Record<string, string | null | (() => string | null)> = {}, identity = POWER) => {
  const { clock, add, deps } = instrumentDeps()
  const scripted = add('power', identity, answers)
  const driver = loadDriver('drivers', 'power-meter-scpi')
  const open = (written: Record<string, unknown> = {}): Promise<Instrument> =>
    openInstrument({
      entry: entryOf(written),
      driver,
      address: 'memory:power',
      deps,
      wait: { ms: 60_000, signal: never() },
    })
  return { clock, scripted, open }
}

test('an instrument is asked who it is, its old errors are read, and its start messages are checked one by one', async () => {
  const queue = ['-113,"Undefined header"', '0,"No error"', '0,"No error"']
  const { clock, scripted, open } = stage({ 'SYST:ERR?': () => queue.shift() ?? '0,"No error"' })
  const instrument = await clock.runUntil(open())
  expect(instrument.identity).toBe(POWER)
  expect(instrument.simulated).toBe(false)
  expect(instrument.who).toBe('power (power-meter-scpi at memory:power)')
  const said = scripted.heard.map(({ text }) => text).filter((text) => !text.startsWith('*ESE'))
  expect(said).toEqual(['*IDN?', '*ESR?', 'SYST:ERR?', 'SYST:ERR?', 'UNIT:POW W', 'SYST:ERR?', '*ESR?', 'UNIT:POW?'])
})

describe('an instrument is not opened', () => {
  test('when it answers as another one than the bench file says', async () => {
    const { clock, open } = stage()
    await expect(rejectionOf(clock, open({ 'answers as': 'COUNTER' }))).resolves.toMatchObject({
      message:
        'power (power-meter-scpi at memory:power): answers as "EXAMPLE,PM-3,1182,2.1"; the bench file says that "COUNTER" stands in it. Check the address in the bench file: another instrument answers there [DRIVER_WRONG_INSTRUMENT]',
    })
  })

  test('when its identity does not look like the driver expects', async () => {
    const { clock, open } = stage({}, 'PM-3')
    await expect(rejectionOf(clock, open())).resolves.toMatchObject({
      message:
        'power (power-meter-scpi at memory:power): answers as "PM-3"; the driver expects "*,*,*,*". Check the address in the bench file: another instrument answers there [DRIVER_WRONG_INSTRUMENT]',
    })
  })

  test('when it refuses a start message, with its own number and text', async () => {
    let asked = 0
    const { clock, open } = stage({
      'SYST:ERR?': () => (++asked === 2 ? '-224,"Illegal parameter value;W"' : '0,"No error"'),
    })
    await expect(rejectionOf(clock, open())).resolves.toMatchObject({
      message:
        'power (power-meter-scpi at memory:power): answers -224 "Illegal parameter value; W" to UNIT:POW W. Read the instrument manual on that error number [INSTRUMENT_REFUSED]',
    })
  })

  test('when its error queue answers with something else', async () => {
    const { clock, open } = stage({ 'SYST:ERR?': '+3.85E+00' })
    await expect(rejectionOf(clock, open())).resolves.toMatchObject({
      message:
        'power (power-meter-scpi at memory:power): "+3.85E+00" is no answer to SYST:ERR?. Check that the driver fits this instrument [DRIVER_REPLY_UNREADABLE]',
    })
  })

  test('when nobody answers at the address', async () => {
    const { clock, scripted, open } = stage()
    scripted.plug(false)
    await expect(rejectionOf(clock, open())).resolves.toMatchObject({
      name: 'BenchError',
      who: 'power (power-meter-scpi at memory:power)',
    })
  })

  test('when the person calls it off, with the reason untouched', async () => {
    const { clock, scripted } = stage()
    scripted.delayMs = 1e6
    const stop = new AbortController()
    const { deps } = instrumentDeps()
    const reason = new Error('enough')
    stop.abort(reason)
    const options = {
      entry: entryOf({}),
      driver: loadDriver('drivers', 'power-meter-scpi'),
      address: 'memory:power',
      deps,
    }
    await expect(
      rejectionOf(clock, openInstrument({ ...options, wait: { ms: 1000, signal: stop.signal } })),
    ).resolves.toBe(reason)
  })
})

test('an error queue that never becomes empty does not keep the instrument from being opened: 50 reads, then it goes on', async () => {
  let asked = 0
  const { clock, open } = stage({ 'SYST:ERR?': () => (++asked <= 50 ? '-350,"Queue overflow"' : '0,"No error"') })
  await clock.runUntil(open())
  expect(asked).toBe(51)
})

test('power on (-500) is news, not a refusal', async () => {
  let asked = 0
  const { clock, open } = stage({ 'SYST:ERR?': () => (++asked === 2 ? '-500,"Power on"' : '0,"No error"') })
  await expect(clock.runUntil(open())).resolves.toMatchObject({ identity: POWER })
})

test('a simulated instrument says so in its identity', async () => {
  const { clock, open } = stage({}, 'TRIMWRIGHT SIMULATED,POWER METER,SIM0002,1.0')
  await expect(clock.runUntil(open())).resolves.toMatchObject({ simulated: true })
})

test('preparing it anew repeats identity and start messages, and refuses another serial number', async () => {
  const { clock, scripted, open } = stage()
  const instrument = await clock.runUntil(open())
  scripted.heard.length = 0
  const wait = { ms: 5000, signal: never() }
  await clock.runUntil(instrument.prepare(wait))
  expect(scripted.heard.map(({ text }) => text)).toEqual([
    '*IDN?',
    '*ESR?',
    'SYST:ERR?',
    'UNIT:POW W',
    'SYST:ERR?',
    '*ESR?',
    'UNIT:POW?',
  ])
  scripted.answers['*IDN?'] = 'EXAMPLE,PM-3,1183,2.1'
  await expect(rejectionOf(clock, instrument.prepare(wait))).resolves.toMatchObject({
    code: 'DRIVER_WRONG_INSTRUMENT',
    happened: 'answers as "EXAMPLE,PM-3,1183,2.1"; it was "EXAMPLE,PM-3,1182,2.1" before',
  })
})

describe('the pattern of an identity', () => {
  test.each([
    ['EXAMPLE,PM-3,*', true],
    ['example,pm-3,*', true],
    ['*PM-3*', true],
    ['*,*,*,*', true],
    ['*', true],
    ['EXAMPLE,PM-3', false],
    ['PM-3*', false],
    ['*,PM-3', false],
    ['*,*,*,*,*', false],
    ['EXAMPLE,PM-3,1182,2.1', true],
  ])('"%s" fits EXAMPLE,PM-3,1182,2.1: %s', async (pattern, fits) => {
    const { clock, add, deps } = instrumentDeps()
    add('power', POWER, {})
    const driver = {
      ...loadDriver('drivers', 'power-meter-scpi'),
      identify: { ask: '*IDN?', looksLike: [pattern], differs: false },
    }
    const opening = openInstrument({
      entry: entryOf({}),
      driver,
      address: 'memory:power',
      deps,
      wait: { ms: 5000, signal: never() },
    })
    const outcome = clock.runUntil(
      opening.then(
        () => true,
        () => false,
      ),
    )
    await expect(outcome).resolves.toBe(fits)
  })
})

describe('an instrument that can only be told by the look of a reading', () => {
  const look = { ask: 'R', looksLike: ['?  ????.?W'], differs: true }
  const open = async (reply: () => string) => {
    const { clock, add, deps } = instrumentDeps()
    add('power', POWER, { R: reply })
    const driver = { ...loadDriver('drivers', 'power-meter-scpi'), identify: look }
    const opening = openInstrument({
      entry: entryOf({}),
      driver,
      address: 'memory:power',
      deps,
      wait: { ms: 5000, signal: never() },
    })
    return { clock, instrument: await clock.runUntil(opening) }
  }

  test('is opened, has no identity, and may read something else the next time', async () => {
    let reads = 0
    const { clock, instrument } = await open(() => `N  000${reads++}.5W`)
    expect([instrument.identity, instrument.simulated]).toEqual(['', false])
    await clock.runUntil(instrument.greet({ ms: 1000, signal: never() }))
    expect(reads).toBe(2)
  })

  test.each(['N  0003.5 W', 'N 0003.5W', '0003.5', 'EXAMPLE,PM-3,1182,2.1'])(
    '"%s" is another instrument',
    async (reply) => {
      await expect(open(() => reply)).rejects.toMatchObject({ code: 'DRIVER_WRONG_INSTRUMENT' })
    },
  )
})

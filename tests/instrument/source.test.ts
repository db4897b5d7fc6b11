import { describe, expect, test } from 'vitest'
import { sourceOn } from '../../src/instrument/source.ts'
import { never, rejectionOf } from '../kit/links/instrument-deps.ts'
import { openScripted } from '../kit/links/open-scripted.ts'

const wait = () => ({ ms: 60_000, signal: never() })
const TONE = { 'audio tone': 1000, 'audio level': 0.03 }

/** An oscillator that does what it is told, unless `odd` says otherwise. */
async function oscillator(odd: Record<string, () => string> = {}) {
  let on = '0'
  const stage = await openScripted('audio-oscillator-scpi', {
    'OUTP ON': () => {
      on = '1'
      return null
    },
    'OUTP OFF': () => {
      on = '0'
      return null
    },
    'OUTP?': () => on,
    'SOUR:FREQ?': '+1.0000E+03',
    'SOUR:VOLT?': '+3.0000E-02',
    ...odd,
  })
  return { ...stage, source: sourceOn(stage.instrument, 'audio tone', stage.clock), isOn: () => on === '1' }
}

test('a tone is set with the output off, each setting read back, and counts 0.1 s after it is on', async () => {
  const { clock, source, said, scripted } = await oscillator()
  await clock.runUntil(source.set(TONE, wait()))
  expect(said().filter((text) => text !== 'SYST:ERR?')).toEqual([
    'OUTP OFF',
    'OUTP?',
    'SOUR:FREQ 1000.0',
    'SOUR:FREQ?',
    'SOUR:VOLT 0.03000',
    'SOUR:VOLT?',
    'OUTP ON',
    'OUTP?',
  ])
  const lastMs = scripted.heard.at(-1)?.atMs ?? Number.NaN
  expect(clock.nowMs()).toBeCloseTo(lastMs + 5 + 100, 6)
})

test('no tone is the output off, read back', async () => {
  const { clock, source, said, isOn } = await oscillator()
  await clock.runUntil(source.set(TONE, wait()))
  expect(isOn()).toBe(true)
  await clock.runUntil(source.set(null, wait()))
  expect(said().slice(-3)).toEqual(['OUTP OFF', 'SYST:ERR?', 'OUTP?'])
  expect(isOn()).toBe(false)
})

describe('a tone that is not what was asked for never sounds', () => {
  test('a level that reads back otherwise', async () => {
    const { clock, source, isOn } = await oscillator({ 'SOUR:VOLT?': () => '+2.9000E-02' })
    await expect(rejectionOf(clock, source.set(TONE, wait()))).resolves.toMatchObject({
      message:
        'unit (audio-oscillator-scpi at memory:unit): audio level was set to 0.03 V and reads back as 0.029 V. Check the instrument front panel and its limits [INSTRUMENT_SETTING_DIFFERS]',
    })
    expect(isOn()).toBe(false)
  })

  test('a level outside the driver', async () => {
    const { clock, source, isOn, said } = await oscillator()
    await expect(
      rejectionOf(clock, source.set({ 'audio tone': 1000, 'audio level': 11 }, wait())),
    ).resolves.toMatchObject({
      code: 'INSTRUMENT_OUT_OF_RANGE',
      happened: 'audio level 11 V lies outside 0 .. 10 V',
    })
    expect(isOn()).toBe(false)
    expect(said()).not.toContain('SOUR:VOLT 11.00000')
  })

  test('a value that the driver does not set', async () => {
    const { clock, source, isOn } = await oscillator()
    await expect(rejectionOf(clock, source.set({ ...TONE, 'AM depth': 0.3 }, wait()))).resolves.toMatchObject({
      code: 'DRIVER_NO_SUCH_ROW',
      happened: 'audio-oscillator-scpi does not set AM depth',
    })
    expect(isOn()).toBe(false)
  })

  test('a level that is no number', async () => {
    const { clock, source } = await oscillator()
    await expect(
      rejectionOf(clock, source.set({ 'audio tone': Number.NaN, 'audio level': 0.03 }, wait())),
    ).resolves.toMatchObject({
      code: 'INSTRUMENT_OUT_OF_RANGE',
    })
  })

  test('a frequency that the instrument refuses, with its number and text', async () => {
    let told = false
    const { clock, source, isOn } = await oscillator({
      'SOUR:FREQ 1000.0': () => {
        told = true
        return ''
      },
      'SYST:ERR?': () => (told ? '-222,"Data out of range"' : '0,"No error"'),
    })
    told = false
    const setting = source.set(TONE, wait())
    await expect(rejectionOf(clock, setting)).resolves.toMatchObject({
      code: 'INSTRUMENT_REFUSED',
      happened: 'answers -222 "Data out of range" to SOUR:FREQ 1000.0',
    })
    expect(isOn()).toBe(false)
  })
})

test('closing it switches the output off first', async () => {
  const { clock, source, instrument, said, isOn } = await oscillator()
  await clock.runUntil(source.set(TONE, wait()))
  await clock.runUntil(instrument.close())
  expect(said().at(-1)).toBe('OUTP OFF')
  expect(isOn()).toBe(false)
})

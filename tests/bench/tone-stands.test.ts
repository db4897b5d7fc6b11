import { describe, expect, test } from 'vitest'
import { benchStage } from '../kit/job/bench-stage.ts'
import { never } from '../kit/links/instrument-deps.ts'

/** An oscillator that makes 1 kHz at 30 mV, with a tone on for 3 s. */
async function toneStage() {
  const stage = benchStage({ oscillator: { driver: 'audio-oscillator-scpi', at: 'memory:oscillator' } })
  const state = { on: '0', volts: '0', register: '0' }
  const turn = (on: string) => () => {
    state.on = on
    return null
  }
  const box = stage.script('oscillator', {
    'OUTP ON': turn('1'),
    'OUTP OFF': turn('0'),
    'OUTP?': () => state.on,
    'SOUR:FREQ?': '+1.0E+03',
    'SOUR:VOLT 0.03000': () => {
      state.volts = '+3.0E-02'
      return null
    },
    'SOUR:VOLT?': () => state.volts,
    '*ESR?': () => {
      const said = state.register
      state.register = '0'
      return said
    },
  })
  const bench = await stage.open()
  await stage.clock.runUntil(bench.source('audio tone').set({ 'audio tone': 1000, 'audio level': 0.03 }, never()))
  await stage.clock.advance(3000)
  expect(stage.news).toEqual([])
  expect(state).toEqual({ on: '1', volts: '+3.0E-02', register: '0' })
  return { ...stage, bench, box, state }
}

describe('a tone that is lost is told within 1.5 s, and comes back by itself', () => {
  test.each([
    ['switched off by hand', { on: '0' }],
    ['turned down by hand', { volts: '+1.0E-02' }],
    ['the instrument says that it was off, though all reads as before', { register: '128' }],
  ] as const)('%s', async (_how, lost) => {
    const { clock, news, bench, state } = await toneStage()
    Object.assign(state, lost)
    await clock.advance(1500)
    expect(news[0]?.fault?.message).toBe(
      'oscillator (audio-oscillator-scpi at memory:oscillator): it does not make the tone any more that it was set to: it was switched off and on, or set by hand. Check the instrument front panel and its limits [INSTRUMENT_SETTING_DIFFERS]',
    )
    await clock.advance(3000)
    expect(news.map(({ up }) => up)).toEqual([false, true])
    expect(state).toEqual({ on: '1', volts: '+3.0E-02', register: '0' })
    await clock.runUntil(bench.close())
  })
})

test('one missed sign of life has the start messages sent again, which switch the tone off: it is set again', async () => {
  const { clock, news, bench, box, state } = await toneStage()
  const identity = box.answers['*IDN?'] ?? null
  box.answers['*IDN?'] = () => {
    box.answers['*IDN?'] = identity
    return null
  }
  box.heard.length = 0
  await clock.advance(8000)
  const told = box.heard.map(({ text }) => text).filter((text) => /^OUTP O/.test(text))
  expect(told).toEqual(['OUTP OFF', 'OUTP OFF', 'OUTP ON'])
  expect(state.on).toBe('1')
  expect(news).toEqual([])
  await clock.runUntil(bench.close())
})

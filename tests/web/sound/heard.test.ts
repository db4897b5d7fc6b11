import { describe, expect, test } from 'vitest'
import { heardAt, heardIn, LEVELS, microphoneHears, SILENCE, spareMicrophone } from '../../../web/sound/heard.ts'
import type { Sound } from '../../../web/sound/sound.ts'
import { frame, reading, step } from '../frame-parts.ts'

const EVERYTHING: Sound = {
  guide: { kind: 'pulses', side: 'above', hz: 740, everyMs: 300 },
  ticks: [
    { kind: 'settling', everyMs: 700 },
    { kind: 'closing', everyMs: 500 },
    { kind: 'key', everyMs: 250 },
    { kind: 'heartbeat', everyMs: 2000 },
  ],
  once: ['key now', 'release key', 'captured', 'new best', 'passed over', 'flat', 'rough', 'ping'],
  alarm: true,
}

const names = (sound: Sound) => [sound.guide.kind, ...sound.ticks.map(({ kind }) => kind), ...sound.once].join(' ')

describe('four levels', () => {
  test.each([
    ['all', names(EVERYTHING)],
    ['guide', 'pulses closing key key now release key captured new best passed over flat rough'],
    ['events', 'silent key key now release key captured new best passed over flat rough ping'],
    ['none', 'silent'],
  ] as const)('%s leaves: %s', (level, left) => {
    expect(names(heardAt(EVERYTHING, level))).toBe(left)
  })

  test('the alarm and the key-down ticks sound in every level but none', () => {
    expect(LEVELS.filter((level) => heardAt(EVERYTHING, level).alarm)).toEqual(['all', 'guide', 'events'])
    expect(heardAt(EVERYTHING, 'none')).toEqual(SILENCE)
  })
})

describe('a microphone near the speaker', () => {
  test.each([
    ['FM deviation', true],
    ['AM depth', true],
    ['SINAD', true],
    ['RF power', false],
    ['frequency', false],
  ] as const)('%s: hears the gauge %s', (quantity, hears) => {
    expect(microphoneHears(frame({ reading: reading({ quantity }) }))).toBe(hears)
  })

  test('is spared everything but the safety sounds', () => {
    const spared = spareMicrophone(EVERYTHING)
    expect(names(spared)).toBe('silent key release key flat rough')
    expect(spared.alarm).toBe(true)
  })
})

describe('a step with its own microphone in', () => {
  const whistle = frame({ step: step({ sounds: 'off' }), reading: reading({ quantity: 'FM deviation' }) })

  test.each(LEVELS)('at level %s, with headphones too, is left no sound of any kind', (level) => {
    for (const headphones of [true, false]) expect(heardIn(whistle, EVERYTHING, { level, headphones })).toEqual(SILENCE)
  })

  test('only that step: the next one sounds as the person wishes', () => {
    const next = { ...whistle, step: step({ sounds: 'on' }) }
    expect(heardIn(next, EVERYTHING, { level: 'all', headphones: true })).toEqual(EVERYTHING)
    expect(names(heardIn(next, EVERYTHING, { level: 'all', headphones: false }))).toBe(
      'silent key release key flat rough',
    )
  })
})

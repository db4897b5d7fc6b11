import { describe, expect, test } from 'vitest'
import { beginLearning, type KeyEvent, type Learning, learn } from '../../../web/hands/learn-pedal.ts'

const DOWN = { kind: 'down', repeat: false, together: false } as const

const down = (key: string, atMs: number, more: Partial<KeyEvent> = {}): KeyEvent => ({ ...DOWN, key, atMs, ...more })
const up = (key: string, atMs: number): KeyEvent => ({ ...DOWN, kind: 'up', key, atMs })

function learned(pedal: 'a' | 'b', other: string, ...events: readonly KeyEvent[]): Learning {
  return events.reduce<Learning>((before, event) => learn(before, event, other), beginLearning(pedal))
}

describe('pedal A', () => {
  const press = [down('PageUp', 0), up('PageUp', 200)]

  test('shows its key, and is then held', () => {
    const seen = learned('a', 'End', ...press)
    expect(seen).toMatchObject({ stage: 'hold', key: 'PageUp', downMs: null })
    expect(seen.stage === 'hold' && seen.said).toContain('Page Up has come, and it is free')
  })

  test('held for 1.2 s it can be held; the repeats of the keyboard are no presses', () => {
    const repeats = [1, 2, 3, 4].map((at) => down('PageUp', 1000 + at * 200, { repeat: true }))
    expect(learned('a', 'End', ...press, down('PageUp', 1000), ...repeats, up('PageUp', 2200))).toEqual({
      stage: 'known',
      pedal: 'a',
      key: 'PageUp',
      holds: true,
    })
  })

  test('let go too soon by a foot, it is asked again and nothing is concluded', () => {
    const seen = learned('a', 'End', ...press, down('PageUp', 1000), up('PageUp', 1700))
    expect(seen).toMatchObject({ stage: 'hold', downMs: null, said: expect.stringContaining('0.70 s') })
    expect(learn(learn(seen, down('PageUp', 3000), 'End'), up('PageUp', 4300), 'End')).toMatchObject({ holds: true })
  })

  test('that lets go by itself twice can never be held', () => {
    const once = learned('a', 'End', ...press, down('PageUp', 1000), up('PageUp', 1009))
    expect(once).toMatchObject({ stage: 'hold', quick: 1 })
    expect(learn(learn(once, down('PageUp', 2000), 'End'), up('PageUp', 2010), 'End')).toMatchObject({
      stage: 'known',
      holds: false,
    })
  })

  test('a clumsy press between two quick ones starts the count anew', () => {
    const seen = learned(
      'a',
      'End',
      ...press,
      ...[down('PageUp', 1000), up('PageUp', 1009), down('PageUp', 2000), up('PageUp', 2400)],
      ...[down('PageUp', 3000), up('PageUp', 3009)],
    )
    expect(seen).toMatchObject({ stage: 'hold', quick: 1 })
  })

  test('another key meanwhile is looked at in its place', () => {
    expect(learned('a', 'End', ...press, down('F13', 1000))).toMatchObject({ stage: 'hold', key: 'F13', downMs: null })
    expect(learned('a', 'End', ...press, down('x', 1000))).toMatchObject({ stage: 'press' })
  })
})

describe('keys that are not free', () => {
  test.each([
    ['Enter', 'Enter presses buttons'],
    [' ', 'Space presses buttons'],
    ['Tab', 'Tab walks'],
    ['Escape', 'Escape closes'],
    ['b', 'B: letters, digits and signs'],
    ['7', '7: letters, digits and signs'],
    ['é', 'É: letters, digits and signs'],
    ['ArrowDown', 'Arrow down: arrows change choices'],
    ['Shift', 'Shift: it changes what other keys do'],
    ['F5', 'F5: the browser'],
    ['AudioVolumeUp', 'AudioVolumeUp: it changes the loudness'],
    ['Unidentified', 'Unidentified: the browser has no name'],
    ['End', 'End: it is the key of STOP'],
    ['PageUp', 'Page Up: it is the key of STOP'],
  ])('%s is refused in words', (key, words) => {
    const seen = learned('a', 'PageUp', down(key, 0))
    expect(seen).toMatchObject({ stage: 'press', said: expect.stringContaining(words) })
    expect(seen.stage === 'press' && seen.said).toContain('Page Down, Page Up or F13 to F24 are free')
  })

  test('nor is a free key together with Ctrl', () => {
    expect(learned('a', 'End', down('PageUp', 0, { together: true }))).toMatchObject({
      stage: 'press',
      said: expect.stringContaining('together with Ctrl'),
    })
  })
})

test('pedal B is known by one press, and is not the key of pedal A', () => {
  expect(learned('b', 'PageDown', down('PageDown', 0))).toMatchObject({
    stage: 'press',
    said: expect.stringContaining('it is the key of pedal A'),
  })
  expect(learned('b', 'PageDown', down('End', 0))).toMatchObject({ stage: 'known', pedal: 'b', key: 'End' })
  expect(learned('b', 'PageDown', down('F14', 0))).toMatchObject({ stage: 'known', pedal: 'b', key: 'F14' })
})

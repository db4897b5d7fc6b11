import { describe, expect, test } from 'vitest'
import { STEERING, viewOf } from '../../../web/view/view.ts'
import { typedText } from '../../../web/view/view-typing.ts'
import { captured, frame, keyed, MADE_MS, reading, SETTINGS_OF_THE_SET, step } from '../frame-parts.ts'
import { FIXTURES, SIGNED } from '../frames.ts'

const NOW_MS = MADE_MS + 50

describe('the largest is looked for', () => {
  const view = viewOf(FIXTURES.highest, NOW_MS)

  test('the label under the slot is the largest so far, with a mark at its place; nothing is aimed at', () => {
    expect(view.gauge).toMatchObject({ aimLabel: 'largest 1.84 kHz', aim: null, lowLabel: '1.00', highLabel: '2.00' })
    expect(view.gauge?.marks).toHaveLength(1)
    const mark = view.gauge?.marks[0]?.x ?? 0
    expect(mark).toBeGreaterThan(view.gauge?.peg?.to ?? 1)
    expect(mark).toBeLessThan(view.gauge?.right ?? 0)
  })

  test('the guide says what to do, the number is the newest reading and goes old like any other', () => {
    expect(view.guide.words).toBe('Whistle and speak')
    expect(view.number?.tail).toBe('1.42')
    expect(view.head.label).toBe('highest')
    expect(viewOf(FIXTURES.highest, MADE_MS + 5_000).state).toBe('old')
  })

  test('before a reading counts there is no label, and none in other states', () => {
    const { largest, ...before } = FIXTURES.highest
    expect(viewOf(before, NOW_MS).gauge).toMatchObject({ aimLabel: '', marks: [] })
    expect(largest?.label).toBe('1.84 kHz')
    expect(viewOf({ ...FIXTURES.highest, state: 'settling' }, NOW_MS).gauge?.aimLabel).toBe('1.50')
  })
})

describe('a meter that is read by a person', () => {
  test('has a field with what to read, off what, its unit and an example', () => {
    expect(viewOf(FIXTURES['type in'], NOW_MS).typing).toMatchObject({
      name: 'RF power, read off power',
      unit: 'W',
      like: 'like 3.85 W',
      keyboard: 'decimal',
    })
  })

  test('both peaks need a stroke, so the keyboard is that of text', () => {
    const typing = {
      quantity: 'FM deviation',
      instrument: 'modmeter',
      example: '1.78 / 1.71 kHz',
      unit: 'kHz',
    } as const
    expect(viewOf({ ...FIXTURES['type in'], typing }, NOW_MS).typing).toMatchObject({ unit: 'kHz', keyboard: 'text' })
  })

  test('keeps the last typed value in the picture, with the way to go, and is never called old', () => {
    const view = viewOf(FIXTURES['type in'], MADE_MS + 600_000)
    expect(view).toMatchObject({ state: 'type in', hatch: 'none', gauge: { arrow: 'right', peg: { fill: 'below' } } })
  })

  test('is not offered on a page that does not steer, or without the service', () => {
    for (const page of [{ steering: 'another' }, { connected: false }] as const)
      expect(viewOf(FIXTURES['type in'], NOW_MS, { ...STEERING, ...page }).typing).toBeNull()
  })

  test.each([
    ['3.9', 'W', '3.9 W'],
    [' 3.9 W', 'W', '3.9 W'],
    ['390 mW', 'W', '390 mW'],
    ['1.78 / 1.71', 'kHz', '1.78 / 1.71 kHz'],
    ['-12.5', 'dB', '-12.5 dB'],
  ])('"%s" beside %s is sent as "%s"', (text, unit, sent) => {
    expect(typedText(text, unit)).toBe(sent)
  })

  test('a typed value says so beside the number, to the reader of the screen, and in the table', () => {
    const kept = captured({ label: 'typed', by: 'typed' })
    const view = viewOf(frame({ state: 'captured', captured: [kept] }), NOW_MS)
    expect(view.beside).toEqual(['typed'])
    expect(view.status).toBe('captured 3.85 W, typed')
    const end = viewOf({ ...FIXTURES.finished, captured: [kept] }, NOW_MS)
    expect(end.finished?.table[0]?.label).toBe('typed')
  })
})

describe('the settings of the set', () => {
  const as = (pass: 'found' | 'left', offers: typeof FIXTURES.settings.offers = ['ready', 'note setting']) =>
    viewOf({ ...FIXTURES.settings, offers, step: step({ technique: 'settings', pass }) }, NOW_MS).settings

  test('as found and for this job are written first, what is left at the end', () => {
    expect(as('found')).toMatchObject({ title: 'Settings of the set, as found', writes: ['found', 'job'] })
    expect(as('left')).toMatchObject({ title: 'Settings of the set, as left', writes: ['left'] })
    expect(as('left', ['stop'])?.writes).toEqual([])
  })

  test('a reason is asked for where left is written and is not what was found', () => {
    const asks = as('left')?.rows.map(({ name, asksReason }) => [name, asksReason])
    expect(asks).toEqual(SETTINGS_OF_THE_SET.map(({ name }) => [name, name === 'key click']))
    expect(as('found')?.rows.some(({ asksReason }) => asksReason)).toBe(false)
  })

  test('a page that does not steer reads the list', () => {
    const view = viewOf(FIXTURES.settings, NOW_MS, { ...STEERING, steering: 'another' })
    expect(view.screen).toBe('settings')
    expect(view.settings?.writes).toEqual([])
  })
})

describe('the end of a job in three passes', () => {
  const finished = viewOf(SIGNED, NOW_MS).finished

  test('pairs what was found with what was left, and the change of what is shown', () => {
    expect(finished?.pairs.map(({ row, found, left, change }) => [row, found.value, left.value, change])).toEqual([
      ['A12', '2.40 W', '3.65 W', '+1.25 W'],
      ['A17', '1.53 kHz', '1.75 kHz', '+0.22 kHz'],
      ['A8', '', '27.204991 MHz', ''],
    ])
  })

  test('says how each side stands, what was typed, and what was not read', () => {
    expect(finished?.pairs.map(({ found, left }) => [found.told, left.told])).toEqual([
      ['too low', 'inside'],
      ['too low', 'inside, typed'],
      ['not read', 'inside'],
    ])
  })

  test('the adjustment reading is not taken for what is left', () => {
    expect(finished?.pairs.flatMap(({ found, left }) => [found.value, left.value])).not.toContain('3.85 W')
    expect(finished?.table).toHaveLength(6)
    expect(finished?.table[0]?.label).toBe('as found, settled')
  })

  test('two tones of one step are two pairs', () => {
    const tone = (pass: 'found' | 'left', which: string, digits: string) =>
      captured({ pass, title: `Deviation (${which})`, digits, value: Number(digits) })
    const all = [tone('found', '300 Hz', '1.10'), tone('found', '1 kHz', '1.50'), tone('left', '1 kHz', '1.70')]
    const pairs = viewOf({ ...FIXTURES.finished, captured: all }, NOW_MS).finished?.pairs
    expect(pairs?.map(({ title, change }) => [title, change])).toEqual([
      ['Deviation (300 Hz)', ''],
      ['Deviation (1 kHz)', '+0.20 W'],
    ])
  })

  test.each([
    [{ digits: '850', unit: 'mW', value: 0.85 }, { digits: '3.65', unit: 'W', value: 3.65 }, '+2.80 W'],
    [{ digits: '3.62', unit: 'W', value: 3.62 }, { digits: '3.5', unit: 'W', value: 3.5 }, '−0.1 W'],
    [{ digits: '-12.5', unit: 'dB', value: -12.5 }, { digits: '-12.5', unit: 'dB', value: -12.5 }, '0.0 dB'],
  ])('the change from %o to %o is %s', (found, left, change) => {
    const all = [captured({ pass: 'found', ...found }), captured({ pass: 'left', ...left })]
    expect(viewOf({ ...FIXTURES.finished, captured: all }, NOW_MS).finished?.pairs[0]?.change).toBe(change)
  })

  test('names the record and its fingerprint once there is one', () => {
    expect(finished?.record).toBe(
      'Record 2026-11-25-BW-0417.jws, fingerprint kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k',
    )
    expect(viewOf(FIXTURES.finished, NOW_MS).finished?.record).toBe('')
  })
})

test('where a step repeats, which reading it is stands on the sheet, beside the number and over each call', () => {
  const stop = { number: 2, of: 6, words: '600 Hz' }
  const at = (state: 'read step' | 'near' | 'key now' | 'rest') =>
    viewOf({ ...FIXTURES[state], step: step({ stop }) }, NOW_MS)
  expect(at('read step').sheet?.rows).toContainEqual({ what: 'reading', value: '2 of 6: 600 Hz' })
  expect(at('near').head.stop).toBe('2 of 6: 600 Hz')
  expect(at('key now').call?.over).toBe('2 of 6: 600 Hz')
  expect(at('rest').call?.over).toBe('2 of 6: 600 Hz')
  expect(viewOf(FIXTURES.near, NOW_MS).head.stop).toBe('')
})

test('an action is what the service wants done now, not what the sheet says first', () => {
  const moved = {
    ...FIXTURES.action,
    guide: { words: 'Set the set to channel 1', way: '', hands: '' },
  } as const
  expect(viewOf(moved, NOW_MS).call?.big).toBe('Set the set to channel 1')
})

test('the bands stand under an action that asks for them, whatever its words, and under no other', () => {
  const second = (words: string, asksForBands: boolean) => {
    const guide = { words, way: '', hands: '' } as const
    return viewOf({ ...FIXTURES.action, guide, step: step({ asksForBands }) }, NOW_MS).call?.second
  }
  expect(second('Hold both keys', true)).toBe('asked for: the European forty')
  expect(second('Pull the rubber band off', false)).toBe('')
})

test('the key down is told, so that the keyboard stays with the foot switch', () => {
  expect(viewOf(frame({ key: keyed(2) }), NOW_MS).keyed).toBe(true)
  expect(viewOf(frame({ reading: reading() }), NOW_MS).keyed).toBe(false)
})

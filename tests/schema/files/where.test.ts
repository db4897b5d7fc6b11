import { describe, expect, test } from 'vitest'
import { readYamlText } from '../../../src/schema/door/yaml-door.ts'
import { ToolOfSheet, Where } from '../../../src/schema/files/where.ts'

const read = (text: string) => readYamlText(text, 'where', Where)

describe('a place by its kind', () => {
  test.each([
    ['prod: plug', { prod: { is: 'plug', name: '', words: '' } }],
    ['prod: T1', { prod: { is: 'board', name: 'T1', words: '' } }],
    ['prod: { on: board, name: T1 }', { prod: { is: 'board', name: 'T1', words: '' } }],
    ['prod: { on: board, words: the upper lug }', { prod: { is: 'board', name: '', words: 'the upper lug' } }],
    ['common: { on: strip, name: ES }', { common: { is: 'strip', name: 'ES', words: '' } }],
    ['common: { on: strip }', { common: { is: 'strip', name: '', words: '' } }],
    ['side: solder', { side: { is: 'solder', name: '', words: '' } }],
    ['side: component', { side: { is: 'component', name: '', words: '' } }],
    ['microphone: { holds: empty }', { microphone: { is: 'empty', name: '', words: '' } }],
    ['microphone: own', { microphone: { is: 'own', name: '', words: '' } }],
    ['tool: { kind: blade, words: small }', { tool: { is: 'blade', name: '', words: 'small' } }],
    ['tool: non-metal', { tool: { is: 'non-metal', name: '', words: '' } }],
  ])('%s', (text, where) => {
    expect(read(text)).toEqual(where)
  })
})

describe('a phrase of older sheets, whole, and kept as it was written', () => {
  test.each([
    ['side: solder side', 'side', 'solder'],
    ['side: component side', 'side', 'component'],
    ['microphone: oscillator lead off', 'microphone', 'empty'],
    ['microphone: "oscillator in, microphone unplugged"', 'microphone', 'oscillator'],
    ['microphone: "the set\'s own"', 'microphone', 'own'],
    ['microphone: oscillator shorted', 'microphone', 'shorted'],
    ['prod: supply terminals', 'prod', 'plug'],
    ['tool: small blade', 'tool', 'blade'],
  ] as const)('%s', (text, what, is) => {
    expect(read(text)[what]).toEqual({ is, name: '', words: text.replace(/^\w+: "?|"$/g, '') })
  })

  test.each(['earth strip ES', 'ES'])('common: %s', (text) => {
    expect(read(`common: ${text}`).common).toEqual({ is: 'strip', name: 'ES', words: '' })
  })
})

describe('words of its own are other: nothing is made of a part of them', () => {
  test.each([
    ['microphone', 'Unplug the oscillator'],
    ['microphone', 'oscillator not in'],
    ['microphone', "not the set's own"],
    ['microphone', 'shorted with 600 ohm'],
    ['side', 'unsoldered side'],
    ['side', 'component side, then solder side'],
    ['prod', 'T1 of the plug'],
    ['prod', 'toString'],
    ['common', 'no strip here: the supply minus'],
    ['common', 'GND'],
    ['tool', 'no blade'],
    ['set', 'upright'],
  ] as const)('%s: %s', (what, text) => {
    expect(read(`${what}: "${text}"`)[what]).toEqual({ is: 'other', name: '', words: text })
  })
})

describe('any other kind is refused with the nearest right one', () => {
  test.each([
    [
      'microphone: { holds: emtpy }',
      'microphone > holds: read "emtpy"; expected one of: oscillator, own, shorted, empty; did you mean "empty"?',
    ],
    ['common: { on: stripe, name: ES }', 'common > on: read "stripe"; expected strip; did you mean "strip"?'],
    ['prod: { on: bord, name: T1 }', 'prod > on: read "bord"; expected one of: board, plug; did you mean "board"?'],
    [
      'tool: { kind: blad }',
      'tool > kind: read "blad"; expected one of: blade, non-metal blade, ceramic blade, hexagon, non-metal, ceramic; did you mean "blade"?',
    ],
    ['microphone: { words: nothing }', 'microphone > holds: is missing'],
    ['microphone: { hold: own }', 'microphone > hold: unknown key; did you mean "holds"?'],
    ['prod: { on: board }', 'prod > on: says on the board and not where: add name or words'],
    ['side: { is: solder }', 'side: read a block of keys; expected text'],
  ])('%s', (text, words) => {
    expect(() => read(text)).toThrow(words)
  })

  test('so is the tool of an adjuster', () => {
    expect(ToolOfSheet.safeParse({ kind: 'spanner' }).success).toBe(false)
  })
})

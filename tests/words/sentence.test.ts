import fc from 'fast-check'
import { expect, test } from 'vitest'
import { WordsShape } from '../../src/schema/kept/words.ts'
import { ENGLISH } from '../../src/words/english/english.ts'
import { holds, type Said, sameWords } from '../../src/words/said/said.ts'
import { pseudo, pseudoOf } from '../../src/words/sentence/pseudo.ts'
import { sentence, worded, wordedInTurn } from '../../src/words/sentence/sentence.ts'

const DICTIONARY = {
  'a.plain': 'Wait',
  'a.volts': 'Supply to {volts}',
  'a.lost': '{^cause}. Check {what}',
  'a.cause': 'the {what} does not answer',
}
const say = (said: string, places?: Said['with']): Said => (places ? { said, with: places } : { said })

test('places are filled with texts, numbers, lists and other sentences, which can begin with a capital', () => {
  expect(sentence(say('a.volts', { volts: '15.6 V' }), DICTIONARY)).toBe('Supply to 15.6 V')
  expect(sentence(say('a.volts', { volts: 15 }), DICTIONARY)).toBe('Supply to 15')
  const cause = say('a.cause', { what: 'counter' })
  expect(sentence(say('a.lost', { cause, what: ['cable', 'fuse'] }), DICTIONARY)).toBe(
    'The counter does not answer. Check cable, fuse',
  )
})

test('what stands in a place is never taken for a template', () => {
  expect(sentence(say('a.volts', { volts: '{what}' }), DICTIONARY)).toBe('Supply to {what}')
})

test('a text of a person or of an older record stays as it is', () => {
  expect(sentence('Supply to {volts}', DICTIONARY)).toBe('Supply to {volts}')
})

test('a code of a newer program is shown with everything that it holds, names of Object.prototype too', () => {
  expect(sentence(say('z.new', { volts: '3 V', cause: say('a.plain') }), DICTIONARY)).toBe(
    '[z.new] volts 3 V cause Wait',
  )
  expect(sentence(say('constructor'), DICTIONARY)).toBe('[constructor]')
})

test('a shape is put into words however deep; what holds no sentence is the same object as before', () => {
  const still = { one: 1, list: ['a', { deep: null }] }
  const frame = {
    seq: 3,
    guide: { words: say('a.plain'), way: 'up' },
    events: [{ words: say('a.volts', { volts: 1 }) }],
    still,
  }
  const shown = worded(frame, DICTIONARY)
  expect(shown).toEqual({
    seq: 3,
    guide: { words: 'Wait', way: 'up' },
    events: [{ words: 'Supply to 1' }],
    still: { one: 1, list: ['a', { deep: null }] },
  })
  expect(shown.still).toBe(still)
  expect(worded(still, DICTIONARY)).toBe(still)
})

test('shapes in turn: a part that they share is looked through once, and reads the same', () => {
  const shared = [{ words: say('a.volts', { volts: 1 }) }]
  let looks = 0
  const counted = new Proxy(shared, {
    get: (of, key) => {
      if (key === 'map') looks += 1
      return Reflect.get(of, key)
    },
  })
  const inTurn = wordedInTurn(DICTIONARY)
  const first = inTurn({ seq: 1, captured: counted })
  const second = inTurn({ seq: 2, captured: counted })
  expect(second).toEqual({ seq: 2, captured: [{ words: 'Supply to 1' }] })
  expect(second.captured).toBe(first.captured)
  expect(looks).toBe(1)
  expect(inTurn({ seq: 3, captured: [{ words: say('a.volts', { volts: 2 }) }] }).captured).toEqual([
    { words: 'Supply to 2' },
  ])
})

test('sentences are the same when they hold the same', () => {
  expect(sameWords(say('a.volts', { volts: 1 }), say('a.volts', { volts: 1 }))).toBe(true)
  expect(sameWords(say('a.volts', { volts: 1 }), say('a.volts', { volts: 2 }))).toBe(false)
  expect(sameWords('', say('a.plain'))).toBe(false)
})

test('words hold a sentence wherever it stands in them', () => {
  const wait = say('guide.wait')
  const deep = say('a.lost', { cause: 'gone', what: ['cable', say('a.cause', { what: wait })] })
  expect([wait, say('a.cause', { what: wait }), deep].map((words) => holds(words, 'guide.wait'))).toEqual([
    true,
    true,
    true,
  ])
  expect(
    ['guide.wait', '', say('a.lost', { cause: 'guide.wait', what: [3] })].some((words) => holds(words, 'guide.wait')),
  ).toBe(false)
})

test('words go through JSON and the door of the journal unchanged', () => {
  const cause = say('a.cause', { what: ['cable', 3, say('a.plain')] })
  for (const words of ['', 'as it was typed', cause, say('a.lost', { cause, what: 'fuse' })])
    expect(WordsShape.parse(JSON.parse(JSON.stringify(words)))).toEqual(words)
  expect(WordsShape.safeParse({ said: 'a.plain', more: 1 }).success).toBe(false)
  expect(WordsShape.safeParse({ said: '' }).success).toBe(false)
})

test('the pseudo-language accents every letter, is about a third longer and leaves the places alone', () => {
  expect(pseudo('Supply to {volts}')).toMatch(/^[^A-Za-z]+ [^A-Za-z]+ \{volts\}$/)
  fc.assert(
    fc.property(fc.stringMatching(/^[a-z ]{12,60}$/), (text) => {
      const letters = text.replaceAll(' ', '').length
      const more = [...pseudo(text)].length - text.length
      expect(pseudo(text)).not.toMatch(/[a-z]/)
      expect(more).toBe(Math.floor(letters / 3))
    }),
  )
  expect(Object.keys(pseudoOf(ENGLISH))).toEqual(Object.keys(ENGLISH))
})

test.each(Object.entries(ENGLISH))('%s is a sentence with whole places', (code, template) => {
  expect(code).toMatch(/^[a-z-]+\.[a-z0-9-]+$/)
  expect(template.trim()).toBe(template)
  expect(template).not.toBe('')
  expect(template.replace(/\{\^?[a-zA-Z]+\}/g, '')).not.toMatch(/[{}]/)
})

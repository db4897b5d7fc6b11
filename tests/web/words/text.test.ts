import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, expect, test, vi } from 'vitest'
import { pseudo, pseudoOf } from '../../../src/words/sentence/pseudo.ts'
import { ENGLISH } from '../../../web/words/english/english.ts'
import { joined, text } from '../../../web/words/text.ts'

const ROOT = join(import.meta.dirname, '..', '..', '..')
const WEB = join(ROOT, 'web')

afterEach(() => {
  vi.resetModules()
})

test('words of the page are those of its dictionary, their places filled', () => {
  expect(text('pedal.title')).toBe('Foot switch')
  expect(text('strip.step-of', { number: 3, of: 14 })).toBe('3 of 14')
  expect(text('quantity.alone', { quantity: 'frequency' })).toBe('Frequency')
})

test('parts that say nothing are left out where words are joined', () => {
  expect(joined('joined.comma', ['', '3.85 W', '', 'typed'])).toBe('3.85 W, typed')
  expect(joined('joined.stop', ['Do not turn', ''])).toBe('Do not turn')
  expect(joined('joined.comma', [])).toBe('')
})

test('a language chosen before the words are loaded is that of all of them, standing words too', async () => {
  vi.resetModules()
  const fresh = await import('../../../web/words/text.ts')
  fresh.speakOnPage(pseudoOf)
  const { PEDAL, keyWords } = await import('../../../web/words/words-of-hands.ts')
  expect(PEDAL.open).toBe(pseudo('Foot switch'))
  expect(keyWords('F13')).toBe(`${pseudo('Key: ')}F13`)
  expect(PEDAL.open).not.toMatch(/[a-z]/)
})

const sources = readdirSync(WEB, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.ts') && !name.startsWith('dist/') && !name.startsWith('words/english/'))
  .map((name) => readFileSync(join(WEB, name), 'utf8'))
  .join('\n')

/** Codes that are put together from a word of the code's own. */
const TOGETHER = /^not-free\./

test('no sentence stands in the dictionary that nobody says', () => {
  const unsaid = Object.keys(ENGLISH).filter((code) => !TOGETHER.test(code) && !sources.includes(`'${code}'`))
  expect(unsaid).toEqual([])
})

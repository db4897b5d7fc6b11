import { expect, test } from 'vitest'
import { printText } from '../../src/quantity/print-value.ts'
import { visibleText } from '../../src/quantity/visible-text.ts'

test('what would clear a screen or turn a line round stands as an escape', () => {
  expect(visibleText('a\u001b[2Jb\u202ec\u2066d\u200be\u2028f\u009bg\u007f')).toBe(
    'a\\u001b[2Jb\\u202ec\\u2066d\\u200be\\u2028f\\u009bg\\u007f',
  )
})

test('text of every day is left as it is: units, accents, other scripts, tabs and line ends', () => {
  const text = '3.85 W ± 0.05 W, 12 µV, 50 Ω\tGerät №7\n日本語 עברית'
  expect(visibleText(text)).toBe(text)
})

test('inside JSON the escapes are read back as what was there', () => {
  const value = { reply: '\u202eabc\u009b' }
  expect(JSON.parse(visibleText(JSON.stringify(value)))).toEqual(value)
})

test.each([1.797e308, -1.797e308, Number.MAX_VALUE, 5e-324])('%d can be printed', (value) => {
  expect(printText(value, 'W')).toMatch(/^-?\d+(\.\d+)? \S+$/)
})

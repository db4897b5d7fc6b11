import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from 'vitest'

const WEB = join(import.meta.dirname, '..', '..', 'web')
const files = readdirSync(WEB, { recursive: true, encoding: 'utf8' }).filter(
  (name) => name.endsWith('.ts') && !name.startsWith('dist') && !name.startsWith('words/english'),
)

/** Texts in quotes that a person could read: they begin as a sentence or a title does. Class names and keys begin small. */
function sentencesIn(code: string): readonly string[] {
  const bare = code.replace(/\/\*[\s\S]*?\*\//g, '').replace(/(^|\s)\/\/.*$/gm, '')
  return [...bare.matchAll(/(['`])([A-Z][a-z]+(?: [^'`\n]*)?)\1/g)].map(([, , text]) => text ?? '')
}

/** Names of keys (W3C, UI Events KeyboardEvent key Values). */
const FIXED =
  /^(Page(Up|Down)|Arrow\w*|Unidentified|Process|Dead|Home|End|Enter|Escape|Tab|Space|Backspace|Delete|Shift|Control|Alt|Meta|F\d+)$/

test('a text in quotes is found, a class name and a comment are not', () => {
  expect(sentencesIn("make('p', 'row apart', 'Start a job') // 'Not this'\n/* 'Nor this' */")).toEqual(['Start a job'])
})

test.each(files)('web/%s has no words of its own: they stand in web/words/english', (name) => {
  const found = sentencesIn(readFileSync(join(WEB, name), 'utf8'))
  expect(found.filter((text) => !FIXED.test(text))).toEqual([])
})

test('the rooms of the page are read too', () => {
  expect(files.length).toBeGreaterThan(50)
})

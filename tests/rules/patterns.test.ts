import { readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { sourceFiles } from '../kit/program/source-files.ts'

/** A pattern as it stands in a source file. */
interface Found {
  readonly place: string
  readonly pattern: RegExp
}

/** Where a slash begins a pattern: after one of these, not after a value. */
const LITERAL =
  /(?:^|[=(,:;!&|?[{}]|=>|return)\s*\/(?![*/ ])((?:\\.|\[(?:\\.|[^\]\\\n])*\]|[^/\\[\n])+)\/([dgimsuvy]*)/gm
const MADE = /new RegExp\(/

function patternsIn(file: string): readonly Found[] {
  const text = readFileSync(file, 'utf8')
  return [...text.matchAll(LITERAL)].map((match) => ({
    place: `${file}:${text.slice(0, match.index).split('\n').length} /${match[1]}/`,
    pattern: new RegExp(match[1] ?? '', (match[2] ?? '').replace(/[gy]/g, '')),
  }))
}

const MANY = 10_000
/** A match of one of these may be repeated by some part of a pattern; what follows them in `ENDS` makes it fail at the last. */
const REPEATED = [
  ' ',
  '\t',
  '0',
  '1.',
  'a',
  'A',
  '-',
  '+',
  '.',
  ',',
  '"',
  '\\',
  '{',
  '[',
  '<',
  '/',
  '_',
  'é',
  '\n',
  ' \t',
  '1 ',
  'a ',
  ' .. ',
  ' then ',
  ' at ',
  '1,',
  'a:',
]
const ENDS = ['', '!', '\n']

/** The letters with which a pattern begins, so that its repeated part is reached. */
function beginOf(source: string): string {
  return /^\^?((?:[A-Za-z0-9 _]|\\d)+)/.exec(source)?.[1]?.replaceAll('\\d', '1').slice(0, -1) ?? ''
}

const files = sourceFiles(['src', 'mocks', 'web'])
const found = files.flatMap(patternsIn)

describe('no pattern of the program can be made to hang', () => {
  test('patterns are found, and none is put together at run time', () => {
    expect(found.length).toBeGreaterThan(100)
    expect(files.filter((file) => MADE.test(readFileSync(file, 'utf8')))).toEqual([])
  })

  test.each(found)('$place', ({ pattern }) => {
    const begins = [...new Set(['', beginOf(pattern.source), 'tone ', '1 ', '1', 'channel '])]
    let worstMs = 0
    let worst = ''
    for (const begin of begins)
      for (const part of REPEATED)
        for (const end of ENDS) {
          const text = begin + part.repeat(MANY / part.length) + end
          const before = process.cpuUsage()
          pattern.test(text)
          const ms = process.cpuUsage(before).user / 1000 // a busy machine changes nothing
          if (ms > worstMs) [worstMs, worst] = [ms, JSON.stringify([begin, part, end])]
        }
    expect(worstMs, worst).toBeLessThan(MOST_MS)
  })
})

/** A pattern that takes the square of the length takes some 100 ms for this much; a hanging one, minutes. */
const MOST_MS = 500

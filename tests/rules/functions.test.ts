import { describe, expect, test } from 'vitest'
import { functionsIn, functionsOf } from '../kit/program/functions.ts'
import { sourceFiles } from '../kit/program/source-files.ts'

/** Lines from the head of a function to its closing brace. */
const MOST_LINES = 80

const NOT_SPLIT = 'not split yet'

/** Functions that are longer, by file and name, and why. One that is short enough by now has to go from here. */
const LONG: Readonly<Record<string, string>> = {
  'web/page/page.ts startPage': NOT_SPLIT,
  'src/course/rerun-side.ts rerunSide': NOT_SPLIT,
  'src/keeper/standby/standby-guard.ts guardStandby': NOT_SPLIT,
  'src/course/course.ts openCourse': NOT_SPLIT,
  'src/keeper/holder/supply-seat.ts openSeat': NOT_SPLIT,
  'src/commands/job/fast-bench.ts openFastBench': NOT_SPLIT,
  'web/view/history.ts openHistory': NOT_SPLIT,
  'src/course/live-side.ts liveSide': NOT_SPLIT,
  'src/commands/open-service.ts openService': NOT_SPLIT,
  'src/keeper/line/standby-line.ts listenForStandby': NOT_SPLIT,
  'web/screens/panels.ts openPanels': NOT_SPLIT,
  'web/draw/draw-number.ts numberPicture': NOT_SPLIT,
}

const long = sourceFiles(['src', 'web', 'mocks']).flatMap((file) =>
  functionsOf(file)
    .filter(({ lines }) => lines > MOST_LINES)
    .map(({ name, line, lines }) => ({ key: `${file} ${name}`, words: `${file}:${line} ${name}: ${lines} lines` })),
)

test('every function is short enough to hold one idea (80 lines), or the reason stands in the list', () => {
  expect(long.filter(({ key }) => !(key in LONG)).map(({ words }) => words)).toEqual([])
})

test.each(Object.keys(LONG))('%s is longer than that: it needs its place in the list', (key) => {
  expect(long.map((one) => one.key)).toContain(key)
})

describe('the test itself', () => {
  const body = (lines: number) => Array.from({ length: lines }, (_, at) => `  at(${at})`).join('\n')

  test.each([
    { what: 'a function', head: 'export function one(\n  a: number,\n) {', end: '}', name: 'one', line: 2, lines: 9 },
    { what: 'an async one', head: 'async function one() {', end: '}', name: 'one', line: 2, lines: 7 },
    { what: 'a constant', head: 'const one =\n  (a: number): void => {', end: '}', name: 'one', line: 2, lines: 8 },
    { what: 'a method', head: 'class A {\n  one() {', end: '}\n}', name: 'one', line: 3, lines: 7 },
    { what: 'a private one', head: 'class A {\n  async #one() {', end: '}\n}', name: 'one', line: 3, lines: 7 },
    { what: 'a property', head: 'const a = {\n  one: () => {', end: '}\n}', name: 'one', line: 3, lines: 7 },
    { what: 'one without a name', head: 'at(\n  () => {', end: '})', name: '(nameless)', line: 3, lines: 7 },
  ])('counts $what from its head to its brace', ({ head, end, name, line, lines }) => {
    expect(functionsIn('x.ts', `// a comment\n${head}\n${body(5)}\n${end}\n`)).toEqual([{ name, line, lines }])
  })

  test('counts one inside another too, each by itself', () => {
    const text = `function outer() {\n  const inner = () => {\n${body(3)}\n  }\n}\n`
    expect(functionsIn('x.ts', text)).toEqual([
      { name: 'outer', line: 1, lines: 7 },
      { name: 'inner', line: 2, lines: 5 },
    ])
  })

  test('a text that does not parse is told, not passed over', () => {
    expect(() => functionsIn('x.ts', 'function (')).toThrow(TypeError)
  })
})

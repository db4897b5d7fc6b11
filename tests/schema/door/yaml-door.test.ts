import { mkdtempSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { z } from 'zod'
import { BenchError } from '../../../src/fault/bench-error.ts'
import { quantityText, words } from '../../../src/schema/door/fields.ts'
import { LONGEST_FILE_BYTES, readYamlFile, readYamlText, refusalsOf } from '../../../src/schema/door/yaml-door.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'

const Shelf = z.strictObject({
  title: words(),
  'path loss': quantityText('dB').optional(),
  count: z.int().min(1).max(40).optional(),
  kind: z.enum(['bench', 'rack']).optional(),
  rows: z
    .array(z.strictObject({ id: z.string(), use: z.union([z.string(), z.array(z.string())]).optional() }))
    .optional(),
  boxes: z.record(z.string(), z.strictObject({ at: z.string() })).optional(),
})

function refusedBy(read: () => unknown): BenchError {
  try {
    read()
  } catch (error) {
    if (error instanceof BenchError) return error
    throw error
  }
  throw new TypeError('it was not refused')
}

const refusals = (text: string) => refusalsOf(refusedBy(() => readYamlText(text, 'shelf.yaml', Shelf)))

describe('a wrong field is refused with line, column, path, what was read and what would be right', () => {
  test.each([
    ['title: A\npath los: 30 dB', ['shelf.yaml:2:1: path los: unknown key; did you mean "path loss"?']],
    ['title: A\nPath_Loss: 30 dB', ['shelf.yaml:2:1: Path_Loss: unknown key; did you mean "path loss"?']],
    [
      'title: A\nzebra: 1',
      ['shelf.yaml:2:1: zebra: unknown key; right here are: title, path loss, count, kind, rows, boxes'],
    ],
    [
      'title: A\nboxes: { volts: { at: left, by the door } }',
      [
        'shelf.yaml:2:29: boxes > volts > by the door: unknown key without a value; text with a comma in it needs quotation marks between { and }',
      ],
    ],
    ['titel: A', ['shelf.yaml:1:1: titel: unknown key; did you mean "title"?']],
    ['count: 3', ['shelf.yaml:1:1: title: is missing; expected text']],
    ['title: A\ncount: many', ['shelf.yaml:2:8: count: read "many"; expected a number']],
    ['title: A\ncount: 41', ['shelf.yaml:2:8: count: read "41"; expected at most 40']],
    ['title: A\ncount: 0', ['shelf.yaml:2:8: count: read "0"; expected at least 1']],
    ['title: A\nkind: rak', ['shelf.yaml:2:7: kind: read "rak"; expected one of: bench, rack; did you mean "rack"?']],
    ['title: [A]', ['shelf.yaml:1:8: title: read a list; expected text']],
    ['title:', ['shelf.yaml:1:7: title: read nothing; expected text']],
    ['title: ""', ['shelf.yaml:1:8: title: is empty; expected text']],
    [
      'title: A\nrows:\n  - { id: a, ise: b }',
      ['shelf.yaml:3:14: rows > 1 (a) > ise: unknown key; did you mean "use"?'],
    ],
    ['title: A\nrows:\n  - id: a\n  - use: b', ['shelf.yaml:4:5: rows > 2 > id: is missing; expected text']],
    [
      'title: A\nrows:\n  - { id: a, use: 3 }',
      ['shelf.yaml:3:19: rows > 1 (a) > use: read "3"; expected text or a list'],
    ],
    [
      'title: A\nrows:\n  - { id: a, use: [b, 3] }',
      ['shelf.yaml:3:23: rows > 1 (a) > use > 2: read "3"; expected text'],
    ],
    [
      'title: A\nboxes: { volts: { att: x } }',
      ['shelf.yaml:2:19: boxes > volts > att: unknown key; did you mean "at"?'],
    ],
    ['- 1', ['shelf.yaml:1:1: the file: read a list; expected a block of keys']],
    [
      'titel: A\ncount: 3.5\nkind: shelf\n',
      [
        'shelf.yaml:1:1: titel: unknown key; did you mean "title"?',
        'shelf.yaml:2:8: count: read "3.5"; expected a whole number',
        'shelf.yaml:3:7: kind: read "shelf"; expected one of: bench, rack',
      ],
    ],
  ])('%j', (text, expected) => {
    expect(refusals(text)).toEqual(expected)
  })
})

describe('a mistake of writing is refused before any field is judged', () => {
  test.each([
    ['', 'shelf.yaml:1:1: the file is empty'],
    ['# nothing but this', 'shelf.yaml:1:1: the file is empty'],
    ['title: A\n\tcount: 3', 'shelf.yaml:2:1: a tab stands here; indent with blanks'],
    ['rows:\n  \t- id: a', 'shelf.yaml:2:3: a tab stands here; indent with blanks'],
    ['title: A\ncount: 1\ntitle: B', 'shelf.yaml:3:1: "title" stands twice in this block, first in line 1'],
    ['title: *IDN?', 'shelf.yaml:1:8: text that begins with a star needs quotation marks: "*IDN?"'],
    [
      'title: &a A',
      'shelf.yaml:1:11: text that begins with "&" needs quotation marks; anchors are not used in these files',
    ],
    [
      'title: !!js A',
      'shelf.yaml:1:8: a word with "!" or a line with "%" in front means something else in YAML; put the text in quotation marks',
    ],
    ['title: A\n---\ntitle: B', 'shelf.yaml:2:1: a second document begins here ("---"); one file holds one'],
    ['title: @home', 'shelf.yaml:1:8: text that begins with this sign needs quotation marks'],
    [
      'title: a: b',
      'shelf.yaml:1:8: a second colon on this line, or an indent that does not fit; put text with ": " in quotation marks',
    ],
    [
      'title: { x: SOUR:VOLT {value} }',
      'shelf.yaml:1:23: a sign that has a meaning in YAML stands here; put the text in quotation marks',
    ],
    ['rows: [a, b\ntitle: A', 'shelf.yaml:2:1: the indent does not fit the lines above, or a bracket is not closed'],
    ['title: "A', 'shelf.yaml:1:10: a colon, comma, bracket or quotation mark is missing here'],
    ['__proto__: { title: A }', 'shelf.yaml:1:1: this key is not allowed'],
  ])('%j', (text, expected) => {
    expect(refusals(text)[0]).toBe(expected)
  })

  test.each([
    ['250 000 brackets', `title: ${'['.repeat(250_000)}`, 'shelf.yaml:1:40: '],
    ['100 000 list marks', '- '.repeat(100_000), 'shelf.yaml:1:100: '],
    [
      '300 blocks inside each other',
      Array.from({ length: 300 }, (_, depth) => `${' '.repeat(depth)}a:`).join('\n'),
      'shelf.yaml:102:100: ',
    ],
  ])('%s are refused before the reader runs out of stack', (_name, text, place) => {
    expect(refusals(text)).toEqual([`${place}blocks or brackets are nested too deeply`])
  })

  test('a billion laughs are refused by their anchors, not expanded', () => {
    const text = 'a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nd: [*c,*c]\n'
    expect(refusals(text)).toHaveLength(4)
  })
})

test('the whole message of a refusal names the file, each place, the cure and the code', () => {
  const fault = refusedBy(() => readYamlText('titel: A\npath loss: 30 V', 'benches/shelf.yaml', Shelf))
  expect(fault.message).toBe(
    [
      'benches/shelf.yaml: 2 mistakes',
      '  benches/shelf.yaml:1:1: titel: unknown key; did you mean "title"?',
      '  benches/shelf.yaml:2:12: path loss: "30 V" is in V, but dB is wanted: write dB. Correct what is named above and try again [SCHEMA_REJECTED]',
    ].join('\n'),
  )
})

test('a file of a newer format is refused in words, and its fields are not judged', () => {
  const fault = refusedBy(() => readYamlText('format: 2\nnobody: knows', 'shelf.yaml', Shelf))
  expect(fault.message).toBe(
    'shelf.yaml: it is of format 2; format 1 is read here. Use a newer Trimwright, or the older file [SCHEMA_FORMAT_NEWER]',
  )
})

test('text keeps its digits: 1.60 and 007 stay as written, 1.6 is a number', () => {
  const Loose = z.record(z.string(), z.unknown())
  const read = readYamlText(
    'a: 1.60\nb: 007\nc: 1.6\nd: 1e3\ne: yes\nf: -5\ng: 12345678901234567890',
    'loose.yaml',
    Loose,
  )
  expect(read).toEqual({ a: '1.60', b: '007', c: 1.6, d: '1e3', e: 'yes', f: -5, g: '12345678901234567890' })
})

test('what only the whole file can show is placed like any other mistake', () => {
  const further = (shelf: z.infer<typeof Shelf>) =>
    shelf.rows?.map((row, index) => ({
      path: ['rows', index, 'id'],
      at: 'value' as const,
      words: `"${row.id}" is taken`,
    })) ?? []
  const fault = refusedBy(() => readYamlText('title: A\nrows:\n  - id: a\n  - id: b', 'shelf.yaml', Shelf, { further }))
  expect(refusalsOf(fault)).toEqual([
    'shelf.yaml:3:9: rows > 1 (a) > id: "a" is taken',
    'shelf.yaml:4:9: rows > 2 (b) > id: "b" is taken',
  ])
})

describe('a file', () => {
  const folder = mkdtempSync(join(tmpdir(), 'trimwright-door-'))
  const write = (name: string, bytes: Buffer | string) => {
    writeFileSync(join(folder, name), bytes)
    return join(folder, name)
  }

  test('of UTF-8 with a byte order mark is read', () => {
    expect(readYamlFile(write('bom.yaml', '\ufefftitle: Prüfplatz Ω'), Shelf).title).toBe('Prüfplatz Ω')
  })

  test('that is not there is refused with SCHEMA_FILE_MISSING', () => {
    const fault = refusedBy(() => readYamlFile(join(folder, 'none.yaml'), Shelf))
    expect(fault.code).toBe('SCHEMA_FILE_MISSING')
    expect(fault.message).toContain('none.yaml: cannot be read (ENOENT')
  })

  test('that is not UTF-8 is refused with the line', () => {
    const path = write('latin1.yaml', Buffer.from('title: A\nkind: bench\n# Pr\xfcfplatz\n', 'latin1'))
    expect(sentence(refusedBy(() => readYamlFile(path, Shelf)).happened)).toBe(
      'line 3 is not UTF-8; save the file as UTF-8',
    )
  })

  test('one byte longer than 256 KiB is refused, one of 256 KiB is read', () => {
    const text = (bytes: number) => `title: A\n#${'x'.repeat(bytes - 10)}`
    const path = write('long.yaml', text(LONGEST_FILE_BYTES + 1))
    expect(sentence(refusedBy(() => readYamlFile(path, Shelf)).happened)).toBe(
      'the file has 262145 bytes; at most 262144 are read',
    )
    expect(readYamlFile(write('full.yaml', text(LONGEST_FILE_BYTES)), Shelf).title).toBe('A')
  })
})

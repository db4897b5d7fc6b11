import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test } from 'vitest'
import type { WrongFile } from '../../src/alignment/offered.ts'
import { checkFiles } from '../../src/commands/check.ts'
import { loadPlans, loadProcedures, loadRuleCards } from '../../src/commands/load-procedures.ts'
import { HOME } from '../../src/recording/home.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'

const folder = mkdtempSync(join(tmpdir(), 'procedures-'))
afterAll(() => rmSync(folder, { recursive: true }))

const HEAD = readFileSync(join(import.meta.dirname, '..', 'kit', 'two-steps.yaml'), 'utf8').split('steps:')[0] ?? ''
const MARINE = HEAD.replace('plan: cept-40', 'plan: marine-vhf')

function refusals(steps: string, head = HEAD): readonly string[] {
  const file = join(folder, 'p.yaml')
  writeFileSync(file, `${head}steps:\n${steps}`)
  const places = { drivers: join(HOME, 'drivers'), procedures: folder, today: '2026-11-02' }
  return (checkFiles([file], places)[0]?.refusals ?? []).map((words) => sentence(words))
}
const keyed = (channel: string, more = '') =>
  `  - { id: a, title: A, ${channel}, transmit: "unmodulated, 5 s then 5 s rest", measure: RF power, target: 3 .. 4 W${more} }\n`

describe('refused with line and cure', () => {
  test.each([
    [
      'channel: 41',
      /p\.yaml:\d+:\d+: steps > 1 \(a\) > channel: channel 41 is in none of the bands in use; there are 1 to 40/,
    ],
    ['channels: [1, 99]', /steps > 1 \(a\) > channels > 2: channel 99 is in none/],
  ])('a channel that no band has: %s', (channel, words) => {
    expect(refusals(keyed(channel))).toEqual([expect.stringMatching(words)])
  })

  test.each([
    ['channel: 28', /channel 28 is in none/],
    ['channel: 16', /channel 16 is reserved in \w+ and is never keyed; choose another, for example 15/],
    ['channels: [8, 70]', /channels > 2: channel 70 is reserved/],
  ])('marine: %s', (channel, words) => {
    expect(refusals(keyed(channel), MARINE)).toEqual([expect.stringMatching(words)])
  })

  test('a channel that is reserved only where its first band is not chosen', () => {
    const two = HEAD.replace(
      /bands: .*/,
      'bands: { cept: { plan: cept-40, use: ask }, sea: { plan: marine-vhf, use: yes } }',
    )
    expect(refusals(keyed('channel: 16'), two)).toEqual([
      expect.stringMatching(/channel: channel 16 is reserved in sea/),
    ])
    expect(refusals(keyed('channel: 16', ', band: cept'), two)).toEqual([])
  })

  test('a channel plan that is not there: its place, and those that are', () => {
    const none = HEAD.replace('plan: cept-40', 'plan: cept-41')
    expect(refusals(keyed('channel: 20'), none)).toEqual([
      expect.stringMatching(
        /p\.yaml:\d+:\d+: bands > cept > plan: there is no channel plan "cept-41"; the plans are .*cept-40/,
      ),
    ])
  })

  test('a reserved channel that is only listened to is right', () => {
    expect(refusals('  - { id: a, title: A, channel: 16, measure: DC voltage, target: 1 .. 2 V }\n', MARINE)).toEqual(
      [],
    )
  })

  test.each([
    [', aim: 5 W +- 0.1 W', true],
    [', aim: 3.95 W +- 0.1 W', true],
    [', aim: 3.5 W +- 0.1 W', false],
  ])('an aim that is not inside its target%s', (more, wrong) => {
    const said = refusals(keyed('channel: 20', more))
    expect(said).toEqual(wrong ? [expect.stringMatching(/> aim: lies outside the target "3 .. 4 W"/)] : [])
  })

  test('an aim in hertz that lies outside the channel that is worked on', () => {
    const step =
      '  - { id: a, title: A, channel: 20, transmit: "unmodulated, 5 s then 5 s rest", measure: frequency, target: channel +- 150 Hz, aim: 27.215 MHz +- 30 Hz }\n'
    // an aim that the target carries itself counts from the channel; one in numbers does not
    expect(refusals(step)).toEqual([expect.stringMatching(/aim/)])
  })
})

describe('a place in one word that is nearly a kind', () => {
  const placed = (where: string) =>
    refusals(`  - { id: a, title: A, channel: 20, where: { ${where} }, measure: DC voltage, target: 1 .. 2 V }\n`)

  test.each([
    [
      'side: soldr',
      'side: read "soldr"; expected one of: solder, component, or words of your own; did you mean "solder"?',
    ],
    ['microphone: oscilator', 'microphone: read "oscilator"; expected one of: .*; did you mean "oscillator"?'],
    ['prod: plugg', 'prod: read "plugg"; expected one of: board, plug, .*; did you mean "plug"?'],
  ])('is refused with it: %s', (where, words) => {
    expect(placed(where)).toEqual([
      expect.stringMatching(
        new RegExp(`p\\.yaml:\\d+:\\d+: steps > 1 \\(a\\) > where > ${words.replace(/[?]/g, '\\?')}$`),
      ),
    ])
  })

  test.each(['side: unsoldered', 'side: unsoldered side', 'microphone: Unplug the oscillator', 'side: solder side'])(
    'words of the sheet are right, and so are the phrases of older sheets: %s',
    (where) => {
      expect(placed(where)).toEqual([])
    },
  )

  test('is refused of a tool at its adjuster too', () => {
    expect(refusals(keyed('channel: 20'), HEAD.replace('tool: non-metal', 'tool: non-metl'))).toEqual([
      expect.stringMatching(/adjusters > VK > tool: read "non-metl"; .*did you mean "non-metal"\?$/),
    ])
  })
})

test('a wrong plan or card beside right ones, and a folder with the name of a file, are named, and the right ones are there', () => {
  const own = mkdtempSync(join(folder, 'plans-'))
  const places = join(HOME, 'procedures')
  writeFileSync(join(own, 'good.yaml'), readFileSync(join(places, 'plans', 'cept-40.yaml')))
  writeFileSync(join(own, 'bad.yaml'), 'plan: bad\n')
  mkdirSync(join(own, 'folder.yaml'))
  const wrong: WrongFile[] = []
  expect([...loadPlans(own, (one) => wrong.push(one)).keys()]).toEqual(['cept-40'])
  const named = [
    { file: 'bad.yaml', words: expect.arrayContaining([expect.stringMatching(/bad\.yaml:\d+:\d+: /)]) },
    { file: 'folder.yaml', words: [expect.stringContaining('folder.yaml')] },
  ]
  expect(wrong).toEqual(named)

  const [card = ''] = readdirSync(join(places, 'rules'))
  writeFileSync(join(own, 'good.yaml'), readFileSync(join(places, 'rules', card)))
  wrong.length = 0
  expect(loadRuleCards(own, (one) => wrong.push(one)).map(({ file }) => file)).toEqual(['good.yaml'])
  expect(wrong).toEqual(named)
})

test('a wrong file beside right ones is named, and the right ones are offered', () => {
  const own = mkdtempSync(join(folder, 'all-'))
  writeFileSync(join(own, 'good.yaml'), `${HEAD}steps:\n${keyed('channel: 20')}`)
  writeFileSync(join(own, 'bad.yaml'), `${HEAD}steps:\n${keyed('channel: 41')}`)
  const wrong: WrongFile[] = []
  const offered = loadProcedures(loadPlans(), own, (one) => wrong.push(one))
  expect(offered.map(({ file }) => file)).toEqual(['good.yaml'])
  expect(wrong).toEqual([{ file: 'bad.yaml', words: [expect.stringMatching(/bad\.yaml:\d+:\d+: .*channel 41/)] }])
})

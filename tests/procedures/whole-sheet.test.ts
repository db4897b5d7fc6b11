import { readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { loadPlans, loadProcedure, loadProcedures, loadRuleCards } from '../../src/commands/load-procedures.ts'
import { linesOf } from '../../src/core/plan/lines.ts'
import { readYamlText } from '../../src/schema/door/yaml-door.ts'
import { Procedure } from '../../src/schema/files/procedure-file.ts'
import { worded } from '../../src/words/sentence/sentence.ts'
import { WHOLE_SHEET } from '../kit/job/job-bench.ts'

const text = readFileSync(WHOLE_SHEET, 'utf8')
const { procedure } = loadProcedure(WHOLE_SHEET, loadPlans())

describe('Brackwater 27-M, the whole transmit side', () => {
  test('has every row from A0a to A21, and as left', () => {
    const rows = procedure.steps.map(({ row }) => row)
    expect(rows).toEqual([
      'A1',
      'A0a',
      'A0b',
      'first key',
      'A2',
      'A3',
      'A4',
      'A5',
      'A6',
      'A6',
      'A7',
      'A8',
      'A9 to A11',
      'A12',
      'A13',
      'A14',
      'A15',
      'A16',
      'A17',
      'A17b',
      'A18',
      'A19',
      'A20',
      'A21',
      'as left',
      'A0b',
    ])
  })

  /** 0.9 and 1.3 x nominal for a 12 V vehicle battery: extreme test voltages of European radio standards; factors from MEMORY, products COMPUTED. */
  test('goes down to 10.8 V = 0.9 x 12 V and up to 15.6 V = 1.3 x 12 V', () => {
    const volts = procedure.steps.flatMap((row) => (row.kind === 'measure' && row.supplyVolts ? [row.supplyVolts] : []))
    expect(Math.min(...volts)).toBeCloseTo(0.9 * 12, 12)
    expect(Math.max(...volts)).toBeCloseTo(1.3 * 12, 12)
  })

  test('is offered before the short one that is cut from it', () => {
    expect(loadProcedures(loadPlans()).map(({ file }) => file)).toEqual([
      'brackwater-27m-transmit.yaml',
      'brackwater-27m-transmit-short.yaml',
    ])
  })

  test("reads the set's keys and menu only after the supply went on, at 12.0 V and 0.8 A", () => {
    const [first, ...rest] = procedure.steps
    expect(first).toMatchObject({ kind: 'measure', supplyVolts: 12, limitAmps: 0.8 })
    expect(rest.slice(0, 2).map(({ kind }) => kind)).toEqual(['do', 'settings'])
  })

  test('says what it covers and what it does not', () => {
    expect(procedure).toMatchObject({ covers: 'transmit side', notCovered: ['receive side'] })
  })

  test('reads the same four things as found and as left, with nothing turned', () => {
    const lines = linesOf(procedure, null, 'own')
    const of = (pass: string) => lines.filter((line) => line.pass === pass && line.step.quantity !== null)
    expect(of('found').map(({ step }) => step.id)).toEqual(of('left').map(({ step }) => step.id))
    expect(of('found')).toHaveLength(4)
    for (const { step } of [...of('found'), ...of('left')])
      expect(step).toMatchObject({ adjust: [], technique: 'check' })
  })

  test.each(loadRuleCards().map(({ card }) => [card.title, card] as const))(
    'with the card "%s" AM is in only if it says so',
    (_, card) => {
      const am = linesOf(procedure, card, 'own').filter(({ step }) => step.mode === 'AM')
      expect(am).toHaveLength(2)
      for (const { leftOut } of am) expect(worded(leftOut)).toBe(card.modes.includes('AM') ? null : 'not allowed here')
    },
  )
})

const mistakes: readonly { what: string; from: string; to: string; says: RegExp }[] = [
  {
    what: 'a row of another step that is not there',
    from: 'read: [control-voltage, frequency',
    to: 'read: [control-volts, frequency',
    says: /steps > 6 .*read: "control-volts" is not the id of a step that is measured/,
  },
  {
    what: 'a peak read as found',
    from: 'read: [control-voltage, frequency',
    to: 'read: [drive, frequency',
    says: /"drive" is a peak: it cannot be read without turning/,
  },
  {
    what: 'a repeat over two things',
    from: '    tones: [300 Hz',
    to: '    levels: [3 mV, 30 mV]\n    tones: [300 Hz',
    says: /a step repeats over one thing; "tones" is there already/,
  },
  {
    what: 'tones without a tone',
    from: 'transmit: tone 1 kHz at 30 mV, 20 s then 60 s rest',
    to: 'transmit: unmodulated, 20 s then 60 s rest',
    says: /tones: needs a tone: write "transmit: tone 1 kHz at 30 mV"/,
  },
  {
    what: 'the highest without a time',
    from: '    for: 5 s\n',
    to: '',
    says: /for: missing: say how long, for example 1\.5 s/,
  },
  {
    what: 'a current limit above the set',
    from: 'current limit: 0.8 A\n    channel',
    to: 'current limit: 3 A\n    channel',
    says: /3 A is above the set's own 2\.5 A/,
  },
  {
    what: 'an adjuster that disturbs nothing known',
    from: 'disturbs: [am-depth]',
    to: 'disturbs: [am-deep]',
    says: /adjusters > PC > disturbs: "am-deep" is not the id of a step/,
  },
  {
    what: 'a misspelt word in a row that is done by hand',
    from: 'do: Hold the two',
    to: 'doo: Hold the two',
    says: /doo: unknown key; did you mean "do"\?|doo: unknown key/,
  },
  {
    what: 'settings that nobody named',
    from: 'settings: as found',
    to: 'settings: as seen',
    says: /settings: read "as seen"; expected one of: as found, as left/,
  },
]

describe('a mistake in a row is refused with line and cure', () => {
  test.each(mistakes)('$what', ({ from, to, says }) => {
    expect(text).toContain(from)
    let message = ''
    try {
      readYamlText(text.replace(from, to), 'proc.yaml', Procedure)
    } catch (error) {
      message = String(error)
    }
    expect(message).toMatch(says)
    expect(message).toMatch(/proc\.yaml:\d+:\d+: /)
  })
})

import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { loadPlans, loadProcedure } from '../../src/commands/load-procedures.ts'
import { readYamlText } from '../../src/schema/door/yaml-door.ts'
import { Procedure } from '../../src/schema/files/procedure-file.ts'

const file = join(import.meta.dirname, '..', '..', 'procedures', 'brackwater-27m-transmit-short.yaml')
const text = readFileSync(file, 'utf8')
const { procedure } = loadProcedure(file, loadPlans())
const step = (id: string) => procedure.steps.filter((one) => one.kind === 'measure').find((one) => one.id === id)

describe('Brackwater 27-M, transmit side', () => {
  test('has the rows A2, A5, A8, A9 to A11, A12, A13 and A17 in that order', () => {
    expect(procedure.steps.map((one) => one.row)).toEqual(['A2', 'A5', 'A8', 'A9 to A11', 'A12', 'A13', 'A17'])
  })

  /** 1.3 x nominal for a 12 V vehicle battery: extreme test voltage of European radio standards; factor from MEMORY, product COMPUTED. */
  test('peaks and sets power at 15.6 V = 1.3 x 12 V', () => {
    expect(step('drive')?.supplyVolts).toBeCloseTo(1.3 * 12, 12)
    expect(step('power')?.supplyVolts).toBeCloseTo(1.3 * 12, 12)
  })

  test('keeps aim, tolerance and rule limit of the power apart, and aims below the rule limit', () => {
    const power = step('power')
    expect(power?.aim).toEqual({ centre: 3.85, plusMinus: 0.05 })
    expect(power?.target).toMatchObject({ low: 3.6, high: 4.0 })
    expect(power?.rule).toEqual({ low: null, high: 4 })
    expect(3.85 + 0.05 < 4).toBe(true)
  })

  test('turns DK and OK in rounds until a round gains less than 0.05 dB', () => {
    expect(step('drive')).toMatchObject({
      technique: 'peak',
      adjust: ['DK', 'OK'],
      rounds: { gainDb: 0.05, most: 4 },
      before: 'PW fully open',
    })
  })

  test('reads A2 in receive and then keyed', () => {
    expect(step('plug-volts')?.stops.map(({ state }) => state)).toEqual(['receive', 'transmit'])
  })

  test('keys A17 with 1 kHz at 30 mV, 15 s at a time', () => {
    expect(step('deviation')?.key).toEqual({ tone: { hz: 1000, volts: 0.03 }, budget: { atMostS: 15, restS: 45 } })
  })

  test('has three bands, one of them in use without asking', () => {
    expect(Object.values(procedure.bands).map((band) => band.use)).toEqual(['yes', 'ask', 'ask'])
  })
})

const mistakes: readonly { what: string; from: string; to: string; says: RegExp }[] = [
  {
    what: 'a decimal comma',
    from: 'supply: 15.6 V                # 1.3',
    to: 'supply: 15,6 V                # 1.3',
    says: /proc\.yaml:\d+:\d+: .*15,6 V/,
  },
  { what: 'a missing unit', from: 'trip: 16.5 V', to: 'trip: 16.5', says: /set > trip: "16\.5" has no unit: write V/ },
  {
    what: '156 V for 15.6 V',
    from: 'supply: 15.6 V                # 1.3',
    to: 'supply: 156 V                 # 1.3',
    says: /156 V is above "never above" 16 V/,
  },
  { what: 'a misspelt field', from: 'measure: frequency', to: 'mesure: frequency', says: /mesure.*measure/ },
  { what: 'a quantity nobody knows', from: 'measure: FM deviation', to: 'measure: FM swing', says: /FM swing/ },
  {
    what: 'an adjuster that is not described',
    from: 'adjust: PD',
    to: 'adjust: PX',
    says: /"PX" is not described under "adjusters"/,
  },
  {
    what: 'a step id used twice',
    from: 'id: power-normal',
    to: 'id: power',
    says: /"power" is the id of an earlier step/,
  },
  {
    what: 'keying that cannot be read',
    from: 'transmit: unmodulated, 20 s then 60 s rest',
    to: 'transmit: unmodulated, 20 s',
    says: /"20 s" is not a key-down and a rest; write it like/,
  },
  { what: 'a peak with nothing to turn', from: 'adjust: [DK, OK]', to: 'technique: peak', says: /needs an adjuster/ },
  { what: 'a trip below the ceiling', from: 'trip: 16.5 V', to: 'trip: 15 V', says: /must lie above "never above"/ },
  {
    what: 'a range the wrong way round',
    from: 'target: 1.60 .. 1.95 kHz',
    to: 'target: 1.95 .. 1.60 kHz',
    says: /1\.95 \.\. 1\.60/,
  },
]

describe('a mistake in the file is refused with line, column and cure', () => {
  test.each(mistakes)('$what', ({ what, from, to, says }) => {
    expect(text).toContain(from)
    const wrong = text.replace(from, to)
    const line = text.slice(0, text.indexOf(from)).split('\n').length
    let message = ''
    try {
      readYamlText(wrong, 'proc.yaml', Procedure)
    } catch (error) {
      message = String(error)
    }
    expect(message).toMatch(says)
    const at = Number(/proc\.yaml:(\d+):\d+/.exec(message)?.[1])
    expect(at).toBeLessThanOrEqual(line + 1)
    expect(at).toBeGreaterThan(line - (what.startsWith('a peak') ? 12 : 1))
  })
})

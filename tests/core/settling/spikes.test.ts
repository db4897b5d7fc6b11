import { describe, expect, test } from 'vitest'
import { restedOne } from '../../../src/core/older/settling-1.ts'
import { figuresOf } from '../../../src/core/reading/capture.ts'
import { evidenceOf, recompute, workedOut } from '../../../src/core/reading/evidence.ts'
import { addReading, beforeRelease, type Live, liveRule, startLive } from '../../../src/core/reading/live.ts'
import { counting, type Sample, sift } from '../../../src/core/settling/spikes.ts'
import { Evidence } from '../../../src/schema/kept/evidence.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

/** An ammeter as the supply's read-back is one: 1 mA steps, some 300 ms a reading. */
const AMPS = { ...METER_FACTS.volts, quantity: 'DC current', unit: 'A', everyMs: 300, latencyMs: 200 } as const
const BAND = { low: 1.05, high: 1.45, aim: 1.25 }
const rule = liveRule(AMPS, { kind: 'band', band: BAND, aimLow: 1.15, aimHigh: 1.35, rule: null })
const HOW = { highest: false, decision: 'simple acceptance' } as const
const CONDITIONS = {
  wantedVolts: null,
  plugVolts: null,
  amps: null,
  channelWanted: null,
  channelSeen: null,
  mode: '',
  tone: '',
  state: 'transmit',
  keyDownS: 0,
} as const

function liveOf(values: readonly number[]): Live {
  return values.reduce((live, value, index) => {
    const reading = {
      quantity: AMPS.quantity,
      instrument: AMPS.instrument,
      epoch: 1,
      beganMs: index * 300,
      arrivedMs: (index + 1) * 300,
      raw: value.toFixed(3),
      value,
      state: 'good',
    } as const
    return addReading(live, reading, rule, { counts: true, amps: null, heating: false })
  }, startLive(rule))
}

const captured = (live: Live, highest = false) => {
  const how = { ...HOW, highest }
  const figures = figuresOf(live, rule, how)
  if (!figures) throw new TypeError('too few readings')
  const technique = highest ? ('highest' as const) : ('check' as const)
  const evidence = Evidence.parse(
    JSON.parse(JSON.stringify(evidenceOf(live, rule, { ...how, technique, conditions: CONDITIONS }))),
  )
  return { figures, evidence }
}

/** About 1.205 A, as many readings as settle and a second more. */
const STEADY = Array.from({ length: 14 }, (_, index) => 1.205 + ((index * 7) % 5) * 0.001 - 0.002)

describe('the newest reading lies far off', () => {
  test('the same without it had settled', () => {
    expect(liveOf(STEADY).settle.verdict).toBe('settled')
  })

  test('nothing settles on it: it may be a spike or a change', () => {
    const live = liveOf([...STEADY, 0.733])
    expect(live.settle.verdict).toBe('settling')
    expect(live.settle.share).toBeLessThan(1)
    const { figures, evidence } = captured(live)
    expect(figures.label).not.toBe('settled')
    expect(evidence.readings.some(({ spike }) => spike)).toBe(false)
    expect(evidence.replaced).toBe(0)
  })

  test('version 1 had called it settled, its median a reading like any other', () => {
    const readings = [...STEADY, 0.733].map((value, index) => ({ atS: (index + 1) * 0.3, value }))
    expect(restedOne(readings, rule.settle).verdict).toBe('settled')
  })

  test('the next reading says that it was a spike: settled at once, not later than without it', () => {
    expect(liveOf([...STEADY, 0.733, 1.206]).settle.verdict).toBe('settled')
  })

  test('those that follow say that it was a change: never settled on the old value, the change no spike', () => {
    for (let more = 1; more <= 4; more++) {
      const { settle } = liveOf([...STEADY, ...Array.from({ length: more }, () => 0.733)])
      expect(settle.verdict).not.toBe('settled')
    }
    expect(liveOf([...STEADY, ...Array.from({ length: 4 }, () => 0.733)]).settle.aside).toBe(0)
  })
})

describe('a spike among the readings', () => {
  const plain = captured(liveOf([...STEADY, 1.206, 1.204, 1.205]))
  const spiked = captured(liveOf([...STEADY, 1.206, 0.733, 1.204, 1.205]))

  test('counts neither in n nor in the spread, and is marked', () => {
    expect(spiked.figures.label).toBe('settled')
    expect(spiked.figures.spread).toBeLessThan(0.003)
    const inWindow = spiked.evidence.readings.slice(-spiked.figures.count - 1)
    expect(inWindow.filter(({ spike }) => spike)).toMatchObject([{ raw: '0.733' }])
    const good = inWindow.filter(({ spike }) => !spike).map(({ value }) => value)
    expect(good).toHaveLength(spiked.figures.count)
    const mean = good.reduce((sum, value) => sum + value, 0) / good.length
    const squares = good.reduce((sum, value) => sum + (value - mean) ** 2, 0)
    expect(spiked.figures.mean).toBeCloseTo(mean, 12)
    expect(spiked.figures.spread).toBeCloseTo(Math.sqrt(squares / (good.length - 1)), 12)
    expect(spiked.evidence.replaced).toBe(1)
    expect(spiked.figures.value).toBeCloseTo(plain.figures.value, 2)
  })

  test('the newest reading of a settled value is no spike', () => {
    expect(spiked.evidence.readings.at(-1)?.spike).toBeUndefined()
  })

  test('is worked out again from the evidence', () => {
    expect(recompute(spiked.evidence)).toEqual(spiked.figures)
    expect(workedOut(spiked.evidence).spikes).toEqual([STEADY.length + 1])
  })

  test('a check too brief to settle leaves it out as well', () => {
    const { figures, evidence } = captured(liveOf([1.205, 1.204, 0.733, 1.206, 1.205]))
    expect(figures).toMatchObject({ label: 'short', count: 4 })
    expect(figures.spread).toBeLessThan(0.002)
    expect(evidence.readings.map(({ spike }) => spike === true)).toEqual([false, false, true, false, false])
  })

  test('where the largest seen is wanted, no reading is one', () => {
    const { figures, evidence } = captured(liveOf([...STEADY, 1.206, 1.4, 1.204, 1.205]), true)
    expect(figures).toMatchObject({ label: 'highest', value: 1.4, count: STEADY.length + 4 })
    expect(evidence.replaced).toBe(0)
    expect(evidence.readings.some(({ spike }) => spike)).toBe(false)
    expect(workedOut(evidence).spikes).toEqual([])
  })
})

describe('sift', () => {
  const samples = (values: readonly number[]): Sample[] => values.map((value, atS) => ({ atS, value, aside: false }))

  test('the newest is never set aside', () => {
    for (const at of [0, 1, 2, 3, 4]) {
      const { samples: sifted, inDoubt } = sift(
        samples([0, 1, 2, 3, 4].map((index) => (index === at ? 9 : index / 10))),
        0.1,
        0.2,
      )
      expect(inDoubt).toBe(at === 4)
      expect(sifted.map(({ aside }) => aside)).toEqual([0, 1, 2, 3, 4].map((index) => index === at && at < 4))
      expect(counting(sifted)).toHaveLength(at === 4 ? 5 : 4)
    }
  })

  test('what was set aside counts again when others join it', () => {
    const once = sift(samples([0, 0.1, 0, 9, 9]), 0.1, 0.2)
    expect(once.inDoubt).toBe(true)
    expect(once.samples.map(({ aside }) => aside)).toEqual([false, false, false, true, false])
    const more = sift([...once.samples, { atS: 5, value: 9, aside: false }], 0.1, 0.2)
    expect(more.inDoubt).toBe(false)
    expect(more.samples.map(({ aside }) => aside)).toEqual([false, false, false, false, false, false])
  })
})

describe('a key that comes up while a person reads another meter', () => {
  test('what was read in the last 0.6 s is taken back where it fell with it', () => {
    const live = liveOf([...STEADY, 0.622])
    const lastMs = live.kept.at(-1)?.arrivedMs ?? 0
    const sharp = beforeRelease(live, rule, lastMs + 100)
    expect(sharp.kept.map(({ value }) => value)).toEqual(STEADY.slice(0, -1))
    expect(sharp.settle.verdict).toBe('settled')
    expect(sharp.last).toBe(live.last)
  })

  test('what did not fall stays: nothing proved is lost', () => {
    const live = liveOf(STEADY)
    expect(beforeRelease(live, rule, live.kept.at(-1)?.arrivedMs ?? 0)).toBe(live)
  })

  test('nothing was read before those 0.6 s: it stays, there is nothing to have fallen from', () => {
    const live = liveOf([1.2, 0.6])
    expect(beforeRelease(live, rule, 600)).toBe(live)
  })

  test('what was read before stays as it is, and what a person typed too', () => {
    const live = liveOf([...STEADY, 0.622])
    const lastMs = live.kept.at(-1)?.arrivedMs ?? 0
    expect(beforeRelease(live, rule, lastMs + 600)).toBe(live)
    expect(beforeRelease(live, { ...rule, facts: { ...AMPS, typed: true } }, lastMs)).toBe(live)
  })
})

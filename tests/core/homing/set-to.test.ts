import { describe, expect, test } from 'vitest'
import { resumeSet, type SetWatch, setRule, startSet, watchSet } from '../../../src/core/homing/set-to.ts'
import { seededRng } from '../../../src/system/rng.ts'
import { SET_SCENES, type SetJob, type SetScene, setTo } from '../../kit/peaking/set-hand.ts'

/** 2.4 V wanted, within 0.067 V; 1.5 mV of noise, 5 readings a second. */
const rule = setRule({ aimLow: 2.333, aimHigh: 2.467, sigma: 0.0015, step: 0.001, latencyS: 0.2, everyS: 0.2 })

interface Fed {
  readonly watch: SetWatch
  readonly atS: number
  readonly phases: readonly SetWatch['phase'][]
}

const fresh: Fed = { watch: startSet(), atS: 0, phases: [] }

function feed(from: Fed, values: readonly number[], meter = rule): Fed {
  let { watch, atS } = from
  const phases = [...from.phases]
  for (const value of values) {
    atS += meter.everyS
    watch = watchSet(watch, { atS, value }, meter)
    if (phases.at(-1) !== watch.phase) phases.push(watch.phase)
  }
  return { watch, atS, phases }
}

const still = (value: number, count = 5) => Array.from({ length: count }, () => value)
/** From one value to another, `step` a reading. */
function ramp(from: number, to: number, step = 0.03): number[] {
  const count = Math.round(Math.abs(to - from) / step)
  return Array.from({ length: count + 1 }, (_, index) => from + Math.sign(to - from) * index * step)
}

describe('the direction', () => {
  test('is known from the first move of more than 4 sigma, not before', () => {
    expect(feed(fresh, [...still(2), 2.003, 2.004, 2.004]).watch.phase).toBe('first')
    expect(feed(fresh, [...still(2), ...ramp(2, 2.15)]).watch.phase).toBe('on')
  })

  test('away from the aim is the other way, said once', () => {
    const { watch } = feed(fresh, [...still(2), ...ramp(2, 1.7)])
    expect(watch).toMatchObject({ phase: 'other way', turnBacks: 1, told: -1 })
  })

  test.each([
    [2, 1, 1],
    [2, -1, -1],
    [2.8, 1, -1],
    [2.8, -1, 1],
  ] as const)(
    'at %d V with clockwise known to move it by the sign %d it is told to begin %d',
    (value, clockwise, told) => {
      const known = { ...rule, usual: { perS: 0.1, clockwise, moves: 3 } }
      expect(feed(fresh, still(value), known).watch.told).toBe(told)
    },
  )
})

describe('how far', () => {
  test('0.1 V done and 0.2 V missing: twice as far, a little short', () => {
    const { watch } = feed(fresh, [...still(2.1), ...ramp(2.1, 2.2), ...still(2.2)])
    expect(watch).toMatchObject({ phase: 'step', turnBacks: 0 })
    expect(watch.size).toBeCloseTo(1.8, 1)
  })

  test('past the aim: hands still, then back by a part of the move', () => {
    const { watch, phases } = feed(fresh, [...still(2), ...ramp(2, 2.6, 0.1), ...still(2.6)])
    expect(phases).toContain('look')
    expect(watch).toMatchObject({ phase: 'step', turnBacks: 1 })
    expect(watch.size).toBeCloseTo(0.33, 1)
  })

  test('at 0.5 V/s it is stopped before the aim that it would pass', () => {
    const fast = feed(fresh, [...still(2), 2.1, 2.2, 2.3])
    expect(fast.watch.phase).toBe('coming')
    expect(feed(fresh, [...still(2), ...ramp(2, 2.3, 0.01)]).watch.phase).toBe('on')
  })

  test('inside the aim window it is there, and a rest there asks for nothing', () => {
    expect(feed(fresh, [...still(2), ...ramp(2, 2.4), ...still(2.4, 100)]).watch.phase).toBe('there')
  })

  test('a meter of 1 s gates is nudged: hands still while it moves', () => {
    const gate = setRule({ aimLow: 970, aimHigh: 1030, sigma: 1, step: 1, latencyS: 1, everyS: 1 })
    expect(gate.quick).toBe(false)
    const { phases, watch } = feed(fresh, [800, 800, 800, 850, 850, 850, 850], gate)
    expect(phases).toEqual(['first', 'look', 'step'])
    expect(watch.size).toBeCloseTo(2.7, 1)
  })
})

describe('when nothing helps', () => {
  test('no move in 13 s is no effect; a key-up in between begins anew', () => {
    expect(feed(fresh, still(2, 60)).watch.phase).toBe('first')
    expect(feed(fresh, still(2, 70)).watch.phase).toBe('no effect')
    const half = feed(fresh, still(2, 40))
    expect(feed({ ...half, watch: resumeSet(half.watch) }, still(2, 40)).watch.phase).toBe('first')
  })

  test('a tenth of the usual effect for 2.4 s is hardly any: stuck or cracked', () => {
    const usual = { perS: 0.3, clockwise: null, moves: 4 }
    const slow = [...still(2), ...ramp(2, 2.07, 0.006), ...still(2.07)]
    expect(feed(fresh, slow, { ...rule, usual }).watch.phase).toBe('no effect')
    expect(feed(fresh, slow).watch.phase).toBe('step')
  })

  test('turned over the end of its range short of the aim: said, and "cannot be reached" at the other end; there after all is there', () => {
    const over = feed(fresh, [...still(1.5), ...ramp(1.5, 2), ...ramp(2, 1.8)])
    expect(over.watch).toMatchObject({ phase: 'passed end', turnsOver: true })
    const round = feed(over, [...ramp(1.8, 1), ...ramp(1, 1.1)])
    expect(round.phases).toContain('cannot reach')
    expect(feed(round, ramp(1.1, 2.4)).watch.phase).toBe('there')
  })

  test('at one stop and then at the other, both below the aim: cannot be reached; beyond the aim after all: go on', () => {
    const one = feed(fresh, [...still(1.5), ...ramp(1.5, 2), ...still(2, 70)])
    expect(one.watch.phase).toBe('end')
    const both = feed(one, [...ramp(2, 1), ...still(1, 70)])
    expect(both.watch.phase).toBe('cannot reach')
    expect(feed(both, [...ramp(1, 2.2)]).watch.phase).not.toBe('cannot reach')
  })
})

/** So many set-tos of one scene. */
function jobs(scene: SetScene, count: number, seed: number): SetJob[] {
  const rng = seededRng(seed)
  return Array.from({ length: count }, () => setTo(scene, rng))
}

const scene = (name: string): SetScene => {
  const found = SET_SCENES.find((one) => one.name.startsWith(name))
  if (!found) throw new TypeError(`no scene ${name}`)
  return found
}

describe('a hand that goes by the words alone', () => {
  test.each(SET_SCENES)(
    '60 set-tos of $name: all inside the aim window, one overshoot at most in the median',
    (one) => {
      const done = jobs(one, 60, 5)
      expect(done.filter((job) => job.finished && job.inside).length).toBeGreaterThanOrEqual(59)
      expect(done.map((job) => job.overshoots).sort((a, b) => a - b)[30]).toBeLessThanOrEqual(1)
    },
  )

  test('20 endless trimmers that never come within 200 Hz of the aim: none is taken, and nobody says it is there', () => {
    const off = { ...scene('frequency'), gives: (place: number) => 27_205_700 + 500 * Math.cos(2 * Math.PI * place) }
    const done = jobs(off, 20, 6)
    expect(done.every((job) => !job.finished)).toBe(true)
    expect(done.flatMap((job) => job.words)).not.toContain('there')
  })

  test('20 presets whose power ends at 3 W: "cannot be reached" or "at its stop", never taken', () => {
    const weak = { ...scene('power'), gives: (pot: number) => 0.5 + 2.5 * pot }
    const done = jobs(weak, 20, 7)
    expect(done.every((job) => !job.finished)).toBe(true)
  })

  test('20 cracked cores that move nothing are told to have no effect within 60 s', () => {
    const cracked = { ...scene('control'), gives: () => 2 }
    for (const job of jobs(cracked, 20, 8)) {
      expect(job.end).toBe('no effect')
      expect(job.seconds).toBeLessThan(60)
    }
  })
})

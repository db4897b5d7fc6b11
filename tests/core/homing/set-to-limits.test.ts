import { describe, expect, test } from 'vitest'
import { resumeSet, type SetWatch, setRule, startSet, watchSet } from '../../../src/core/homing/set-to.ts'

/** 2.4 V wanted, within 0.067 V; five readings a second of 1.5 mV noise: 6 mV is a move. */
const volts = setRule({ aimLow: 2.333, aimHigh: 2.467, sigma: 0.0015, step: 0.001, latencyS: 0.2, everyS: 0.2 })
/** 1 kHz wanted, within 30 Hz; a gate of 1 s. */
const gate = setRule({ aimLow: 970, aimHigh: 1030, sigma: 1, step: 1, latencyS: 1, everyS: 1 })

interface Run {
  readonly watch: SetWatch
  readonly atS: number
  readonly phases: readonly string[]
}

/** Readings one after the other; a string is a pause of so many seconds in which none comes. */
function run(
  readings: readonly (number | string)[],
  rule = volts,
  from: Run = { watch: startSet(), atS: 0, phases: [] },
): Run {
  let { watch, atS } = from
  const phases: string[] = []
  for (const one of readings) {
    atS += typeof one === 'string' ? Number(one) : rule.everyS
    if (typeof one === 'string') continue
    watch = watchSet(watch, { atS, value: one }, rule)
    if (phases.at(-1) !== watch.phase) phases.push(watch.phase)
  }
  return { watch, atS, phases }
}

const still = (value: number, count = 5) => Array.from({ length: count }, () => value)
/** From one value to another by `step` a reading, both included. */
function ramp(from: number, to: number, step = 0.03): readonly number[] {
  const count = Math.round(Math.abs(to - from) / step)
  return Array.from({ length: count + 1 }, (_, index) => from + Math.sign(to - from) * index * step)
}
const turned = (from: number, to: number, step = 0.03) => [...still(from), ...ramp(from, to, step), ...still(to)]

/** Changes and how they were told, to a thousandth. */
const movesOf = ({ watch }: Run) => watch.moves.map(({ change, told }) => [Math.round(1000 * change) / 1000, told])

describe('a move', () => {
  test.each([
    [{ sigma: 0.0015, step: 0.001 }, 0.006],
    [{ sigma: 0.0015, step: 0.01 }, 0.02],
    [{ sigma: 0, step: 0.001 }, 0.002],
  ])('of a meter with %j is %d: four sigmas, and two display steps', (meter, moveBy) => {
    const rule = setRule({ aimLow: 2, aimHigh: 3, latencyS: 0.2, everyS: 0.2, ...meter })
    expect(rule.moveBy).toBeCloseTo(moveBy, 12)
  })

  test.each([
    [0.3, 0.3, true],
    [0.3, 0.31, false],
    [1, 0.1, false],
  ])(
    'is followed while it goes on where latency and interval, %d and %d s, are 0.6 s together: %s',
    (latencyS, everyS, quick) => {
      expect(setRule({ aimLow: 2, aimHigh: 3, sigma: 0, step: 1, latencyS, everyS }).quick).toBe(quick)
    },
  )

  test('two single readings differ by two levels before a way is told from them', () => {
    expect(run([...still(2), 2.005, 2.011]).watch.phase).toBe('first')
    expect(run([...still(2), 2.006, 2.013]).watch.phase).toBe('on')
  })

  test('a single reading far off is none yet; a second one there is', () => {
    expect(run([...still(2), 2.1]).watch.phase).toBe('first')
    expect(run([...still(2), 2.1, 2.1]).watch.phase).toBe('on')
    expect(run([...still(2), 2.008, 2.1]).phases).not.toContain('on')
    expect(run([...still(2), 2.012, 2.1]).watch.phase).toBe('on')
  })

  test('no number, and a reading from before the last, change nothing', () => {
    const { watch, atS } = run(still(2))
    expect(watchSet(watch, { atS: atS + 0.2, value: Number.NaN }, volts)).toBe(watch)
    expect(watchSet(watch, { atS: atS - 0.01, value: 2.1 }, volts)).toBe(watch)
  })

  test('too small to be seen while it goes on is seen at rest: the first of one level, a later one of 0.85', () => {
    expect(movesOf(run([...still(2), ...still(2.0055, 6)]))).toEqual([])
    const first = run([...still(2), ...still(2.0065, 6)])
    expect(first.watch.phase).toBe('step')
    expect(first.watch.moves).toMatchObject([{ seconds: 0.3, told: 1 }])
    const step = run(turned(2.1, 2.2))
    expect(movesOf(run(still(2.205, 4), volts, step))).toHaveLength(1)
    expect(movesOf(run(still(2.2052, 4), volts, step))).toEqual([
      [0.1, 1],
      [0.005, 1],
    ])
    const down = run(still(2.1948, 4), volts, step)
    expect(movesOf(down)).toEqual([
      [0.1, 1],
      [-0.005, 1],
    ])
    expect(down.watch).toMatchObject({ told: -1, turnBacks: 1 })
  })

  test('is over when nothing has moved for the latency, and for two intervals', () => {
    expect(run([...still(2.1), ...ramp(2.1, 2.2), 2.2, 2.2]).phases.at(-1)).toBe('look')
    expect(run([...still(2.1), ...ramp(2.1, 2.2), 2.2, 2.2, 2.2]).phases.at(-1)).toBe('step')
    const slow = { ...volts, latencyS: 0.39, quick: true }
    expect(run(turned(2.1, 2.2).slice(0, -2), slow).phases.at(-1)).toBe('step')
    expect(run(turned(2.1, 2.2), { ...volts, latencyS: 1 }).phases.at(-1)).toBe('look')
  })

  test('the last eight are remembered', () => {
    const steps = Array.from({ length: 11 }, (_, at) => turned(1 + at / 10, 1.1 + at / 10)).flat()
    expect(run(steps).watch.moves).toHaveLength(8)
  })
})

describe('how far next, as a multiple of the last move', () => {
  test.each([
    ['twice as far: nine tenths of it', 2.1, 2.2, 1.8, 1],
    ['half as far: all of it', 2.1, 2.3, 0.5, 1],
    ['a sixth of a falling one', 3, 2.5, 0.2, 1],
    ['never more than four times', 1, 1.06, 4, 1],
    ['never less than a tenth', 1, 2.32, 0.1, 1],
    ['back by a third after going past', 2, 2.6, 0.333, -1],
    ['back by a third after falling past', 2.8, 2.2, 0.333, -1],
  ])('%s: from %d to %d V', (_, from, to, size, told) => {
    const { watch } = run(turned(from, to, to > 2.467 || to < 2.25 ? 0.1 : 0.02))
    expect(watch.phase).toBe('step')
    expect(watch.size).toBeCloseTo(size, 3)
    expect(watch.told).toBe(told)
    expect(watch.turnBacks).toBe(told > 0 ? 0 : 1)
  })

  test('told the other way on the move, and done: on as told, from where it turned', () => {
    const back = run([...turned(2, 1.7), ...ramp(1.7, 2.1), ...still(2.1)])
    expect(back.phases).toEqual(['first', 'other way', 'step', 'on', 'look', 'step'])
    expect(movesOf(back)).toEqual([
      [-0.3, 1],
      [0.4, -1],
    ])
    expect(back.watch).toMatchObject({ told: -1, turnBacks: 1 })
    expect(back.watch.size).toBeCloseTo(0.75, 3)
  })

  test('turned back without a rest between: two moves', () => {
    const watch = run([...still(2), ...ramp(2, 1.9), ...ramp(1.9, 2.2)])
    expect(watch.phases).toEqual(['first', 'other way', 'on'])
    expect(movesOf(watch)).toEqual([[-0.1, 1]])
  })
})

describe('before it gets there', () => {
  test.each([
    [0.06, 'on'],
    [0.1, 'coming'],
  ])('a hand that moves it by %d V a reading from 2.0 V, with 0.55 s to stop in: %s', (step, phase) => {
    expect(run([...still(2), ...ramp(2 + step, 2.301, step)]).watch.phase).toBe(phase)
    expect(run([...still(2.8), ...ramp(2.8 - step, 2.499, step)]).watch.phase).toBe(phase)
  })

  test('and has passed it: hands still', () => {
    expect(run([...still(2), ...ramp(2, 2.6, 0.1)]).phases).toEqual(['first', 'coming', 'there', 'look'])
    expect(run([...still(2.8), ...ramp(2.8, 2.2, 0.1)]).phases).toEqual(['first', 'coming', 'there', 'look'])
  })

  test('both edges of the aim window are in it', () => {
    for (const value of [2.333, 2.467]) expect(run(still(value)).watch.phase).toBe('there')
    for (const value of [2.3329, 2.4671]) expect(run(still(value)).watch.phase).toBe('first')
  })

  test('left again by a jump that nobody saw: how far back', () => {
    const left = run([...still(2), ...ramp(2, 2.4), ...still(2.4), ...still(2.5, 8)])
    expect(left.watch).toMatchObject({ phase: 'step', told: -1, turnBacks: 1 })
    expect(left.watch.size).toBeCloseTo(1, 3)
  })
})

describe('a meter that shows a move late is nudged', () => {
  test.each([
    ['nearer', [800, 800, 800, 850, 850, 850, 850], 2.7, 1],
    ['nearer from above', [1200, 1200, 1200, 1150, 1150, 1150, 1150], 2.7, 1],
    ['away', [800, 800, 800, 750, 750, 750, 750], 4, -1],
    ['through the aim', [800, 800, 800, 900, 1000, 1100, 1100, 1100, 1100], 1 / 3, -1],
  ])('%s: hands still while it moves, then how far', (_, readings, size, told) => {
    const { watch, phases } = run(readings, gate)
    expect(phases).toContain('look')
    expect(phases).not.toContain('on')
    expect(watch).toMatchObject({ phase: 'step', told })
    expect(watch.size).toBeCloseTo(size, 6)
  })
})

describe('readings that stay away', () => {
  test('for 2 s and more break what was going on: an effect has to be seen anew, what was learned stays', () => {
    const readings = (pause: string) => [...still(2, 50), pause, ...still(2, 20)]
    expect(run(readings('1.7')).watch.phase).toBe('no effect')
    expect(run(readings('2')).watch.phase).toBe('first')
    const learned = run(['2.1', ...still(2.2, 3)], volts, run(turned(2.1, 2.2)))
    expect(movesOf(learned)).toEqual([[0.1, 1]])
  })

  test('of a slow meter it is three intervals', () => {
    const slow = { ...gate, latencyS: 0 }
    expect(run([...still(800, 9), '1.9', ...still(800, 4)], slow).watch.phase).toBe('no effect')
    expect(run([...still(800, 9), '2.1', ...still(800, 4)], slow).watch.phase).toBe('first')
  })

  test.each([
    ['at rest with a move behind it, as it was', turned(2.1, 2.2), 'step'],
    ['there with a move behind it: look', [...still(2), ...ramp(2, 2.4), ...still(2.4)], 'look'],
    ['there without one: first', still(2.4), 'first'],
    ['on, as it was', [...still(2), ...ramp(2, 2.2)], 'on'],
  ])('a key-up: %s', (_, readings, phase) => {
    const { watch } = run(readings)
    const resumed = resumeSet(watch)
    expect(resumed.phase).toBe(phase)
    expect(resumed.moves).toEqual(watch.moves)
    expect(resumed.memory).toMatchObject({ recent: [], move: null, restValue: Number.NaN, idleS: 0 })
  })
})

describe('nothing moves any more', () => {
  test('for 12 s and four latencies, from the second reading on', () => {
    expect(run(still(2, 66)).watch.phase).toBe('first')
    expect(run(still(2, 67)).watch.phase).toBe('no effect')
    const late = { ...volts, latencyS: 1 }
    expect(run(still(2, 82), late).watch.phase).toBe('first')
    expect(run(still(2, 83), late).watch.phase).toBe('no effect')
  })

  test('after a move it is at its stop, and the hand is sent back once', () => {
    const end = run([...turned(1.5, 2), ...still(2, 70)])
    expect(end.watch).toMatchObject({ phase: 'end', told: -1, turnBacks: 1 })
    expect(end.watch.memory.ends).toEqual([2])
    expect(run(still(2, 140), volts, end).watch).toMatchObject({ phase: 'end', turnBacks: 1 })
  })

  test('after hardly three moves in all it has no effect', () => {
    const little = run([...still(2), ...still(2.0095, 6), ...still(2.0175, 6), ...still(2.0175, 80)])
    expect(little.watch.phase).toBe('no effect')
    const enough = run([...still(2), ...still(2.0095, 6), ...still(2.0195, 6), ...still(2.0195, 80)])
    expect(enough.watch.phase).toBe('end')
  })

  test('at the same stop again: it is one end; at another, with the aim on neither side between: cannot be reached', () => {
    const end = run([...turned(1.5, 2), ...still(2, 70)])
    const again = run([...ramp(2, 1.9), ...ramp(1.9, 1.97), ...still(1.97, 70)], volts, end)
    expect(again.watch.memory.ends).toEqual([2])
    expect(again.watch.phase).toBe('end')
    const both = run([...ramp(2, 1), ...still(1, 80)], volts, end)
    expect(both.watch.memory.ends).toEqual([2, 1])
    expect(both.watch.phase).toBe('cannot reach')
    const between = run([...turned(1.5, 2), ...still(2, 70), ...ramp(2, 3), ...still(3, 80)])
    expect(between.watch.memory.ends).toEqual([2, 3])
    expect(between.watch.phase).toBe('end')
  })
})

describe('over the end of the range of a trimmer that turns without end', () => {
  test('short of the aim, it came nearer and goes away: passed its end, and on as told', () => {
    const over = run([...still(1.5), ...ramp(1.5, 2), ...ramp(2, 1.8)])
    expect(over.watch).toMatchObject({ phase: 'passed end', turnsOver: true, told: 1, turnBacks: 0 })
    expect(over.watch.memory.ends).toEqual([2])
    const falling = run([...still(3.3), ...ramp(3.3, 2.8), ...ramp(2.8, 3)])
    expect(falling.watch).toMatchObject({ phase: 'passed end', turnsOver: true })
    expect(falling.watch.memory.ends[0]).toBeCloseTo(2.8, 9)
  })

  test('back by less than three moves may be noise', () => {
    const wee = run([...still(1.5), ...ramp(1.5, 2, 0.01), 1.985, 1.9725])
    expect(wee.watch.turnsOver).toBe(false)
    const more = run([...still(1.5), ...ramp(1.5, 2, 0.01), 1.985, 1.9715])
    expect(more.watch.turnsOver).toBe(true)
  })

  test('past the aim it is none: hands still, and back', () => {
    const past = run([...still(2), ...ramp(2, 2.6, 0.1), ...ramp(2.55, 2.5, 0.05)])
    expect(past.watch.turnsOver).toBe(false)
    expect(past.phases).not.toContain('passed end')
  })
})

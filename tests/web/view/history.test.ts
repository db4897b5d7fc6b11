import { describe, expect, test } from 'vitest'
import type { LiveEvent, LiveFrame } from '../../../src/schema/messages/shown.ts'
import { HISTORY_MS, historyWords, openHistory } from '../../../web/view/history.ts'
import { rangeOf, spreadMarks } from '../../../web/view/trace-layout.ts'
import { frame, keyed, type Parts, PEAK_SLOT, POWER_BAND, RELEASED, reading, step } from '../frame-parts.ts'

/** A keyed frame of the power step, with a reading that arrived at that moment. */
function at(ms: number, watts: number, parts: Parts<LiveFrame> = {}): LiveFrame {
  return frame({
    atMs: ms,
    state: 'in',
    key: keyed(3),
    reading: reading({ value: watts, digits: watts.toFixed(2), arrivedMs: ms, oldAfterMs: 2_000 }),
    ...parts,
  })
}

function fed(frames: readonly LiveFrame[]) {
  const history = openHistory()
  for (const one of frames) history.add(one)
  return history
}

const event = (seq: number, what: LiveEvent['what']): LiveEvent => ({ seq, what, words: what })

describe('points', () => {
  test('each reading is one, told as s before now, with the edges of its band', () => {
    expect(fed([at(1_000, 3.8), at(1_500, 3.85)]).view(2_000)).toMatchObject({
      quantity: 'RF power',
      atS: [-1, -0.5],
      values: [3.8, 3.85],
      edgeLows: [3.6, 3.6],
      edgeHighs: [4, 4],
    })
  })

  test('20 readings a second make 5 points, and the spike between two points is kept', () => {
    const frames = Array.from({ length: 40 }, (_, n) => at(1_000 + n * 50, n === 17 ? 9.99 : 3.8))
    const view = fed(frames).view(3_000)
    expect(view?.atS.length).toBe(10)
    expect(Math.max(...(view?.highs ?? []).map((value) => value ?? 0))).toBe(9.99)
    expect(Math.max(...(view?.lows ?? []).map((value) => value ?? 0))).toBe(3.8)
  })

  test('an hour at 10 readings a second keeps ten minutes: 3000 points, the newest of them', () => {
    const history = openHistory()
    for (let ms = 0; ms <= 3_600_000; ms += 100) history.add(at(ms, 3 + ms / 3_600_000))
    const view = history.view(3_600_000)
    expect(view?.atS.length).toBe(3_000)
    expect(view?.atS[0]).toBeCloseTo(-HISTORY_MS / 1000, 0)
    expect(view?.values.at(-1)).toBe(4)
    expect(view?.atS.every((one, index, list) => one >= (list[index - 1] ?? one))).toBe(true)
  })

  test('the same reading in many frames is one point', () => {
    const one = at(1_000, 3.8)
    expect(fed([one, { ...one, atMs: 1_100 }, { ...one, atMs: 1_200 }]).view(1_200)?.values).toEqual([3.8])
  })

  test('after ten minutes without a reading nothing of it is left', () => {
    expect(fed([at(1_000, 3.8)]).view(1_001 + HISTORY_MS)?.values).toEqual([])
  })
})

describe('gaps', () => {
  test.each([
    ['the key is up in a transmit step', { key: RELEASED }],
    ['the reading does not count yet', { state: 'hold-off' as const }],
    [
      'the meter is over its range',
      { state: 'over range' as const, reading: reading({ value: null, arrivedMs: 1_500 }) },
    ],
  ])('are left where %s', (_why, parts) => {
    const view = fed([at(1_000, 3.8), at(1_500, 0.01, parts), at(2_000, 3.9)]).view(2_000)
    expect(view?.values).toEqual([3.8, null, 3.9])
    expect(view?.lows[1]).toBeNull()
  })

  test('are left where the meter was silent for longer than a reading lasts', () => {
    expect(fed([at(1_000, 3.8), at(3_100, 3.9)]).view(3_100)?.values).toEqual([3.8, null, 3.9])
    expect(fed([at(1_000, 3.8), at(2_900, 3.9)]).view(2_900)?.values).toEqual([3.8, 3.9])
  })

  test('in a receive step the key says nothing', () => {
    const receive = { key: RELEASED, step: step({ transmit: 'receive' as const }) }
    expect(fed([at(1_000, 3.8, receive), at(1_500, 3.9, receive)]).view(2_000)?.values).toEqual([3.8, 3.9])
  })

  test('a peak has no edges', () => {
    expect(fed([at(1_000, 5.1, { slot: PEAK_SLOT })]).view(1_000)).toMatchObject({
      edgeLows: [null],
      edgeHighs: [null],
    })
  })
})

describe('another step', () => {
  test.each([
    ['another id', { step: step({ id: 'drive' }) }],
    ['another pass of the same one', { step: step({ pass: 'left' as const }) }],
    ['another job', { job: { serial: 'B', id: 'another', record: '', fingerprint: '' } }],
  ])('begins anew: %s', (_why, parts) => {
    const view = fed([at(1_000, 3.8), at(2_000, 5.5, parts)]).view(2_000)
    expect(view?.values).toEqual([5.5])
  })

  test('so does a service that was started again: its clock is another one', () => {
    const view = fed([
      at(50_000, 3.8, { events: [event(9, 'captured')] }),
      at(1_000, 3.9, { events: [event(1, 'captured')] }),
    ]).view(1_000)
    expect(view?.values).toEqual([3.9])
    expect(view?.marks).toEqual([])
  })

  test('the stops of one step stay together, each with its words and its own band', () => {
    const stop = (number: number) => step({ stop: { number, of: 2, words: `channel ${number}` } })
    const view = fed([
      at(1_000, 1.6, { step: stop(1), slot: { ...POWER_BAND, low: 1.4, high: 1.8 } }),
      at(2_000, 3.4, { step: stop(2), slot: { ...POWER_BAND, low: 3, high: 3.8 } }),
    ]).view(2_000)
    expect(view).toMatchObject({ values: [1.6, 3.4], edgeLows: [1.4, 3], edgeHighs: [1.8, 3.8] })
    expect(view?.marks).toEqual([{ atS: 0, what: 'stop', words: 'channel 2' }])
  })

  test('while no step is open nothing is kept', () => {
    expect(fed([at(1_000, 3.8, { step: null, mode: 'watch' })]).view(1_000)).toBeNull()
    expect(fed([at(1_000, 3.8), frame({ atMs: 2_000, step: null, mode: 'idle' })]).view(2_000)).toBeNull()
  })
})

describe('marks', () => {
  test('events, the key and the person’s own marks stand where they happened, each once', () => {
    const first = [event(1, 'captured')]
    const later = [...first, event(2, 'captured'), event(3, 'link lost'), event(4, 'note')]
    const mark = { number: 1, at: '', title: '', reading: '', words: '' }
    const view = fed([
      at(1_000, 3.8, { events: first }),
      at(2_000, 3.8, { events: later }),
      at(2_500, 3.8, { events: later }),
      at(3_000, 3.8, { events: later, key: RELEASED }),
      at(4_000, 3.8, { events: later }),
      at(5_000, 3.8, { events: later, marks: [mark] }),
    ]).view(5_000)
    expect(view?.marks).toEqual([
      { atS: -3, what: 'captured', words: 'captured' },
      { atS: -3, what: 'link lost', words: 'link lost' },
      { atS: -2, what: 'key up', words: 'key up' },
      { atS: -1, what: 'key down', words: 'key down' },
      { atS: 0, what: 'marked', words: 'marked' },
    ])
  })

  test('of new bests in quick turn the last one stands', () => {
    const frames = Array.from({ length: 30 }, (_, n) =>
      at(1_000 + n * 200, 5, { events: Array.from({ length: n }, (_, m) => event(m + 1, 'new best')) }),
    )
    expect(fed(frames).view(6_800)?.marks).toEqual([{ atS: 0, what: 'new best', words: 'best' }])
  })

  test('they are bounded too', () => {
    const history = openHistory()
    for (let n = 0; n < 1_000; n += 1) history.add(at(n * 300, 3.8, { key: n % 2 === 0 ? keyed(1) : RELEASED }))
    expect(history.view(300_000)?.marks.length).toBe(120)
  })
})

describe('in words', () => {
  test('now, the range of two minutes, and the key', () => {
    const frames = Array.from({ length: 700 }, (_, n) => {
      const up = n === 560 || n === 600 || n === 640
      return at(n * 500, n === 0 ? 9 : n === 580 ? 3.79 : n === 590 ? 3.86 : 3.85, { key: up ? RELEASED : keyed(2) })
    })
    expect(historyWords(fed(frames).view(699 * 500))).toBe(
      '3.85 W now, between 3.79 and 3.86 in the last 2 min; key down 3 times',
    )
  })

  test('a short while, and a value from before', () => {
    const frames = [at(1_000, 3.8), at(2_000, 3.85), at(3_000, 0.01, { key: RELEASED })]
    expect(historyWords(fed(frames.slice(0, 2)).view(2_000))).toBe('3.85 W now, between 3.80 and 3.85 in the last 1 s')
    expect(historyWords(fed(frames).view(14_000))).toBe('3.85 W 12 s ago, between 3.80 and 3.85 in the last 13 s')
  })

  test('in the prefix and the digits of the meter', () => {
    const deviation = (ms: number, hz: number) =>
      at(ms, 1, {
        reading: reading({
          quantity: 'FM deviation',
          value: hz,
          digits: (hz / 1000).toFixed(2),
          unit: 'kHz',
          arrivedMs: ms,
        }),
      })
    expect(historyWords(fed([deviation(1_000, 1_780), deviation(1_500, -20)]).view(1_500))).toBe(
      '−0.02 kHz now, between −0.02 and 1.78 in the last 1 s',
    )
  })

  test('nothing read', () => {
    expect(historyWords(null)).toBe('nothing was read in this step yet')
  })
})

describe('the scale', () => {
  test('shows all that was read and both edges', () => {
    const view = fed([at(1_000, 3.1), at(1_500, 3.85)]).view(1_500)
    if (view === null) throw new TypeError('nothing was read')
    const { base, high, low } = rangeOf(view)
    expect(low).toBeCloseTo(3.1 - 0.08 * 0.9, 9)
    expect(high).toBeCloseTo(4 + 0.08 * 0.9, 9)
    expect(base).toBeNull()
  })

  test('counts from the middle of the band where it is narrow beside the value', () => {
    const slot = { ...POWER_BAND, low: 27_204_850, high: 27_205_150 }
    const view = fed([at(1_000, 27_204_991, { slot })]).view(1_000)
    if (view === null) throw new TypeError('nothing was read')
    expect(rangeOf(view).base).toBe(27_205_000)
  })

  test('is not empty where only one value was read', () => {
    const view = fed([at(1_000, 5, { slot: PEAK_SLOT })]).view(1_000)
    if (view === null) throw new TypeError('nothing was read')
    expect(rangeOf(view).high).toBeGreaterThan(rangeOf(view).low)
  })
})

describe('the words of marks', () => {
  const ROOM = { from: 0, to: 300, rows: 1 }

  test('do not lie on each other: the newer one stands, the older one is a line alone', () => {
    const marks = [10, 40, 150].map((x) => ({ x, width: 80, rank: 1 }))
    expect(spreadMarks(marks, ROOM)).toEqual([null, { x: 40, row: 0 }, { x: 150, row: 0 }])
  })

  test('a second row takes what the first has no room for; weightier words go first', () => {
    const marks = [
      { x: 10, width: 80, rank: 0 },
      { x: 40, width: 80, rank: 2 },
    ]
    expect(spreadMarks(marks, ROOM)).toEqual([{ x: 10, row: 0 }, null])
    expect(spreadMarks(marks, { ...ROOM, rows: 2 })).toEqual([
      { x: 10, row: 0 },
      { x: 40, row: 1 },
    ])
  })

  test('stay in the chart at its right edge', () => {
    expect(spreadMarks([{ x: 290, width: 80, rank: 0 }], ROOM)).toEqual([{ x: 220, row: 0 }])
  })
})

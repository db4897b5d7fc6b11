import { describe, expect, test } from 'vitest'
import { followOffer, longPressOf, type Offer, secondsLeft } from '../../../web/measure/take-back.ts'
import { planOf, USUAL_KEYS } from '../../../web/settings/keys.ts'
import { captured, frame } from '../frame-parts.ts'
import { FIXTURES } from '../frames.ts'

describe('the keys that a device has kept', () => {
  test('are taken as they are while both are free', () => {
    const kept = { main: 'F13', stop: 'PageUp', holds: false }
    expect(planOf(kept)).toEqual(kept)
  })

  test.each([
    ['nothing', undefined],
    ['something else', 'PageUp'],
    ['a letter', { main: 'b', stop: 'End', holds: true }],
    ['STOP on Enter', { main: 'PageDown', stop: 'Enter', holds: true }],
    ['one key for both', { main: 'F13', stop: 'F13', holds: true }],
    ['End, which always stops', { main: 'End', stop: 'F13', holds: true }],
    ['no word on holding', { main: 'F13', stop: 'End' }],
  ])('%s: the usual ones are taken', (_, kept) => {
    expect(planOf(kept)).toEqual(USUAL_KEYS)
  })
})

describe('what a long press would be', () => {
  test('takes back while that is offered, else marks, and without a job is nothing', () => {
    expect(longPressOf(frame({ offers: ['take back', 'next'] }))).toBe('take back')
    expect(longPressOf(frame({ offers: ['next'] }))).toBe('mark')
    // a value that is asked about is kept on purpose only: the short press reads it again
    expect(longPressOf(frame({ offers: ['again', 'keep', 'take back'] }))).toBe('keep')
    expect(longPressOf(frame({ mode: 'watch', offers: [] }))).toBeNull()
    expect(longPressOf(FIXTURES.idle)).toBeNull()
  })
})

describe('the seconds in which a capture can be taken back', () => {
  const offered = (atMs: number, ...numbers: readonly number[]) =>
    frame({ atMs, offers: ['take back'], captured: numbers.map((number) => captured({ number })) })

  test('count from the first frame that offers it, through later frames, and begin anew with the next capture', () => {
    const first = followOffer(null, offered(1000, 4))
    const later = followOffer(first, offered(3500, 4))
    expect(later).toEqual({ number: 4, sinceMs: 1000 })
    expect(followOffer(later, offered(4000, 4, 5))).toEqual({ number: 5, sinceMs: 4000 })
    expect(followOffer(later, frame({ atMs: 4000, offers: ['next'] }))).toBeNull()
  })

  test('what is taken back is not the last capture any more', () => {
    const taken = { ...captured({ number: 5 }), takenBack: true } as const
    expect(followOffer(null, { ...offered(1000, 4), captured: [captured({ number: 4 }), taken] })?.number).toBe(4)
  })

  test.each([
    [1000, 5],
    [1001, 5],
    [2001, 4],
    [5999, 1],
    [6800, 1],
    [900, 5],
  ])('at %i ms: %i s', (nowMs, seconds) => {
    const offer: Offer = { number: 4, sinceMs: 1000 }
    expect(secondsLeft(offer, nowMs)).toBe(seconds)
  })
})

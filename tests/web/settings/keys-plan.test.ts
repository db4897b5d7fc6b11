import { describe, expect, test } from 'vitest'
import { longPressOf, secondsLeft } from '../../../web/measure/take-back.ts'
import { planOf, USUAL_KEYS } from '../../../web/settings/keys.ts'
import { frame } from '../frame-parts.ts'
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
  const offered = frame({ atMs: 1000, offers: ['take back'], takeBackUntilMs: 6000 })

  test('are none where nothing is offered', () => {
    expect(secondsLeft(frame({ atMs: 4000, offers: ['next'] }), 4000)).toBeNull()
  })

  test.each([
    [1000, 5],
    [1001, 5],
    [2001, 4],
    [5999, 1],
    [6800, 1],
    [900, 5],
  ])('at %i ms: %i s', (nowMs, seconds) => {
    expect(secondsLeft(offered, nowMs)).toBe(seconds)
  })
})

import fc from 'fast-check'
import { expect, test } from 'vitest'
import { NOBODY_STEERS, presence, roleOf, type Steering, type SteeringEvent, steer } from '../../src/server/steering.ts'

const came = (page: number, atMs = 0): SteeringEvent => ({ what: 'came', page, atMs })
const went = (page: number): SteeringEvent => ({ what: 'went', page })
const asks = (page: number, atMs = 0): SteeringEvent => ({ what: 'asks to steer', page, atMs })
const time = (atMs: number): SteeringEvent => ({ what: 'time passes', atMs })
const handsOver = (page: number): SteeringEvent => ({ what: 'hands over', page })
const here = (page: number, visible: boolean, atMs: number): SteeringEvent => ({ what: 'here', page, visible, atMs })
const after = (...events: SteeringEvent[]): Steering =>
  events.reduce((state, event) => steer(state, event).after, NOBODY_STEERS)

test.each<[string, Steering, number | null]>([
  ['the first page to connect steers', after(came(1)), 1],
  ['the second one watches', after(came(1), came(2)), 1],
  ['asking alone changes nothing', after(came(1), came(2), asks(2)), 1],
  ['handing over gives it to the page that asked', after(came(1), came(2), asks(2), handsOver(1)), 2],
  ['the one that asked first gets it', after(came(1), came(2), came(3), asks(3), asks(2), handsOver(1)), 3],
  ['an asker that left does not', after(came(1), came(2), came(3), asks(3), asks(2), went(3), handsOver(1)), 2],
  ['handing over to nobody keeps it', after(came(1), came(2), handsOver(1)), 1],
  ['a watching page cannot hand it over', after(came(1), came(2), came(3), asks(3), handsOver(2)), 1],
  ['nobody steers once that page has gone', after(came(1), came(2), went(1)), null],
  ['not even a page that had asked', after(came(1), came(2), asks(2), went(1)), null],
  ['then a page that asks gets it at once', after(came(1), came(2), went(1), asks(2)), 2],
  ['or the next one to connect', after(came(1), came(2), went(1), came(3)), 3],
  ['hidden for 10 s it still steers', after(came(1), came(2), here(1, false, 9), asks(2, 10_000)), 1],
  ['hidden for longer it gives way to who asks', after(came(1), came(2), here(1, false, 9), asks(2, 10_001)), 2],
  ['silent for longer it gives way to who had asked', after(came(1), came(2), asks(2), time(10_001)), 2],
  ['to the one that asked first', after(came(1), came(2), came(3), asks(3), asks(2), time(10_001)), 3],
  ['hidden for an hour it steers while nobody asks', after(came(1), came(2), here(1, false, 9), time(3_600_000)), 1],
  ['seen in between it stays', after(came(1), came(2), asks(2), here(1, true, 9_000), time(19_000)), 1],
  [
    'a hidden sign of life does not count as seen',
    after(came(1), came(2), asks(2), here(1, false, 9_000), time(10_001)),
    2,
  ],
  ['a watching page that leaves changes nothing', after(came(1), came(2), went(2)), 1],
])('%s', (_, state, steers) => expect(state.steers).toBe(steers))

test('tells each page its part, and both sides that somebody asked', () => {
  const state = after(came(1), came(2), came(3), asks(2))
  expect([1, 2, 3].map((page) => roleOf(state, page))).toEqual([
    { steering: 'you', asked: true },
    { steering: 'another', asked: true },
    { steering: 'another', asked: false },
  ])
  expect(roleOf(after(came(1), came(2), asks(2), went(1)), 2)).toEqual({ steering: 'nobody', asked: false })
})

test.each([
  [
    'asking while another steers',
    after(came(1), came(2)),
    asks(2),
    true,
    'Asked. The page that steers has to hand over.',
  ],
  ['asking while nobody steers', after(came(1), came(2), went(1)), asks(2), true, 'This page steers now.'],
  [
    'asking while nobody is at the page that steers',
    after(came(1), came(2)),
    asks(2, 10_001),
    true,
    'This page steers now: nobody is at the other one.',
  ],
  ['asking when it steers', after(came(1)), asks(1), true, 'This page steers already.'],
  ['handing over', after(came(1), came(2), asks(2)), handsOver(1), true, 'Handed over. This page watches now.'],
  ['handing over to nobody', after(came(1), came(2)), handsOver(1), false, 'no other page has asked to steer'],
  ['handing over what it has not', after(came(1), came(2)), handsOver(2), false, 'this page does not steer'],
])('a page %s is told so', (_, before, event, ok, words) => {
  expect(steer(before, event)).toMatchObject({ ok, words })
})

test.each([
  ['just connected', after(came(1, 0)), 0, true, 'the page that steers is here'],
  ['silent for 5.0 s', after(came(1, 0)), 5_000, true, 'the page that steers is here'],
  ['silent for more', after(came(1, 0)), 5_001, false, 'the page that steers has said nothing for 5 s'],
  ['heard again', after(came(1, 0), here(1, true, 6_000)), 11_000, true, 'the page that steers is here'],
  ['hidden', after(came(1, 0), here(1, false, 1_000)), 1_000, false, 'the page that steers is hidden'],
  [
    'shown again',
    after(came(1, 0), here(1, false, 1_000), here(1, true, 2_000)),
    2_000,
    true,
    'the page that steers is here',
  ],
  ['gone', after(came(1, 0), came(2, 0), went(1)), 0, false, 'the page that steers is gone'],
  [
    'there, but only a watching page speaks',
    after(came(1, 0), came(2, 0), here(2, true, 9_000)),
    9_000,
    false,
    'the page that steers has said nothing for 5 s',
  ],
])('the page that steers is %s', (_, state, nowMs, present, why) => {
  expect(presence(state, nowMs)).toEqual({ present, why })
})

test('whatever happens, steering passes from one connected page to another only by its own hand-over, or when it was not seen for 10 s', () => {
  const page = fc.integer({ min: 1, max: 4 })
  const event = fc.oneof(
    page.map((n) => came(n)),
    page.map(went),
    page.map((n) => asks(n)),
    page.map(handsOver),
    fc.tuple(page, fc.boolean()).map(([n, visible]) => here(n, visible, 0)),
    fc.constant(time(0)),
  )
  const stepMs = fc.integer({ min: 0, max: 8_000 })
  fc.assert(
    fc.property(fc.array(fc.tuple(event, stepMs), { maxLength: 60 }), (events) => {
      let state: Steering = NOBODY_STEERS
      let nowMs = 0
      const seenMs = new Map<number, number>()
      for (const [kind, passedMs] of events) {
        nowMs += passedMs
        const next = 'atMs' in kind ? { ...kind, atMs: nowMs } : kind
        const known = 'page' in next && state.pages.some((each) => each.page === next.page)
        if ('page' in next && known === (next.what === 'came')) continue // a page comes once, and speaks only while it is there
        if (next.what === 'came' || (next.what === 'here' && next.visible)) seenMs.set(next.page, nowMs)
        const before = state
        state = steer(before, next).after
        const numbers = state.pages.map((each) => each.page)
        expect(state.steers === null || numbers.includes(state.steers)).toBe(true)
        expect(state.askers.every((asker) => numbers.includes(asker) && asker !== state.steers)).toBe(true)
        expect(new Set(state.askers).size).toBe(state.askers.length)
        if (before.steers === null || state.steers === before.steers) continue
        const unseen = nowMs - (seenMs.get(before.steers) ?? nowMs) > 10_000
        if (next.what === 'asks to steer' || next.what === 'time passes') expect(unseen).toBe(true)
        else expect([went(before.steers), handsOver(before.steers)]).toContainEqual(next)
      }
    }),
    { numRuns: 500, seed: 20260105 },
  )
})

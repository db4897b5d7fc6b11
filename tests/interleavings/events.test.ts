import fc from 'fast-check'
import { expect, test } from 'vitest'
import { seededRng } from '../../src/system/rng.ts'
import { type Event, eventsOf, inWords } from './events.ts'

const ALL = { processes: ['service', 'keeper', 'standby'] } as const

test('the same seed is the same list, in the order of time', () => {
  fc.assert(
    fc.property(fc.nat(), (seed) => {
      const events = eventsOf(seededRng(seed), ALL)
      expect(eventsOf(seededRng(seed), ALL)).toEqual(events)
      expect(events.map(({ atMs }) => atMs)).toEqual(events.map(({ atMs }) => atMs).toSorted((a, b) => a - b))
    }),
  )
})

test('every kind of event comes up, to every process, and only to those that there are', () => {
  const kinds = new Set<string>()
  const hit = new Set<string>()
  for (let seed = 0; seed < 400; seed += 1)
    for (const event of eventsOf(seededRng(seed), ALL)) {
      kinds.add(event.what === 'link' ? `link ${event.fault.kind}` : event.what)
      if (event.what === 'freeze' || event.what === 'kill') hit.add(`${event.what} ${event.who}`)
    }
  expect([...hit].toSorted()).toEqual(
    ['freeze', 'kill'].flatMap((what) => ['keeper', 'service', 'standby'].map((who) => `${what} ${who}`)),
  )
  const links = ['cut', 'garble', 'late', 'mute', 'stall', 'twice'].map((kind) => `link ${kind}`)
  const others = ['press', 'stop', 'hide', 'show', 'open', 'key', 'channel', 'freeze', 'kill', 'meter']
  expect([...kinds].toSorted()).toEqual([...links, ...others, 'slow journal', 'slow oscillator'].toSorted())
  const two = { processes: ['service', 'keeper'] } as const
  for (let seed = 0; seed < 400; seed += 1)
    for (const event of eventsOf(seededRng(seed), two)) expect(event).not.toMatchObject({ who: 'standby' })
})

test('an event is told with its time', () => {
  const event: Event = { what: 'link', fault: { kind: 'late', ms: 300 }, ms: 1200, atMs: 1250 }
  expect(inWords(event)).toBe('1.250 s  supply link: late by 300 ms for 1200 ms')
})

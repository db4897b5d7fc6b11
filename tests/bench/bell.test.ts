import { expect, test } from 'vitest'
import { Bell } from '../../src/bench/bell.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { never, rejectionOf } from '../kit/links/instrument-deps.ts'

test('a sleeper wakes at its time, 100 ms', async () => {
  const clock = virtualClock()
  await clock.runUntil(new Bell().waitUntil(100, clock, never()))
  expect(clock.nowMs()).toBe(100)
})

test('a rung sleeper wakes at once and leaves nobody asleep on the clock', async () => {
  const clock = virtualClock()
  const bell = new Bell()
  const waiting = bell.waitUntil(100, clock, never())
  bell.ring()
  await waiting
  expect(clock.nowMs()).toBe(0)
  await expect(clock.runUntil(new Promise(() => {}))).rejects.toThrow('nobody sleeps on the clock')
})

test('without a time only the bell wakes', async () => {
  const clock = virtualClock()
  const bell = new Bell()
  let woken = false
  const waiting = bell.waitUntil(null, clock, never()).then(() => {
    woken = true
  })
  await clock.advance(1e9)
  expect(woken).toBe(false)
  bell.ring()
  await waiting
  expect(woken).toBe(true)
})

test('an abort rejects with its reason untouched, asleep or not', async () => {
  const clock = virtualClock()
  const stop = new AbortController()
  const reason = new Error('stop')
  const waiting = rejectionOf(clock, new Bell().waitUntil(100, clock, stop.signal))
  stop.abort(reason)
  expect(await waiting).toBe(reason)
  expect(await rejectionOf(clock, new Bell().waitUntil(null, clock, stop.signal))).toBe(reason)
})

test('a ring that nobody waits for is lost, not saved up', async () => {
  const clock = virtualClock()
  const bell = new Bell()
  bell.ring()
  await clock.runUntil(bell.waitUntil(100, clock, never()))
  expect(clock.nowMs()).toBe(100)
})

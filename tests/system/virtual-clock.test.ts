import { expect, test } from 'vitest'
import { sleep } from '../../src/system/clock.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'

const never = new AbortController().signal

test('an hour passes at once', async () => {
  const clock = virtualClock()
  await clock.runUntil(sleep(clock, 3_600_000, never))
  expect(clock.nowMs()).toBe(3_600_000)
})

test('time stands still for work that lives in real time, failed work too, and goes on after it', async () => {
  const clock = virtualClock()
  const work = new Promise<number>((resolve) => setTimeout(() => resolve(clock.nowMs()), 30))
  const failing = new Promise((_, reject) => setTimeout(() => reject(new Error('no')), 60))
  failing.catch(() => {})
  clock.standFor(work)
  clock.standFor(failing)
  await clock.runUntil(sleep(clock, 5000, never))
  expect(await work).toBe(0)
  expect(clock.nowMs()).toBe(5000)
  const later = new Promise<number>((resolve) => setTimeout(() => resolve(clock.nowMs()), 30))
  clock.standFor(later)
  await clock.advance(1000)
  expect(await later).toBe(5000)
})

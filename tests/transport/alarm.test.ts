import { expect, test } from 'vitest'
import type { Clock } from '../../src/system/clock.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { Alarm } from '../../src/transport/alarm.ts'

/** A virtual clock that counts who sleeps on it. */
function countingClock() {
  const clock = virtualClock()
  let sleeping = 0
  let most = 0
  const counted: Clock = {
    ...clock,
    sleepUntil: async (dueMs, signal) => {
      sleeping += 1
      most = Math.max(most, sleeping)
      try {
        await clock.sleepUntil(dueMs, signal)
      } finally {
        sleeping -= 1
      }
    },
  }
  return { clock, counted, sleeping: () => sleeping, most: () => most }
}

test('rings once at its time, and at the newer time when moved before it rang', async () => {
  const { clock, counted } = countingClock()
  const rungMs: number[] = []
  const alarm = new Alarm(counted, () => rungMs.push(clock.nowMs()))
  alarm.set(100)
  alarm.set(250)
  await clock.advance(240)
  expect(rungMs).toEqual([])
  await clock.advance(60)
  alarm.set(400)
  alarm.set(350)
  await clock.advance(1000)
  expect(rungMs).toEqual([250, 350])
})

test('a cleared alarm does not ring', async () => {
  const { clock, counted } = countingClock()
  let rung = 0
  const alarm = new Alarm(counted, () => {
    rung += 1
  })
  alarm.set(100)
  alarm.clear()
  await clock.advance(1000)
  expect(rung).toBe(0)
})

test('10000 deadlines set and cleared keep at most one sleeper, and none after a stop', async () => {
  const { clock, counted, sleeping, most } = countingClock()
  const alarm = new Alarm(counted, () => {})
  for (let exchange = 0; exchange < 10_000; exchange++) {
    alarm.set(clock.nowMs() + 2000)
    alarm.clear()
    if (exchange % 100 === 0) await clock.advance(100)
  }
  expect(most()).toBe(1)
  alarm.set(clock.nowMs() + 2000)
  alarm.stop()
  await clock.advance(0)
  expect(sleeping()).toBe(0)
})

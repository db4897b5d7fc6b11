import { expect, test, vi } from 'vitest'
import { sleep } from '../../src/system/clock.ts'
import { deadline, hardlyPast, untilAborted, within } from '../../src/system/deadline.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'

const never = new AbortController().signal

test('a deadline tells at its time and not before, and nothing once it is called off', async () => {
  const clock = virtualClock()
  const late = vi.fn<() => void>()
  const other = vi.fn<() => void>()
  deadline(clock, 500, late)
  const inTime = deadline(clock, 500, other)
  await clock.advance(499)
  expect(late).not.toHaveBeenCalled()
  inTime()
  await clock.advance(1000)
  expect(late).toHaveBeenCalledOnce()
  expect(other).not.toHaveBeenCalled()
})

test('work in time gives its own value, or throws its own reason', async () => {
  const clock = virtualClock()
  const done = sleep(clock, 99, never).then(() => 'done')
  expect(await clock.runUntil(within(clock, 100, done, () => 'late'))).toBe('done')
  const failed = sleep(clock, 99, never).then(() => Promise.reject(new Error('no')))
  await expect(clock.runUntil(within(clock, 100, failed, () => 'late'))).rejects.toThrow('no')
  expect(clock.nowMs()).toBe(198)
})

test('work that is late gives what stands in for it, or throws that; what comes of it later disturbs nobody', async () => {
  const clock = virtualClock()
  const failed = sleep(clock, 101, never).then(() => Promise.reject(new Error('no')))
  expect(await clock.runUntil(within(clock, 100, failed, () => 'late'))).toBe('late')
  const hung = new Promise<never>(() => {})
  const tooLate = () => {
    throw new Error('too late')
  }
  await expect(clock.runUntil(within(clock, 100, hung, tooLate))).rejects.toThrow('too late')
  await clock.advance(1000)
})

test('after the work nothing sleeps on', async () => {
  const ended: unknown[] = []
  const clock = virtualClock()
  const watched = {
    ...clock,
    sleepUntil: (dueMs: number, signal: AbortSignal) => {
      signal.addEventListener('abort', () => ended.push(dueMs))
      return clock.sleepUntil(dueMs, signal)
    },
  }
  await within(watched, 5000, Promise.resolve(), () => {})
  expect(ended).toEqual([5000])
})

test('an abort is waited for, and is there at once where it was before', async () => {
  const stop = new AbortController()
  const seen = untilAborted(stop.signal)
  stop.abort()
  await seen
  await untilAborted(stop.signal)
})

test('work that goes on past an abort is left behind when its time is up', async () => {
  const clock = virtualClock()
  const stop = new AbortController()
  const left = vi.fn<() => void>()
  const hung = hardlyPast(new Promise<never>(() => {}), stop.signal, clock, () => 20, left)
  hung.catch(() => {})
  await clock.advance(1000)
  expect(left).not.toHaveBeenCalled()
  stop.abort('enough')
  await clock.advance(19)
  expect(left).not.toHaveBeenCalled()
  await clock.advance(1)
  expect(left).toHaveBeenCalledOnce()
  await expect(hung).rejects.toBe('enough')
  const before = hardlyPast(new Promise<never>(() => {}), stop.signal, clock, () => 20)
  await expect(clock.runUntil(before)).rejects.toBe('enough')
})

test('work that gives up by itself after an abort is not left behind, and has the last word', async () => {
  const clock = virtualClock()
  const stop = new AbortController()
  const left = vi.fn<() => void>()
  const work = sleep(clock, 10, never).then(() => 'its own')
  stop.abort('enough')
  expect(await clock.runUntil(hardlyPast(work, stop.signal, clock, () => 20, left))).toBe('its own')
  await clock.advance(1000)
  expect(left).not.toHaveBeenCalled()
})

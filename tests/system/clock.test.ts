import { afterEach, expect, test, vi } from 'vitest'
import { realClock } from '../../src/system/clock.ts'

afterEach(() => vi.useRealTimers())

test('the wall time of real work is the clock of the computer, also after it was set; waiting is not moved by it', () => {
  const clock = realClock()
  const beforeMs = clock.nowMs()
  vi.useFakeTimers({ toFake: ['Date'], now: Date.UTC(2031, 4, 6, 7, 8, 9) })
  expect(clock.wallTime()).toBe('2031-05-06T07:08:09.000Z')
  vi.setSystemTime(Date.UTC(2024, 0, 1))
  expect(clock.wallTime()).toBe('2024-01-01T00:00:00.000Z')
  expect(clock.nowMs() - beforeMs).toBeLessThan(5000)
})

test('a paced clock makes its own time, the same in every process', () => {
  vi.useFakeTimers({ toFake: ['Date'], now: Date.UTC(2031, 4, 6) })
  const originMs = performance.timeOrigin + performance.now()
  const clock = realClock({ times: 60, originMs })
  const wallMs = Date.parse(clock.wallTime())
  expect(wallMs).toBeGreaterThanOrEqual(Math.floor(originMs))
  expect(wallMs).toBeLessThan(originMs + 60 * 5000)
})

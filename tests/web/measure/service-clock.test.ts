import { describe, expect, test } from 'vitest'
import { type ServiceClock, serviceNow, setClock } from '../../../web/measure/service-clock.ts'

describe('the service clock as a page sees it', () => {
  test('a page whose own clock is ten minutes off knows the age of a reading to 1 ms', () => {
    const clock = setClock(null, 5_000, 605_000)
    expect(serviceNow(clock, 605_250)).toBe(5_250)
  })

  test('a late message does not set the clock back', () => {
    let clock: ServiceClock | null = setClock(null, 1_000, 0)
    clock = setClock(clock, 1_020, 100)
    expect(serviceNow(clock, 200)).toBe(1_200)
  })

  test('an earlier message sets it forward', () => {
    let clock: ServiceClock | null = setClock(null, 1_000, 50)
    clock = setClock(clock, 1_100, 110)
    expect(serviceNow(clock, 200)).toBe(1_190)
  })

  test('a service clock that runs slow by 0.1 ms a second is followed', () => {
    let clock: ServiceClock | null = null
    for (let second = 0; second <= 600; second += 1) clock = setClock(clock, second * 999.9, second * 1000)
    expect(Math.abs(serviceNow(clock, 600_000) - 600 * 999.9)).toBeLessThan(1)
  })

  test('a service that started again is taken at its word', () => {
    const clock = setClock(setClock(null, 900_000, 1_000), 40, 2_000)
    expect(serviceNow(clock, 2_000)).toBe(40)
  })
})

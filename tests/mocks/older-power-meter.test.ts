import { describe, expect, test } from 'vitest'
import { shownAs } from '../../mocks/instruments/older-power-meter.ts'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { memoryBench } from './kit.ts'

async function keyed(key = true) {
  const made = await memoryBench({ kind: 'older', asFound: RIGHT })
  await made.power(13.8)
  made.bench.set.channel(20)
  made.bench.set.key(key)
  await made.clock.advance(2000)
  const meter = made.client('wattmeter', '\r')
  return {
    ...made,
    ask: (text: string) => made.run(() => meter.ask(text, 2000)),
    tell: (text: string) => made.run(() => meter.tell(text)),
  }
}

test('ten characters ended by a carriage return: letter, number in columns 4 to 9, unit', async () => {
  const { ask } = await keyed()
  const reply = (await ask('R')) ?? ''
  expect(reply).toMatch(/^N {2}\d{3}\.\d{2}W$/)
  expect(Number(reply.slice(3, 9))).toBeGreaterThan(3.3)
  expect(Number(reply.slice(3, 9))).toBeLessThan(4)
})

test('an unkeyed set is S, a held display H with the old number, let go N again', async () => {
  const { ask, tell, bench, clock } = await keyed()
  const before = await ask('R')
  await tell('F')
  bench.set.key(false)
  await clock.advance(2000)
  expect(await ask('R')).toBe(`H${before?.slice(1)}`)
  await tell('G')
  expect(await ask('R')).toBe('S  ------W')
})

test('it knows no standard: *IDN? is answered with "?", and I says who it is', async () => {
  const { ask } = await keyed(false)
  expect(await ask('*IDN?')).toBe('?')
  expect(await ask('I')).toBe('TRIMWRIGHT SIMULATED OLDER POWER METER SIM0008')
})

describe('what is shown for a power', () => {
  test.each([
    [3.849, true, 'N  003.85W'],
    [99.99, true, 'N  099.99W'],
    [100.01, true, 'O  ------W'],
    [0.85, true, 'N  0850.0m'],
    [0.9999, true, 'N  0999.9m'],
    [0.004, true, 'U  ------m'],
    [0.004, false, 'S  ------W'],
  ])('%d W, carrier %s: %s', (watts, carrier, shown) => {
    expect(shownAs(watts, carrier)).toBe(shown)
  })
})

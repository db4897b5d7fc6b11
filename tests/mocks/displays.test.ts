import { expect, test } from 'vitest'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { memoryBench } from './kit.ts'

async function noSocket() {
  const made = await memoryBench({ kind: 'no-socket', asFound: RIGHT })
  await made.power(13.8)
  const { set } = made.bench
  set.channel(20)
  set.microphone('oscillator')
  for (const text of ['FREQ 1000', 'VOLT 0.03', 'OUTP ON']) await made.run(() => made.client('oscillator').tell(text))
  return made
}

test('meters without a socket have no address, and show power to 0.05 W and both peaks of deviation', async () => {
  const { bench, clock } = await noSocket()
  expect(Object.keys(bench.addresses).toSorted()).toEqual(['counter', 'oscillator', 'supply', 'volts'])
  bench.set.key(true)
  await clock.advance(3000)
  const { 'RF power': watts = '', 'FM deviation': peaks = '', ...others } = bench.displays()
  expect(others).toEqual({})
  expect(watts).toMatch(/^\d\.\d[05] W$/)
  expect(Math.abs(Number.parseFloat(watts) - 3.85)).toBeLessThan(0.3)
  expect(peaks).toMatch(/^\d\.\d\d \/ \d\.\d\d kHz$/)
  const [up = 0, down = 0] = peaks.split(' / ').map(Number.parseFloat)
  expect(Math.abs(up - 1.8)).toBeLessThan(0.15)
  expect(down).toBeLessThan(up)
})

test('an unkeyed set shows 0.00 W and no deviation; the pointer takes its time to come up', async () => {
  const { bench, clock } = await noSocket()
  await clock.advance(1000)
  expect(bench.displays()).toEqual({ 'RF power': '0.00 W', 'FM deviation': '---' })
  bench.set.key(true)
  await clock.advance(200)
  const early = Number.parseFloat(bench.displays()['RF power'] ?? '')
  await clock.advance(2000)
  expect(early).toBeLessThan(0.7 * Number.parseFloat(bench.displays()['RF power'] ?? ''))
})

test('the other benches show nothing to read off', async () => {
  const { bench } = await memoryBench()
  expect(bench.displays()).toEqual({})
})

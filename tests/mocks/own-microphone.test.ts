import { expect, test } from 'vitest'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { createPlant } from '../../mocks/plant/plant.ts'
import { seededRng } from '../../src/system/rng.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import sheet from '../reference/transmit-sheet.json'
import { memoryBench } from './kit.ts'

const SEEDS = Array.from({ length: 20 }, (_, at) => at + 1)

async function keyedWithOwnMicrophone(seed: number) {
  const made = await memoryBench({ asFound: RIGHT, rng: seededRng(seed) })
  const { set } = made.bench
  await made.power(13.8)
  set.channel(20)
  set.microphone('own')
  set.key(true)
  await made.clock.advance(2000)
  const meter = made.client('modmeter')
  /** The highest of both peaks within 5 s. */
  const highest = async () => {
    let most = 0
    for (const endMs = made.clock.nowMs() + 1000 * sheet.A17b.withinS; made.clock.nowMs() < endMs; ) {
      const peaks = ((await made.run(() => meter.ask('READ:FM?'))) ?? '').split(',').map(Number)
      most = Math.max(most, ...peaks)
    }
    return most
  }
  return { ...made, set, highest }
}

test.each(SEEDS)(
  'A17b, seed %i: whistling shows 1.0 to 2.0 kHz within 5 s; the workshop alone stays under 0.3 kHz',
  async (seed) => {
    const { set, highest } = await keyedWithOwnMicrophone(seed)
    expect(await highest()).toBeLessThan(300)
    set.whistle(true)
    const loud = await highest()
    expect(loud).toBeGreaterThan(sheet.A17b.low)
    expect(loud).toBeLessThan(sheet.A17b.high)
    set.whistle(false)
    await highest()
    expect(await highest()).toBeLessThan(300)
  },
)

test('whistling follows PD, and does nothing while the microphone is out', async () => {
  const { set, highest } = await keyedWithOwnMicrophone(7)
  set.whistle(true)
  set.turn('PD', 0.12)
  expect(await highest()).toBeGreaterThan(sheet.A17b.high)
  set.microphone('nothing')
  await highest()
  expect(await highest()).toBeLessThan(80)
})

test('the same whistle is heard whether the meters look every 10 ms or every 700 ms', async () => {
  const heard = async (everyMs: number) => {
    const clock = virtualClock()
    const plant = createPlant({ clock, rng: seededRng(3), positions: RIGHT, warm: true, coverHz: 12 })
    plant.change(({ radio, supply }) => {
      supply.setVolts = 13.8
      supply.on = true
      Object.assign(radio, { microphone: 'own', whistling: true, channel: 20 })
    })
    await clock.advance(500)
    let sum = 0
    plant.follow((dtMs, during) => {
      sum += during.deviation.up * dtMs
    })
    plant.change(({ radio }) => {
      radio.keyPressed = true
    })
    for (let ms = 0; ms < 4200; ms += everyMs) {
      await clock.advance(everyMs)
      plant.observe()
    }
    return sum / 4200
  }
  const seldom = await heard(700)
  expect(await heard(10)).toBeCloseTo(seldom, 3)
  expect(seldom).toBeGreaterThan(1000)
})

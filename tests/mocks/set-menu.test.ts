import { expect, test } from 'vitest'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { MENU, MENU_ARRIVES, type MenuItem } from '../../mocks/plant/menu.ts'
import { createPlant } from '../../mocks/plant/plant.ts'
import { createSimulatedSet, SETTINGS } from '../../mocks/plant/simulated-set.ts'
import { seededRng } from '../../src/system/rng.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'

const ITEMS = Object.keys(MENU).filter((name): name is MenuItem => name in MENU)

/** A set on its own, supplied with 13.8 V, channel 20. */
async function suppliedSet() {
  const clock = virtualClock()
  const plant = createPlant({ clock, rng: seededRng(1), positions: RIGHT, warm: true, coverHz: 12 })
  const set = createSimulatedSet(plant, seededRng(2))
  plant.change(({ supply }) => {
    supply.setVolts = 13.8
    supply.limitAmps = 2.5
    supply.on = true
  })
  await clock.advance(500)
  set.channel(20)
  return { clock, plant, set, onAir: () => plant.observe().transmitting }
}

test('the settings as it arrives, in the words of the display', async () => {
  const { set } = await suppliedSet()
  expect(set.settings()).toEqual({
    'key click': 'on',
    'time-out timer': '60 s',
    brightness: '3',
    'end-of-call tone': 'off',
    'call channel': '9',
    band: 'cept',
  })
  expect(set.view().settings).toEqual(set.settings())
})

test.each(ITEMS)('every value of "%s" can be set, and nothing else moves', async (item) => {
  const { set } = await suppliedSet()
  for (const value of SETTINGS[item] ?? []) {
    set.setting(item, value)
    expect(set.settings()).toEqual({ ...MENU_ARRIVES, band: 'cept', [item]: value })
  }
  expect(set.view().channel).toBe(20)
})

test('the band is one of the settings', async () => {
  const { set } = await suppliedSet()
  set.setting('band', 'de-low')
  expect(set.settings()).toMatchObject({ band: 'de-low' })
  expect(set.view()).toMatchObject({ band: 'de-low', channel: 41 })
})

test.each([
  ['brightness', '6'],
  ['time-out timer', '61 s'],
  ['time-out timer', 'cept'],
  ['call channel', '0'],
  ['band', 'moon'],
  ['squelch', 'on'],
  ['__proto__', 'on'],
])('setting "%s" to "%s" is a mistake', async (name, value) => {
  const { set } = await suppliedSet()
  const before = set.settings()
  expect(() => set.setting(name, value)).toThrow(new TypeError(`the set has no ${name} "${value}"`))
  expect(set.settings()).toEqual(before)
})

test('changing a setting switches off and on: the key comes up, without an end-of-call tone', async () => {
  const { set, onAir, clock } = await suppliedSet()
  set.setting('end-of-call tone', 'on')
  set.key(true)
  await clock.advance(1000)
  set.setting('brightness', '5')
  expect(set.view()).toMatchObject({ key: false, onAir: false })
  expect(onAir()).toBe(false)
})

test.each([15, 60, 180])('a time-out timer of %i s ends the transmission then, within 1 ms', async (seconds) => {
  const { set, onAir, clock } = await suppliedSet()
  set.setting('time-out timer', `${seconds} s`)
  set.key(true)
  await clock.advance(1000 * seconds - 1)
  expect(onAir()).toBe(true)
  await clock.advance(2)
  expect(onAir()).toBe(false)
  expect(set.view()).toMatchObject({ key: true, onAir: false, timedOut: true })
})

test('a set that timed out draws receive current and stays silent until the key is released and pressed again', async () => {
  const { set, onAir, clock, plant } = await suppliedSet()
  set.setting('time-out timer', '15 s')
  set.setting('end-of-call tone', 'on')
  set.key(true)
  await clock.advance(40_000)
  expect(plant.observe()).toMatchObject({ transmitting: false, carrierHz: null, loadWatts: 0 })
  expect(plant.observe().amps).toBeCloseTo(0.3, 3)
  set.key(true)
  expect(onAir()).toBe(false)
  set.key(false)
  expect(set.view()).toMatchObject({ onAir: false, timedOut: false })
  set.key(true)
  expect(onAir()).toBe(true)
  await clock.advance(14_900)
  expect(onAir()).toBe(true)
})

test('the timer counts one transmission, not the sum of several', async () => {
  const { set, onAir, clock } = await suppliedSet()
  set.setting('time-out timer', '15 s')
  for (let times = 0; times < 3; times += 1) {
    set.key(true)
    await clock.advance(10_000)
    expect(onAir()).toBe(true)
    set.key(false)
    expect(onAir()).toBe(false)
  }
})

test('with the timer off five minutes are one transmission', async () => {
  const { set, onAir, clock } = await suppliedSet()
  set.setting('time-out timer', 'off')
  set.key(true)
  await clock.advance(300_000)
  expect(onAir()).toBe(true)
})

test('looking often does not move the time-out', async () => {
  const { set, onAir, clock } = await suppliedSet()
  set.setting('time-out timer', '15 s')
  set.key(true)
  let ms = 0
  for (; onAir() && ms < 20_000; ms += 7) await clock.advance(7)
  expect(ms).toBeGreaterThanOrEqual(15_000)
  expect(ms).toBeLessThanOrEqual(15_007)
})

test('a supply that goes and comes back with the key held starts the timer again', async () => {
  const { plant, set, onAir, clock } = await suppliedSet()
  set.setting('time-out timer', '15 s')
  const supply = (on: boolean) =>
    plant.change((state) => {
      state.supply.on = on
    })
  set.key(true)
  await clock.advance(20_000)
  supply(false)
  await clock.advance(3000)
  supply(true)
  await clock.advance(1000)
  expect(onAir()).toBe(true)
})

test('the end-of-call tone modulates for 0.3 s after release while the carrier stays; off, the carrier goes at once', async () => {
  const { plant, set, onAir, clock } = await suppliedSet()
  set.key(true)
  await clock.advance(2000)
  set.key(false)
  expect(onAir()).toBe(false)
  set.setting('end-of-call tone', 'on')
  set.key(true)
  await clock.advance(2000)
  expect(plant.observe()).toMatchObject({ toneHz: 0, deviation: { up: 0 } })
  set.key(false)
  expect(plant.observe()).toMatchObject({ transmitting: true, toneHz: 1250 })
  expect(Math.abs(plant.observe().deviation.up - 1783)).toBeLessThan(5)
  expect(plant.observe().loadWatts).toBeGreaterThan(3.5)
  await clock.advance(299)
  expect(onAir()).toBe(true)
  await clock.advance(2)
  expect(plant.observe()).toMatchObject({ transmitting: false, toneHz: 0, deviation: { up: 0 } })
})

test('a new press within the tone cuts the tone and goes on transmitting', async () => {
  const { plant, set, clock } = await suppliedSet()
  set.setting('end-of-call tone', 'on')
  set.key(true)
  await clock.advance(1000)
  set.key(false)
  await clock.advance(100)
  set.key(true)
  expect(plant.observe()).toMatchObject({ transmitting: true, toneHz: 0 })
  await clock.advance(1000)
  expect(plant.observe().transmitting).toBe(true)
})

test('an unlocked set sounds no tone', async () => {
  const { plant, set, onAir, clock } = await suppliedSet()
  set.setting('end-of-call tone', 'on')
  plant.change(({ radioFaults }) => {
    radioFaults.add('transmit band switch')
  })
  set.key(true)
  await clock.advance(1000)
  set.key(false)
  expect(onAir()).toBe(false)
  expect(plant.state().radio.toneLeftMs).toBe(0)
})

test('what nobody looks at is as long: 15.000 s of carrier, and 0.300 s of tone after a release at an odd moment', async () => {
  const { plant, set, clock } = await suppliedSet()
  set.setting('time-out timer', '15 s')
  set.setting('end-of-call tone', 'on')
  let carrierMs = 0
  let toneMs = 0
  plant.follow((dtMs, during) => {
    if (during.transmitting) carrierMs += dtMs
    if (during.toneHz > 0) toneMs += dtMs
  })
  set.key(true)
  await clock.advance(37)
  plant.observe()
  await clock.advance(30_000)
  plant.observe()
  expect(carrierMs).toBeCloseTo(15_000, 1)
  set.key(false)
  set.key(true)
  await clock.advance(1000)
  set.key(false)
  await clock.advance(37)
  plant.observe()
  await clock.advance(2000)
  plant.observe()
  expect(carrierMs).toBeCloseTo(16_300, 1)
  expect(toneMs).toBeCloseTo(300, 1)
})

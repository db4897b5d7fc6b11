import { expect, test } from 'vitest'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { createPlant, type Plant, type PlantSetting } from '../../mocks/plant/plant.ts'
import { seededRng } from '../../src/system/rng.ts'
import { type VirtualClock, virtualClock } from '../../src/system/virtual-clock.ts'
import reference from '../reference/plant.json'

interface Bench {
  readonly clock: VirtualClock
  readonly plant: Plant
  on(volts: number, amps?: number): Promise<void>
  /** Channel 20; the set's own time-out stays out of the way of long key-downs. */
  key(down: boolean): void
}

function benchOf(more: Partial<PlantSetting> = {}): Bench {
  const clock = virtualClock()
  const plant = createPlant({ clock, rng: seededRng(1), positions: RIGHT, warm: true, coverHz: 12, ...more })
  return {
    clock,
    plant,
    on: async (volts, amps = 2.5) => {
      plant.change(({ supply }) => {
        supply.setVolts = volts
        supply.limitAmps = amps
        supply.on = true
      })
      await clock.advance(500)
    },
    key: (down) =>
      plant.change(({ radio }) => {
        radio.menu['time-out timer'] = 'off'
        radio.channel = 20
        radio.keyPressed = down
      }),
  }
}

const db = (a: number, b: number) => 10 * Math.log10(a / b)

test('droop with the preset wide open at 15.6 V is the noted one after 5, 15, 30 and 60 s, within 0.006 dB', async () => {
  const { plant, clock, on, key } = benchOf({ positions: { ...RIGHT, PW: 1 } })
  await on(15.6 + 0.05 * 1.39)
  key(true)
  const start = plant.observe().loadWatts
  const after = async (seconds: number) => {
    await clock.advance(seconds * 1000)
    return db(start, plant.observe().loadWatts)
  }
  const { droopDb } = reference
  expect(Math.abs((await after(5)) - droopDb['5'])).toBeLessThan(0.006)
  expect(Math.abs((await after(10)) - droopDb['15'])).toBeLessThan(0.006)
  expect(Math.abs((await after(15)) - droopDb['30'])).toBeLessThan(0.006)
  expect(Math.abs((await after(30)) - droopDb['60'])).toBeLessThan(0.006)
})

test('the final cools while unkeyed: after four minutes of rest the power is back within 0.005 dB', async () => {
  const { plant, clock, on, key } = benchOf({ positions: { ...RIGHT, PW: 1 } })
  await on(15.6)
  key(true)
  const start = plant.observe().loadWatts
  await clock.advance(60_000)
  expect(db(start, plant.observe().loadWatts)).toBeGreaterThan(0.1)
  key(false)
  await clock.advance(240_000)
  key(true)
  expect(db(start, plant.observe().loadWatts)).toBeLessThan(0.005)
})

test('looking more often does not change what happens', async () => {
  const rarely = benchOf({ positions: { ...RIGHT, PW: 1 } })
  const often = benchOf({ positions: { ...RIGHT, PW: 1 } })
  for (const { on, key } of [rarely, often]) {
    await on(15.6)
    key(true)
  }
  await rarely.clock.advance(20_000)
  for (let time = 0; time < 2000; time += 1) {
    await often.clock.advance(10)
    often.plant.observe()
  }
  expect(db(often.plant.observe().loadWatts, rarely.plant.observe().loadWatts)).toBeCloseTo(0, 3)
  expect(often.plant.observe().carrierHz).toBeCloseTo(rarely.plant.observe().carrierHz ?? 0, 1)
})

test('a cold set drifts down 79 Hz in half an hour, a warm one stays within 1 Hz', async () => {
  const drift = async (warm: boolean) => {
    const { plant, clock, on, key } = benchOf({ warm })
    await on(13.8)
    const sample = () => {
      key(true)
      const hz = plant.observe().carrierHz ?? 0
      key(false)
      return hz
    }
    const first = sample()
    await clock.advance(30 * 60_000)
    return sample() - first
  }
  expect(Math.abs((await drift(false)) + 78)).toBeLessThan(2)
  expect(Math.abs(await drift(true))).toBeLessThan(1)
})

test('two minutes of transmitting pull a warm set down 16 Hz', async () => {
  const { plant, clock, on, key } = benchOf()
  await on(13.8)
  key(true)
  const start = plant.observe().carrierHz ?? 0
  expect(Math.abs(start - 27.205e6)).toBeLessThan(2)
  await clock.advance(120_000)
  expect((plant.observe().carrierHz ?? 0) - start).toBeLessThan(-14)
  expect((plant.observe().carrierHz ?? 0) - start).toBeGreaterThan(-18)
})

test('without supply, and below 8 V at the plug, the key does nothing', async () => {
  const { plant, on, key } = benchOf()
  key(true)
  expect(plant.observe()).toMatchObject({ working: false, transmitting: false, loadWatts: 0, carrierHz: null, amps: 0 })
  await on(7.9)
  expect(plant.observe()).toMatchObject({ working: false, transmitting: false })
  await on(9)
  expect(plant.observe()).toMatchObject({ working: true, transmitting: true })
})

test('at the terminals 13.8 V the plug has 15 mV less in receive and 61 mV less in transmit', async () => {
  const { plant, on, key } = benchOf()
  await on(13.8)
  expect(13.8 - plant.observe().plugVolts).toBeCloseTo(0.015, 3)
  key(true)
  expect(13.8 - plant.observe().plugVolts).toBeCloseTo(0.061, 3)
})

test('a current limit of 0.8 A makes the voltage sag until the set draws 0.8 A', async () => {
  const { plant, clock, on, key } = benchOf()
  await on(13.8, 0.8)
  expect(plant.observe().limiting).toBe(false)
  key(true)
  await clock.advance(200)
  const now = plant.observe()
  expect(now.limiting).toBe(true)
  expect(now.amps).toBeCloseTo(0.8, 3)
  expect(now.terminalVolts).toBeLessThan(10.8)
  expect(now.transmitting).toBe(true)
})

test('a limit below what transmitting needs at all keeps the set from transmitting', async () => {
  const { plant, clock, on, key } = benchOf()
  await on(13.8, 0.6)
  key(true)
  await clock.advance(200)
  expect(plant.observe()).toMatchObject({ limiting: true, transmitting: false })
})

test('switched off, the output of a receiving set is under 8 V within 0.1 s and under 0.5 V within 0.7 s', async () => {
  const { plant, clock, on } = benchOf()
  await on(15.6)
  plant.change(({ supply }) => {
    supply.on = false
  })
  await clock.advance(120)
  expect(plant.observe().terminalVolts).toBeLessThan(8)
  expect(plant.observe().terminalVolts).toBeGreaterThan(4)
  await clock.advance(580)
  expect(plant.observe().terminalVolts).toBeLessThan(0.5)
  expect(plant.observe().amps).toBe(0)
})

test('a rise of the supply is 95 % done after 50 ms', async () => {
  const { plant, clock } = benchOf()
  plant.change(({ supply }) => {
    supply.setVolts = 10
    supply.on = true
  })
  await clock.advance(50)
  expect(plant.observe().terminalVolts).toBeGreaterThan(9.4)
  expect(plant.observe().terminalVolts).toBeLessThan(9.7)
})

test('the over-voltage trip latches within 60 ms, whether the voltage rises or the trip is lowered', async () => {
  const { plant, clock, on } = benchOf()
  await on(13.8)
  plant.change(({ supply }) => {
    supply.protectVolts = 14
    supply.setVolts = 15.6
  })
  await clock.advance(60)
  plant.observe()
  expect(plant.state().supply).toMatchObject({ on: false, tripped: 'voltage' })
  const lowered = benchOf()
  await lowered.on(13.8)
  lowered.plant.change(({ supply }) => {
    supply.protectVolts = 12
  })
  await lowered.clock.advance(5000)
  expect(lowered.plant.observe().terminalVolts).toBeLessThan(0.01)
  expect(lowered.plant.state().supply.tripped).toBe('voltage')
})

test('the current trip, when switched on, takes 50 ms in limit', async () => {
  const { plant, clock, on, key } = benchOf()
  await on(13.8, 0.8)
  plant.change(({ supply }) => {
    supply.currentTrip = true
  })
  key(true)
  await clock.advance(40)
  expect(plant.state().supply.tripped).toBe('no')
  await clock.advance(70)
  expect(plant.state().supply).toMatchObject({ tripped: 'current', on: false })
})

test('hand at RT pulls the carrier 20 Hz, hand at OK costs 0.05 dB, and both go when the hand leaves', async () => {
  const { plant, on, key } = benchOf()
  await on(13.8)
  key(true)
  const free = plant.observe()
  const near = (adjuster: 'RT' | 'OK' | null) => {
    plant.change(({ radio }) => {
      radio.handNear = adjuster
    })
    return plant.observe()
  }
  expect((near('RT').carrierHz ?? 0) - (free.carrierHz ?? 0)).toBeCloseTo(-20, 6)
  expect(db(free.loadWatts, near('OK').loadWatts)).toBeCloseTo(0.05, 6)
  expect(near(null)).toEqual(free)
})

test('an unlocked synthesiser holds the transmitter off and T1 sits at the rail', async () => {
  const { plant, on, key } = benchOf()
  await on(13.8)
  plant.change(({ radioFaults }) => {
    radioFaults.add('transmit band switch')
  })
  expect(plant.observe().controlVolts).toBeGreaterThan(2)
  key(true)
  expect(plant.observe()).toMatchObject({ transmitting: false, controlVolts: 0.3 })
})

test('the lower German band runs its control voltage down to about 0.8 V and its power to about 2.2 W', async () => {
  const { plant, on, key } = benchOf()
  await on(13.8)
  key(false)
  plant.change(({ radio }) => {
    radio.band = 'de-low'
    radio.channel = 41
  })
  expect(plant.observe().nominalHz).toBe(26.565e6)
  expect(plant.observe().controlVolts).toBeCloseTo(0.8, 1)
  plant.change(({ radio }) => {
    radio.keyPressed = true
  })
  expect(plant.observe().loadWatts).toBeCloseTo(2.17, 1)
})

test('the British band stays locked from channel 1 to 40 and its middle is at 2.4 V', async () => {
  const { plant, on } = benchOf()
  await on(13.8)
  const volts = (channel: number, key: boolean) => {
    plant.change(({ radio }) => {
      Object.assign(radio, { band: 'uk', channel, keyPressed: key })
    })
    return plant.observe()
  }
  expect(volts(1, false).nominalHz).toBe(27.60125e6)
  expect(volts(40, false).nominalHz).toBe(27.99125e6)
  expect(Math.abs(volts(20, false).controlVolts - 2.4)).toBeLessThan(0.05)
  expect(volts(1, true).transmitting).toBe(true)
  expect(volts(40, true).transmitting).toBe(true)
})

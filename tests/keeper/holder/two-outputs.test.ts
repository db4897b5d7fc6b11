import { readFileSync } from 'node:fs'
import { expect, test } from 'vitest'
import { createTwoOutputSupply } from '../../../mocks/instruments/supply.ts'
import { serveTcp } from '../../../mocks/links/tcp-line.ts'
import { ARRIVES } from '../../../mocks/plant/adjusters.ts'
import { createPlant } from '../../../mocks/plant/plant.ts'
import { createFaultBoard } from '../../../mocks/unit/faults.ts'
import { sampleFaults } from '../../../src/instrument/check-samples.ts'
import { openSupplyPort } from '../../../src/instrument/supply.ts'
import { openKeeperHere } from '../../../src/keeper/service/keeper-here.ts'
import { readYamlText } from '../../../src/schema/door/yaml-door.ts'
import { DriverFile } from '../../../src/schema/files/driver-file.ts'
import { realClock } from '../../../src/system/clock.ts'
import { silentLog } from '../../../src/system/log.ts'
import { seededRng } from '../../../src/system/rng.ts'
import type { Wait } from '../../../src/transport/link.ts'
import { benchEntry } from '../../kit/links/open-scripted.ts'
import { LIMITS } from '../fold-bench.ts'

const driverWith = (line: string) =>
  readYamlText(`${readFileSync('drivers/supply-scpi.yaml', 'utf8')}${line}\n`, 'two.yaml', DriverFile, {
    further: sampleFaults,
  })

/** Pressed so often that a finger gets between any two messages. */
const PANEL_MS = 3

/** A supply with two outputs behind a real socket, the radio on output 2; output 1 feeds something else with 5 V, and is picked at the panel again and again. */
async function onTwoOutputs(driver: DriverFile) {
  const clock = realClock({ times: 1, originMs: performance.timeOrigin })
  const rng = seededRng(7)
  const plant = createPlant({ clock, rng, positions: ARRIVES, warm: true, coverHz: 10 })
  const supply = createTwoOutputSupply(
    plant,
    { clock, rng, faults: createFaultBoard(clock, rng, () => false) },
    'SIM0009',
  )
  Object.assign(supply.first, { on: true, setVolts: 5, limitAmps: 1, protectVolts: 6 })
  const asBefore = { ...supply.first }
  const server = await serveTcp(supply)
  const panel = setInterval(() => supply.pick(1), PANEL_MS)
  const entry = { ...benchEntry('supply', 'supply-scpi'), at: server.address }
  const deps = { clock, log: silentLog }
  const stop = new AbortController()
  const open = (wait: Wait, again = false) => openSupplyPort(entry, driver, deps, wait, again)
  const port = await open({ ms: 5000, signal: stop.signal })
  const keeper = await openKeeperHere({
    port,
    reopen: (wait) => open(wait, true),
    ceilingVolts: 16.5,
    ceilingAmps: 4,
    dataFolder: null,
    deps,
    signal: stop.signal,
  })
  const radio = () => {
    const { on, setVolts, limitAmps, protectVolts } = plant.state().supply
    return { on, setVolts, limitAmps, protectVolts, volts: plant.observe().terminalVolts }
  }
  return {
    keeper,
    radio,
    supply,
    other: () => supply.first,
    asBefore,
    close: async () => {
      await keeper.close()
      clearInterval(panel)
      await server.close()
    },
  }
}

test("output 1 picked at the panel all the while: the keeper limits, raises, reads and proves off output 2, the radio's, and leaves output 1 as it was", {
  timeout: 40_000,
}, async () => {
  const it = await onTwoOutputs(driverWith('select: "INST:NSEL 2"'))
  try {
    const wish = it.keeper.wish()
    await wish.limits(LIMITS)
    expect(it.radio()).toMatchObject({ on: false, limitAmps: 0.8, protectVolts: 16.5 })
    await wish.on()
    expect(it.radio()).toMatchObject({ on: true, setVolts: 13.8 })
    await wish.set(15.6, 2.5)
    expect(it.radio()).toMatchObject({ on: true, setVolts: 15.6, limitAmps: 2.5 })
    expect(it.radio().volts).toBeCloseTo(15.6, 1)
    await expect.poll(() => it.keeper.latest().volts, { timeout: 3000 }).toBeCloseTo(15.6, 1)
    expect(it.keeper.latest().amps).toBeGreaterThan(0.2) // the radio draws; nothing does on output 1
    expect(it.other()).toEqual(it.asBefore)
    const off = await it.keeper.safe('stop control')
    expect(off.output).toBe('off')
    expect(it.radio()).toMatchObject({ on: false })
    expect(it.other()).toEqual(it.asBefore)
    await expect.poll(() => it.radio().setVolts, { timeout: 3000 }).toBe(13.8)
  } finally {
    await it.close()
  }
  expect(it.radio()).toMatchObject({ on: false, setVolts: 13.8 })
  expect(it.other()).toEqual(it.asBefore)
})

test('a driver that selects nothing is about whatever is picked: this is what the one above is spared', {
  timeout: 40_000,
}, async () => {
  const it = await onTwoOutputs(driverWith(''))
  try {
    await expect.poll(() => it.other().on, { timeout: 3000 }).toBe(false) // made safe at the start: not the radio's
  } finally {
    await it.close()
  }
})

import { fileURLToPath } from 'node:url'
import { describe, expect, test } from 'vitest'
import { openSimulatedBench } from '../../../mocks/simulated-bench.ts'
import type { InstrumentFault } from '../../../mocks/unit/faults.ts'
import { loadDriver } from '../../../src/instrument/load-driver.ts'
import { openSupplyPort } from '../../../src/instrument/supply.ts'
import { openKeeperHere } from '../../../src/keeper/service/keeper-here.ts'
import type { BenchEntry } from '../../../src/schema/files/bench-file.ts'
import { silentLog } from '../../../src/system/log.ts'
import { seededRng } from '../../../src/system/rng.ts'
import { virtualClock } from '../../../src/system/virtual-clock.ts'
import type { Wait } from '../../../src/transport/link.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { LIMITS } from '../fold-bench.ts'

const driver = loadDriver(fileURLToPath(new URL('../../../drivers', import.meta.url)), 'supply-scpi')

/** Keeper, driver, link and simulated supply, bytes and all, on a clock that jumps. */
async function onBench() {
  const clock = virtualClock()
  const stop = new AbortController()
  const bench = await openSimulatedBench({
    clock,
    rng: seededRng(3),
    log: silentLog,
    links: 'memory',
    signal: stop.signal,
    seed: null,
  })
  const entry: BenchEntry = {
    name: 'supply',
    driver: 'supply-scpi',
    at: bench.addresses.supply,
    quantity: null,
    measures: null,
    role: null,
    makes: null,
    answersAs: 'SUPPLY',
    pathLossDb: null,
    pathLossUncertaintyDb: null,
    vswr: null,
    calibrationDue: null,
    certificate: null,
    accuracy: null,
    inputOhms: null,
    inputIsolated: 'unknown',
    limits: null,
    crowbar: null,
    supplyLeadOhms: 0,
  }
  const deps = { clock, log: silentLog, memory: bench.net }
  const open = (wait: Wait) => openSupplyPort(entry, driver, deps, wait)
  const reopen = (wait: Wait) => openSupplyPort(entry, driver, deps, wait, true)
  const port = await clock.runUntil(open({ ms: 4000, signal: stop.signal }))
  const about = { port, reopen, ceilingVolts: 16.5, ceilingAmps: 4, dataFolder: null, deps, signal: stop.signal }
  const supply = await clock.runUntil(openKeeperHere(about))
  const acted: { why: string; proved: boolean }[] = []
  supply.onActed(({ why, proved }) => acted.push({ why: sentence(why), proved }))
  return { clock, bench, supply, acted }
}

async function highBench() {
  const it = await onBench()
  await it.clock.runUntil(it.supply.wish().limits(LIMITS))
  await it.clock.runUntil(it.supply.wish().set(15.6, 2.5))
  await it.clock.runUntil(it.supply.wish().on())
  it.bench.set.key(true)
  await it.clock.advance(1000)
  expect(it.bench.supplyTruth().volts).toBeGreaterThan(15.4)
  return it
}

describe('over the driver, the link and the simulated supply', () => {
  test('limits, on at 13.8 V, up to 15.6 V, normal, off: as measured at the terminals', async () => {
    const { clock, bench, supply, acted } = await onBench()
    await clock.runUntil(supply.wish().limits(LIMITS))
    await clock.runUntil(supply.wish().on())
    expect(bench.supplyTruth().volts).toBeCloseTo(13.8, 1)
    const beganMs = clock.nowMs()
    await clock.runUntil(supply.wish().set(15.6, 2.5))
    expect(bench.supplyTruth().volts).toBeCloseTo(15.6, 1)
    expect((clock.nowMs() - beganMs) / 1000).toBeGreaterThan(1.7)
    expect((clock.nowMs() - beganMs) / 1000).toBeLessThan(4)
    await clock.runUntil(supply.normal('step end'))
    expect(bench.supplyTruth().volts).toBeCloseTo(13.8, 1)
    await clock.runUntil(supply.safe('stop control'))
    expect(bench.supplyTruth().output).toBe('off')
    expect(acted).toEqual([])
    await clock.runUntil(supply.close())
  })

  test('normal while keyed at 15.6 V is at the supply within 0.1 s', async () => {
    const { clock, bench, supply } = await highBench()
    const normal = supply.normal('step end')
    await clock.advance(200)
    expect(bench.supplyTruth().volts).toBeLessThan(14)
    await clock.runUntil(normal)
    await clock.runUntil(supply.close())
  })

  test.each(['silent', 'half line', 'twice', 'stray byte', 'blank', 'overrange'] as const)(
    'one reply that is %s does not end a step',
    async (fault: InstrumentFault) => {
      const { clock, bench, supply, acted } = await highBench()
      for (let round = 0; round < 5; round++) {
        bench.faults.set('supply', fault, { kind: 'next', times: 1 })
        await clock.advance(3000)
      }
      expect(acted).toEqual([])
      expect(bench.supplyTruth().output).toBe('on')
      await clock.runUntil(supply.close())
    },
  )

  test('a supply that has fallen silent is switched off all the same within 1.5 s, though nothing proves it', async () => {
    const { clock, bench, supply, acted } = await highBench()
    bench.faults.set('supply', 'silent')
    await clock.advance(1500)
    expect(bench.supplyTruth().output).toBe('off')
    await clock.advance(2000)
    expect(acted).toEqual([{ why: expect.stringMatching(/^the supply could not be read for 1\.\d s$/), proved: false }])
    bench.faults.clear()
    await clock.advance(6000)
    expect(acted.at(-1)?.proved).toBe(true)
    await clock.runUntil(supply.close())
  })

  test('with every reply doubled the output goes off at once when it is told to', async () => {
    const { clock, bench, supply } = await highBench()
    bench.faults.set('supply', 'twice')
    await clock.advance(300)
    const off = supply.safe('stop control').catch(() => {}) // nothing can prove it
    await clock.advance(200)
    expect(bench.supplyTruth().output).toBe('off')
    bench.faults.clear()
    await clock.runUntil(off)
    await clock.runUntil(supply.close())
  })

  test('the cable pulled for 5 s while keyed: off as soon as it is back, and proved', async () => {
    const { clock, bench, supply, acted } = await highBench()
    bench.faults.set('supply', 'unplugged', { kind: 'always' }, { ms: 5000 })
    await clock.advance(4900)
    expect(acted).toMatchObject([{ proved: false, why: expect.stringMatching(/cable out/) }])
    await clock.advance(2500)
    expect(bench.supplyTruth().output).toBe('off')
    expect(acted.at(-1)?.proved).toBe(true)
    await expect(clock.runUntil(supply.wish().on())).rejects.toThrow(
      /the supply is kept off until somebody starts again \(the supply could not be read for 1\.\d s \(.*cable out\)\)/,
    )
    await clock.runUntil(supply.close())
  })

  test('the cable pulled on the way up: the order is refused for that, and off is said to be for that', async () => {
    const { clock, bench, supply, acted } = await onBench()
    await clock.runUntil(supply.wish().limits(LIMITS))
    await clock.runUntil(supply.wish().on())
    const refused = expect(supply.wish().set(15.6, 2.5)).rejects.toThrow(/cable out/)
    await clock.advance(800)
    bench.faults.set('supply', 'unplugged', { kind: 'always' }, { ms: 3000 })
    await clock.advance(2500)
    await refused
    expect(acted).toMatchObject([{ proved: false, why: expect.stringMatching(/cable out/) }])
    await clock.advance(3000)
    expect(acted.at(-1)?.proved).toBe(true)
    await clock.runUntil(supply.close())
  })

  test.each(['supply plug reversed', 'supply shorted'] as const)(
    '%s: 3 V and 0.1 A is all that leaves the supply, it is said, and the output is off',
    async (fault) => {
      const { clock, bench, supply, acted } = await onBench()
      bench.faults.radio(fault, true)
      await clock.runUntil(supply.wish().limits(LIMITS))
      const most = { volts: 0, amps: 0 }
      const refused = expect(supply.wish().on()).rejects.toThrow(
        /0\.(?:09|10) A flows at 3\.00 V: the supply plug may be reversed/,
      )
      for (let ms = 0; ms < 2000; ms += 5) {
        await clock.advance(5)
        const { volts, amps } = bench.supplyTruth()
        most.volts = Math.max(most.volts, volts)
        most.amps = Math.max(most.amps, amps)
      }
      await refused
      expect(most.volts).toBeLessThanOrEqual(3.0)
      expect(most.amps).toBeLessThanOrEqual(0.1001)
      expect(most.amps).toBeGreaterThan(0.09)
      expect(bench.supplyTruth().output).toBe('off')
      expect(acted).toMatchObject([{ proved: true }])
      await clock.runUntil(supply.close())
    },
  )

  test('the key down with the receive limit: current limit, off', async () => {
    const { clock, bench, supply, acted } = await onBench()
    await clock.runUntil(supply.wish().limits(LIMITS))
    await clock.runUntil(supply.wish().on())
    bench.set.key(true)
    await clock.advance(3000)
    expect(acted.map(({ why }) => why)).toEqual([
      expect.stringMatching(/^current limit: \d+\.\d\d V at 0\.[78]\d\d A, set to 13\.80 V$/),
    ])
    expect(bench.supplyTruth().output).toBe('off')
    await clock.runUntil(supply.close())
  })

  test('safe in 0.2 s on request, whatever the link is doing', async () => {
    for (const afterMs of [0, 20, 40, 60, 80, 100]) {
      const { clock, bench, supply } = await highBench()
      await clock.advance(afterMs)
      const off = supply.safe('stop control')
      await clock.advance(200)
      expect(bench.supplyTruth().output).toBe('off')
      await clock.runUntil(off)
      await clock.runUntil(supply.close())
    }
  })
})

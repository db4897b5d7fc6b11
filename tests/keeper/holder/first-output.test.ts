import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { openSimulatedBench } from '../../../mocks/simulated-bench.ts'
import { openKeeper } from '../../../src/keeper/service/keeper-client.ts'
import { realClock } from '../../../src/system/clock.ts'
import { silentLog } from '../../../src/system/log.ts'
import { seededRng } from '../../../src/system/rng.ts'
import { LIMITS } from '../fold-bench.ts'

test('a real keeper process, the plug reversed: never above 3 V and 0.1 A at the terminals, and whoever asked is told', {
  timeout: 60_000,
}, async () => {
  const folder = mkdtempSync(join(tmpdir(), 'first-output-'))
  const pace = { times: 1, originMs: performance.timeOrigin }
  const clock = realClock(pace)
  const stop = new AbortController()
  const setting = { clock, rng: seededRng(8), log: silentLog, links: 'real', signal: stop.signal, seed: null } as const
  const bench = await openSimulatedBench(setting)
  bench.faults.radio('supply plug reversed', true)
  const address = bench.addresses.supply
  const who = `supply (supply-scpi at ${address})`
  const limits = { ceilingVolts: 16.5, ceilingAmps: 4 }
  const start = { who, address, driver: 'supply-scpi', answersAs: 'SUPPLY', ...limits, dataFolder: folder, pace }
  const most = { volts: 0, amps: 0 }
  const watching = setInterval(() => {
    const { volts, amps } = bench.supplyTruth()
    most.volts = Math.max(most.volts, volts)
    most.amps = Math.max(most.amps, amps)
  }, 2)
  try {
    const supply = await openKeeper({ start, deps: { clock, log: silentLog }, signal: stop.signal })
    const acted = new Promise((resolve) => supply.onActed(resolve))
    await supply.wish().limits(LIMITS)
    await supply.wish().set(13.8, 0.8)
    await expect(supply.wish().on()).rejects.toThrow(
      /0\.(?:09|10) A flows at 3\.00 V.*Nothing was raised.*\[KEEPER_SHORT\]/,
    )
    expect(await acted).toMatchObject({ resting: 'safe', proved: true })
    expect(bench.supplyTruth().output).toBe('off')
    await expect(supply.wish().on()).rejects.toThrow(/kept off until somebody starts again \(0\.(?:09|10) A flows/)
    await supply.close()
    expect(most.amps).toBeGreaterThan(0.09)
    expect(most.amps).toBeLessThan(0.1001)
    expect(most.volts).toBeLessThanOrEqual(3)
  } finally {
    clearInterval(watching)
    await bench.close()
    rmSync(folder, { recursive: true, force: true })
  }
})

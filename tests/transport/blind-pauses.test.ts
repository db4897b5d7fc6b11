import { expect, test } from 'vitest'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { openSupplyPort } from '../../src/instrument/supply.ts'
import type { DriverFile } from '../../src/schema/files/driver-file.ts'
import { instrumentDeps, never } from '../kit/links/instrument-deps.ts'
import { benchEntry } from '../kit/links/open-scripted.ts'

const PAUSE_MS = 120
const SAFE = ['SYST:REM', 'INST:NSEL 2', 'OUTP OFF']
const wait = () => ({ ms: 60_000, signal: never() })

/** A supply whose manual demands a pause after each message, and three messages to switch off. */
function slowSupply(answers: Record<string, string | null> = {}) {
  const { clock, add, deps } = instrumentDeps()
  const scripted = add('supply', 'EXAMPLE,PS-20,77,1.0', answers)
  const usual = loadDriver('drivers', 'supply-scpi')
  if (!usual.link) throw new TypeError('a supply has a link')
  const link = { ...usual.link, onNetwork: { ...usual.link.onNetwork, gapMs: PAUSE_MS } }
  const driver: DriverFile = { ...usual, link, makeSafe: SAFE }
  const open = (provedBefore: boolean) =>
    openSupplyPort(benchEntry('supply', 'supply-scpi'), driver, deps, wait(), provedBefore)
  const blind = () => scripted.heard.filter(({ text }) => SAFE.includes(text))
  const shortestMs = () =>
    Math.min(...scripted.heard.slice(1).map(({ atMs }, index) => atMs - (scripted.heard[index]?.atMs ?? 0)))
  return { clock, scripted, open, blind, shortestMs }
}

test('on a new connection each message to switch off comes a pause after the one before, also when they are repeated', async () => {
  const { clock, scripted, open, blind, shortestMs } = slowSupply()
  await clock.runUntil(open(true))
  expect(blind().map(({ text }) => text)).toEqual(blind().map((_, at) => SAFE[at % SAFE.length]))
  expect(blind().length).toBeGreaterThan(3)
  expect(scripted.heard.slice(0, 3).map(({ text }) => text)).toEqual(SAFE)
  expect(shortestMs()).toBeGreaterThanOrEqual(PAUSE_MS - 1)
})

test('in the middle of an exchange: the first at once, the rest a pause apart, and all of them once more, with nothing in between', async () => {
  const { clock, scripted, open, blind } = slowSupply({ 'MEAS:VOLT?': null })
  const port = await clock.runUntil(open(false))
  const look = port.readBack({ ms: 2000, signal: never() }).catch(() => {})
  await clock.advance(PAUSE_MS)
  scripted.heard.length = 0
  const fromMs = clock.nowMs()
  await clock.runUntil(port.makeSafe?.() ?? Promise.resolve())
  expect(scripted.heard.map(({ text }) => text)).toEqual([...SAFE, ...SAFE])
  expect(blind().map(({ atMs }) => Math.round((atMs - fromMs) / PAUSE_MS))).toEqual([0, 1, 2, 3, 4, 5])
  expect(clock.nowMs() - fromMs).toBeLessThanOrEqual((port.makeSafeMs ?? 0) + 1)
  await clock.runUntil(look)
})

test('ordered twice at the same moment it goes out once', async () => {
  const { clock, scripted, open } = slowSupply()
  const port = await clock.runUntil(open(false))
  await clock.advance(PAUSE_MS)
  scripted.heard.length = 0
  await clock.runUntil(Promise.all([port.makeSafe?.(), port.makeSafe?.()]))
  expect(scripted.heard.map(({ text }) => text)).toEqual(SAFE)
})

import { expect, test } from 'vitest'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { openSupplyPort } from '../../src/instrument/supply.ts'
import { instrumentDeps, never } from '../kit/links/instrument-deps.ts'
import { benchEntry } from '../kit/links/open-scripted.ts'

const wait = () => ({ ms: 60_000, signal: never() })

test('a supply proved before in this run is told off before anything is asked', async () => {
  const { clock, add, deps } = instrumentDeps()
  const scripted = add('supply', 'EXAMPLE,PS-20,77,1.0', {})
  const driver = loadDriver('drivers', 'supply-scpi')
  await clock.runUntil(openSupplyPort(benchEntry('supply', 'supply-scpi'), driver, deps, wait(), true))
  expect(scripted.heard[0]?.text).toBe('OUTP OFF')
})

test('off goes out at once on a link that is out of step', async () => {
  const { clock, add, deps } = instrumentDeps()
  const scripted = add('supply', 'EXAMPLE,PS-20,77,1.0', {})
  const driver = loadDriver('drivers', 'supply-scpi')
  const port = await clock.runUntil(openSupplyPort(benchEntry('supply', 'supply-scpi'), driver, deps, wait()))
  const look = port.readBack({ ms: 900, signal: never() }).catch(() => {})
  scripted.heard.length = 0
  await port.makeSafe?.()
  expect(scripted.heard.map(({ text }) => text)).toEqual(['OUTP OFF'])
  await clock.runUntil(look)
})

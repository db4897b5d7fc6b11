import { expect, test } from 'vitest'
import { mannersOf } from '../../src/instrument/link-manners.ts'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { openSupplyPort } from '../../src/instrument/supply.ts'
import { readAddress } from '../../src/transport/port/address.ts'
import { instrumentDeps, never } from '../kit/links/instrument-deps.ts'
import { benchEntry } from '../kit/links/open-scripted.ts'

const driver = loadDriver('drivers', 'supply-scpi')

/** A scripted supply that answers at any address, whatever its kind. */
async function supplyAt(at: string, provedBefore: boolean) {
  const { clock, add, deps } = instrumentDeps()
  const scripted = add('supply', 'EXAMPLE,PS-20,77,1.0', {})
  const through = async () => deps.memory.connect('supply')
  const entry = benchEntry('supply', 'supply-scpi', { at, limits: { voltage: '16.5 V', current: '4 A' } })
  const wait = { ms: 60_000, signal: never() }
  const port = await clock.runUntil(openSupplyPort(entry, driver, { ...deps, through }, wait, provedBefore))
  return { port, first: scripted.heard.find(({ text }) => text !== '')?.text }
}

test('a serial line gets the pauses that the driver asks for on one, all else those of a network', () => {
  const link = driver.link
  if (!link) throw new TypeError('a supply has a link')
  const told = {
    ...link,
    onSerial: { ...link.onSerial, gapMs: 71, settleMs: 72, quietMs: 73 },
    onNetwork: { ...link.onNetwork, gapMs: 1, settleMs: 2, quietMs: 3 },
  }
  const pausesAt = (text: string) => mannersOf(driver, told, readAddress(text).kind)
  expect(pausesAt('serial:/dev/ttyS0')).toMatchObject({ gapMs: 71, settleMs: 72, quietMs: 73 })
  for (const text of ['tcp://h', 'memory:supply'])
    expect(pausesAt(text)).toMatchObject({ gapMs: 1, settleMs: 2, quietMs: 3 })
})

test.each([
  ['tcp://supply.shop.example', true],
  ['serial:/dev/ttyS0', true],
  ['serial:/dev/ttyUSB0', false],
])('a supply proved before at %s gets off before any question: %s', async (at, blind) => {
  expect((await supplyAt(at, true)).first === driver.makeSafe[0]).toBe(blind)
  expect((await supplyAt(at, false)).first).not.toBe(driver.makeSafe[0])
})

test.each([
  ['tcp://supply.shop.example', false],
  ['serial:/dev/ttyS0', true],
])('the way to a supply at %s has room for one: %s', async (at, alone) => {
  expect((await supplyAt(at, false)).port.alone).toBe(alone)
})

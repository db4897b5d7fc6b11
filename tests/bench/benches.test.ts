import { afterEach, describe, expect, test } from 'vitest'
import { canServePty } from '../../mocks/links/pty-line.ts'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { type BenchKind, openSimulatedBench } from '../../mocks/simulated-bench.ts'
import type { Bench } from '../../src/bench/bench.ts'
import { loadBench } from '../../src/bench/load-bench.ts'
import { openBench } from '../../src/bench/open-bench.ts'
import { readTyped } from '../../src/core/reading/typed.ts'
import { openSupplyPort } from '../../src/instrument/supply.ts'
import type { Quantity } from '../../src/quantity/quantity.ts'
import type { Reading } from '../../src/schema/kept/reading.ts'
import { realClock, sleep } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { fakeSupply } from '../kit/links/fake-supply.ts'
import { never } from '../kit/links/instrument-deps.ts'

const closers: (() => Promise<void>)[] = []
afterEach(async () => {
  for (const close of closers.splice(0).toReversed()) await close()
})

/** Four times faster than real, over sockets and pseudo-terminals: the set keyed on channel 20 with a tone, leads on its plug. */
async function overLinks(kind: BenchKind) {
  const clock = realClock({ times: 4, originMs: performance.timeOrigin })
  const rng = seededRng(4)
  const signal = never()
  const world = await openSimulatedBench({
    clock,
    rng,
    log: silentLog,
    links: 'real',
    signal,
    seed: null,
    asFound: RIGHT,
    kind,
  })
  closers.push(world.close)
  const { file, drivers } = loadBench(`mocks/benches/${kind}.yaml`, 'drivers')
  const deps = { clock, rng, log: silentLog }
  const driver = drivers.get('supply-scpi')
  const entry = file.entries.find(({ name }) => name === 'supply')
  if (!driver || !entry) throw new TypeError('every bench has a supply')
  const wait = { ms: 10_000, signal }
  const port = await openSupplyPort({ ...entry, at: world.addresses.supply }, driver, deps, wait)
  closers.push(() => port.close())
  await port.setAmps(2.5, wait)
  await port.setVolts(13.8, wait)
  await port.output(true, wait)
  const addresses = { ...world.addresses }
  const bench = await openBench({ file, drivers, deps, supply: fakeSupply(true), addresses, signal })
  closers.push(() => bench.close())
  const readings: Reading[] = []
  bench.onReading((reading) => readings.push(reading))
  await bench.source('audio tone').set({ 'audio tone': 1000, 'audio level': 0.03 }, signal)
  const { set } = world
  set.channel(20)
  set.microphone('oscillator')
  set.prod('plug')
  set.common('strip')
  set.key(true)
  bench.raiseEpoch('key')
  return { clock, world, bench, readings, wait: (ms: number) => sleep(clock, ms, signal) }
}

const TRUE_VALUES: readonly (readonly [Quantity, number, number])[] = [
  ['frequency', 27.205e6, 500],
  ['RF power', 3.65, 0.4],
  ['FM deviation', 1800, 200],
  ['DC voltage', 13.75, 0.15],
]

/** What the newest good reading says of the set itself. */
function atSet(bench: Bench, readings: readonly Reading[], quantity: Quantity): number {
  const facts = bench.meters.find((one) => one.quantity === quantity)
  const last = readings.findLast((one) => one.quantity === quantity && one.state === 'good')
  return (last?.value ?? Number.NaN) * 10 ** ((facts?.pathLossDb ?? 0) / 10)
}

const pty = await canServePty()

describe.each(['separate', 'one-box', 'older'] as const)('the bench %s over real links', (kind) => {
  test('every instrument answers, and every quantity is read in its own range', async () => {
    const { bench, readings, wait } = await overLinks(kind)
    const all = TRUE_VALUES.map(([quantity]) => quantity)
    for (const first of all) {
      bench.watch([first, ...all.filter((quantity) => quantity !== first)])
      await wait(5000) // a box of several instruments has them one after the other
    }
    for (const [quantity, value, within] of TRUE_VALUES)
      expect(Math.abs(atSet(bench, readings, quantity) - value), quantity).toBeLessThan(within)
    expect(
      bench
        .instruments()
        .filter(({ up, simulated }) => !up || !simulated)
        .map(({ name }) => name),
    ).toEqual([])
  })
})

test('the older power meter is reached over a pseudo-terminal, and says who it is its own way', async () => {
  const { bench } = await overLinks('older')
  const meter = bench.instruments().find(({ name }) => name === 'wattmeter')
  expect(meter).toMatchObject({ driver: 'power-meter-older', simulated: true, typed: false, certificate: 'SIM-8' })
  expect(meter?.identity).toBe('TRIMWRIGHT SIMULATED OLDER POWER METER SIM0008')
  expect(meter?.address).toMatch(pty ? /^serial:.*wattmeter\?baud=9600$/ : /^tcp:/)
})

test('the older power meter on an unkeyed set: no signal, never a number', async () => {
  const { bench, world, readings, wait } = await overLinks('older')
  bench.watch(['RF power'])
  await wait(3000)
  world.set.key(false)
  await wait(2000)
  readings.length = 0
  await wait(2000)
  expect(new Set(readings.map(({ state, value, raw }) => `${state} ${value} ${raw}`))).toEqual(
    new Set(['no signal null S  ------W']),
  )
})

test('the bench without sockets: power and deviation are read off and typed in, all else comes over its links', async () => {
  const { bench, world, readings, wait } = await overLinks('no-socket')
  bench.watch(TRUE_VALUES.map(([quantity]) => quantity))
  await wait(6000)
  expect(readings.filter(({ quantity }) => quantity === 'RF power' || quantity === 'FM deviation')).toEqual([])
  for (const quantity of ['RF power', 'FM deviation'] as const) {
    const shown = world.displays()[quantity] ?? ''
    const read = readTyped(shown, quantity === 'RF power' ? 'W' : 'Hz')
    if (!read.ok) throw new TypeError(read.refused)
    bench.typeIn(quantity, Math.max(...read.value), shown, read.value)
  }
  for (const [quantity, value, within] of TRUE_VALUES)
    expect(Math.abs(atSet(bench, readings, quantity) - value), quantity).toBeLessThan(within)
  expect(
    bench
      .instruments()
      .filter(({ typed }) => typed)
      .map(({ name, up }) => [name, up]),
  ).toEqual([
    ['wattmeter', true],
    ['deviation', true],
  ])
})

import { expect, test } from 'vitest'
import { ADJUSTERS, ARRIVES, RIGHT, randomised } from '../../mocks/plant/adjusters.ts'
import { channelHz } from '../../mocks/plant/channels.ts'
import { seededRng } from '../../src/system/rng.ts'
import { memoryBench, numberOf } from './kit.ts'

test('slugs stop at their stops, presets at 0 and 1, and RT turns without end', async () => {
  const { bench } = await memoryBench()
  for (const adjuster of ADJUSTERS) bench.set.turn(adjuster, 100)
  expect(bench.set.view().positions).toEqual({ VK: 2, RT: 100 + ARRIVES.RT, DK: 3, OK: 3, PW: 1, PC: 1, PM: 1, PD: 1 })
  for (const adjuster of ADJUSTERS) bench.set.turn(adjuster, -300)
  expect(bench.set.view().positions).toEqual({
    VK: -2,
    RT: ARRIVES.RT - 200,
    DK: -3,
    OK: -3,
    PW: 0,
    PC: 0,
    PM: 0,
    PD: 0,
  })
})

test('without a seed the set is the one of the notes; with one each adjuster is 50 to 150 % as far off', async () => {
  expect((await memoryBench()).bench.set.view().positions).toEqual(ARRIVES)
  for (let seed = 1; seed <= 40; seed += 1) {
    const positions = randomised(seededRng(seed))
    for (const adjuster of ADJUSTERS) {
      const share = (positions[adjuster] - RIGHT[adjuster]) / (ARRIVES[adjuster] - RIGHT[adjuster])
      expect(share).toBeGreaterThanOrEqual(0.5)
      expect(share).toBeLessThanOrEqual(1.5)
    }
  }
  const [a, b] = [await memoryBench({ seed: 3 }), await memoryBench({ seed: 4 })]
  expect(a.bench.set.view().positions).not.toEqual(b.bench.set.view().positions)
})

test('the display is dark without supply and shows the channel with it; the key shows on it', async () => {
  const { bench, power } = await memoryBench()
  expect(bench.set.view().display).toBe('')
  await power(13.8)
  bench.set.channel(20)
  expect(bench.set.view()).toMatchObject({ display: '20', onAir: false })
  bench.set.key(true)
  expect(bench.set.view().onAir).toBe(true)
})

test('two keys at power-on choose the band, lift the key and keep the channel inside the band', async () => {
  const { bench, power } = await memoryBench()
  await power(13.8)
  bench.set.channel(20)
  bench.set.key(true)
  bench.set.powerOnBand('de-low')
  expect(bench.set.view()).toMatchObject({ band: 'de-low', channel: 41, key: false })
  bench.set.channel(99)
  expect(bench.set.view().channel).toBe(80)
  bench.set.powerOnBand('uk')
  expect(bench.set.view().channel).toBe(40)
})

test('the European forty are irregular: five gaps, and 23 to 25 out of order', () => {
  expect([3, 4, 19, 20, 22, 23, 24, 25, 26, 40].map((n) => channelHz('cept', n) / 1e3)).toEqual([
    26985, 27005, 27185, 27205, 27225, 27255, 27235, 27245, 27265, 27405,
  ])
  expect(() => channelHz('cept', 41)).toThrow(TypeError)
  expect(channelHz('de-low', 80)).toBe(26.955e6)
})

test('a loose output core lags behind the tool, so that one place of the tool gives two powers', async () => {
  const { bench, power, client, run, clock } = await memoryBench({ asFound: { ...RIGHT, PW: 1, OK: -0.8 } })
  await power(15.6)
  bench.set.channel(20)
  bench.faults.radio('loose output core', true)
  bench.set.key(true)
  const meter = client('power')
  const watts = async () => {
    await clock.advance(2000)
    return numberOf(await run(() => meter.ask('READ:POW?')))
  }
  const turnBy = (turns: number) => {
    for (let step = 0; step < Math.round(Math.abs(turns) / 0.05); step += 1)
      bench.set.turn('OK', Math.sign(turns) * 0.05)
  }
  turnBy(0.4)
  const fromBelow = await watts()
  turnBy(1.2)
  turnBy(-1.2)
  const fromAbove = await watts()
  expect(bench.set.view().positions.OK).toBeCloseTo(-0.4, 9)
  expect(fromAbove / fromBelow).toBeGreaterThan(1.05)
})

import { describe, expect, test } from 'vitest'
import { BenchError } from '../../src/fault/bench-error.ts'
import { bothSides, WEAK } from '../kit/job/both-sides.ts'
import { never } from '../kit/links/instrument-deps.ts'
import { memoryBench } from '../mocks/kit.ts'

/** The bench with both sides in memory, and everything that is asked of it while its clock moves. */
async function stage() {
  const { clock, bench: world } = await memoryBench({ kind: 'both-sides' })
  const sides = await clock.runUntil(bothSides(world, { clock, memory: world.net }))
  const run = <T>(work: Promise<T>) => clock.runUntil(work)
  const refused = (work: Promise<unknown>) =>
    run(
      work.then(
        () => 'done',
        (error: unknown) => (error instanceof BenchError ? error.message : String(error)),
      ),
    )
  const { generator } = world
  if (!generator) throw new TypeError('a generator stands here')
  const radio = () => {
    const { output, volts } = world.supplyTruth()
    return { output, volts: Math.round(volts * 10) / 10 }
  }
  const rf = sides.bench.source('RF signal')
  return {
    ...sides,
    clock,
    generator,
    radio,
    run,
    refused,
    rfOn: () => rf.set(WEAK, never()),
    end: () => clock.runUntil(sides.close()),
  }
}

const CURE =
  'Switch its RF off at its panel and see to its link, or take its lead off the radio and the generator out of the bench file [BENCH_GENERATOR_ON]'

describe('the supply is set only when the generator has just answered that its RF is off', () => {
  test('RF that is on goes off first, and a key right after that meets none', async () => {
    const { clock, run, feed, rfOn, generator, world, radio, end } = await stage()
    const wish = await run(feed(0.8))
    await run(rfOn())
    expect(generator.truth().on).toBe(true)
    await run(wish.set(13.8, 2.5))
    expect(generator.truth().on).toBe(false)
    world.set.key(true)
    await clock.advance(3000)
    expect(radio().output).toBe('on')
    expect(generator.truth()).toEqual({ on: false, keyedIntoMs: 0 })
    await end()
  })

  test('one that does not answer counts as on: refused in words with the cure, and the supply stays off', async () => {
    const { clock, refused, run, wish, world, radio, end } = await stage()
    const one = await run(wish())
    world.faults.set('generator', 'silent')
    expect(await refused(one.set(13.8, 2.5))).toMatch(
      /^generator \(rf-generator-scpi at memory:generator\): the RF of "generator" is not proved off, so nothing is keyed: no reply to .*BENCH_GENERATOR_ON\]$/,
    )
    expect(await refused(one.on())).toContain(CURE)
    expect(radio()).toEqual({ output: 'off', volts: 0 })
    world.faults.clear('generator')
    await clock.advance(8000)
    expect(await refused(one.set(13.8, 2.5))).toBe('done')
    expect(await refused(one.on())).toBe('done')
    expect(radio()).toEqual({ output: 'on', volts: 13.8 })
    await end()
  })

  test('one that is not reached at all: the same', async () => {
    const { clock, refused, run, wish, world, radio, end } = await stage()
    const one = await run(wish())
    world.faults.set('generator', 'unplugged', { kind: 'always' }, { ms: 60_000 })
    await clock.advance(100)
    expect(await refused(one.set(13.8, 2.5))).toContain('the RF of "generator" is not proved off')
    expect(radio().output).toBe('off')
    await end()
  })

  test('one that refuses to go off: the same', async () => {
    const { refused, run, wish, world, end } = await stage()
    const one = await run(wish())
    world.faults.set('generator', 'queue error')
    expect(await refused(one.set(13.8, 2.5))).toMatch(/is not proved off.*to OUTP OFF.*BENCH_GENERATOR_ON/)
    await end()
  })
})

describe('RF goes on only with the supply at its receive limit, and the key up', () => {
  test('at the receive limit: on, as it was set', async () => {
    const { run, refused, feed, rfOn, generator, world, end } = await stage()
    await run(feed(0.8))
    expect(await refused(rfOn())).toBe('done')
    expect(generator.truth().on).toBe(true)
    expect(world.generator).not.toBe(null)
    await end()
    expect(generator.truth().on).toBe(false)
  })

  test.each([
    ['at the transmit limit', 2.5, 'the supply is set for transmit: the radio may be keyed at any moment'],
    ['keyed', 0.8, 'the radio is keyed'],
  ] as const)('%s: refused', async (what, amps, words) => {
    const { clock, run, refused, feed, rfOn, generator, world, end } = await stage()
    await run(feed(amps))
    if (what === 'keyed') world.set.key(true)
    await clock.advance(400)
    const said = await refused(rfOn())
    expect(said).toContain(words)
    expect(said).toContain('[BENCH_GENERATOR_REFUSED]')
    expect(generator.truth()).toEqual({ on: false, keyedIntoMs: 0 })
    await end()
  })

  test('while the supply is being set for transmit: refused, and off it stays', async () => {
    const { run, refused, feed, wish, rfOn, generator, end } = await stage()
    await run(feed(0.8))
    const next = await run(wish())
    const setting = next.set(13.8, 2.5)
    expect(await refused(rfOn())).toMatch(/\[BENCH_GENERATOR_REFUSED\]$/)
    await run(setting)
    expect(generator.truth().on).toBe(false)
    await end()
  })
})

describe('a key that is seen while the RF is on takes both away, and it is said', () => {
  test('by the current, whatever the job does', async () => {
    const { clock, run, feed, rfOn, generator, world, radio, said, end } = await stage()
    await run(feed(0.8))
    await run(rfOn())
    world.set.key(true)
    await clock.advance(1000)
    expect(generator.truth().on).toBe(false)
    expect(generator.truth().keyedIntoMs).toBeLessThan(400)
    expect(radio().output).toBe('off')
    expect(said).toHaveLength(1)
    expect(said[0]?.words).toMatch(
      /^the radio was keyed \(\d\.\d\d A from the supply\) while the generator "generator" was on: RF and supply are switched off\. Release the key/,
    )
    expect(said[0]?.proved).toBe(true)
    await end()
  })

  test('by its RF, where the current does not show it', async () => {
    const { clock, run, feed, rfOn, generator, world, radio, said, end } = await stage()
    await run(feed(2.4, { receiveAmps: 2.4, keyedAboveAmps: 2.3 }))
    await run(rfOn())
    world.set.key(true)
    await clock.advance(1500)
    expect([generator.truth().on, radio().output]).toEqual([false, 'off'])
    expect(said[0]?.words).toMatch(/keyed \(\d(\.\d)? W of RF\)/)
    await end()
  })

  test('a generator that does not go off is named, and is to be switched off by hand', async () => {
    const { clock, run, feed, rfOn, world, radio, said, end } = await stage()
    await run(feed(0.8))
    await run(rfOn())
    world.faults.set('generator', 'silent')
    world.set.key(true)
    await clock.advance(8000)
    expect(radio().output).toBe('off')
    expect(said.at(-1)?.words).toMatch(
      /"generator" is not proved off \(.*\): switch its RF off by hand\. It was so: the radio was keyed/,
    )
    await end()
  })

  test('one whose link is lost in a key-down counts as on', async () => {
    const { clock, run, feed, world, radio, said, end } = await stage()
    await run(feed(2.5))
    world.set.key(true)
    await clock.advance(2000)
    expect([radio().output, said]).toEqual(['on', []])
    world.faults.set('generator', 'unplugged', { kind: 'always' }, { ms: 60_000 })
    await clock.advance(300)
    expect(said).toHaveLength(2)
    expect(radio().output).toBe('off')
    expect(said[1]?.words).toContain('switch its RF off by hand')
    expect(said[0]?.words).toContain('"generator" did not answer, which counts as on')
    await end()
  })

  test('one missed reply of a generator that was proved off takes nothing away', async () => {
    const { clock, run, feed, world, radio, said, end } = await stage()
    await run(feed(2.5))
    world.set.key(true)
    world.faults.set('generator', 'silent', { kind: 'next', times: 1 })
    await clock.advance(6000)
    expect([radio().output, said]).toEqual(['on', []])
    await end()
  })
})

describe('a generator is looked at each second, and nothing but an order puts its RF on', () => {
  test('switched on at its panel where the radio may be keyed: off again within 1.5 s', async () => {
    const { clock, run, feed, generator, radio, said, end } = await stage()
    await run(feed(2.5))
    generator.press(true)
    await clock.advance(1500)
    expect(generator.truth().on).toBe(false)
    expect([radio().output, said]).toEqual(['on', []])
    await end()
  })

  test('and in a key-down: both away', async () => {
    const { clock, run, feed, generator, world, radio, said, end } = await stage()
    await run(feed(2.5))
    world.set.key(true)
    await clock.advance(2000)
    generator.press(true)
    await clock.advance(2000)
    expect([generator.truth().on, radio().output]).toEqual([false, 'off'])
    expect(said[0]?.words).toContain('"generator" was on')
    await end()
  })

  test('a link that was lost and is back, or a missed reply: off it stays, and the bench tells that it was lost', async () => {
    const { clock, run, feed, rfOn, generator, bench, world, end } = await stage()
    const news: string[] = []
    bench.onLink(({ instrument, up, missed }) => news.push(`${instrument} ${missed ? 'missed' : up ? 'up' : 'down'}`))
    await run(feed(0.8))
    await run(rfOn())
    world.faults.set('generator', 'unplugged', { kind: 'always' }, { ms: 1500 })
    await clock.advance(8000)
    expect([news, generator.truth().on]).toEqual([['generator down', 'generator up'], false])
    await run(rfOn())
    world.faults.set('generator', 'silent', { kind: 'next', times: 1 })
    await clock.advance(8000)
    expect(news.slice(2)).toEqual(['generator missed', 'generator down', 'generator up'])
    expect(generator.truth().on).toBe(false)
    await end()
  })
})

import { afterEach, describe, expect, test } from 'vitest'
import { placesIn } from '../kit/job/places.ts'
import { type HandBench, handBench } from './hand-kit.ts'

const benches: HandBench[] = []
afterEach(() => {
  for (const bench of benches.splice(0)) bench.stop()
})
function opened(displays?: () => Readonly<Record<string, string>>): HandBench {
  const bench = handBench(1, displays)
  benches.push(bench)
  return bench
}
const empty = { found: '', job: '', left: '', reason: '' }
const done = ({ set }: HandBench) => set.done.map(({ what }) => what)
const asked = (bench: HandBench) => bench.asked.map(({ message }) => message)

describe('settings', () => {
  test('as found: reads the menu, writes both columns, and gives a time-out of 15 s 60 s for this job', async () => {
    const bench = opened()
    const settings = ['band', 'time-out timer', 'roger'].map((name) => ({ name, ...empty }))
    bench.show('settings', { step: { technique: 'settings', pass: 'found' }, settings })
    await bench.clock.advance(9000)
    expect(asked(bench)).toMatchObject([
      { kind: 'note setting', name: 'band', column: 'found', value: 'cept' },
      { kind: 'note setting', name: 'band', column: 'job', value: 'cept' },
      { kind: 'note setting', name: 'time-out timer', column: 'found', value: '15 s' },
      { kind: 'note setting', name: 'time-out timer', column: 'job', value: '60 s' },
      { kind: 'note setting', name: 'roger', column: 'found', value: 'not fitted' },
      { kind: 'note setting', name: 'roger', column: 'job', value: 'not fitted' },
      { kind: 'ready' },
    ])
    expect(done(bench)).toEqual(['setting time-out timer 60 s'])
  })

  test('as found: a column that is written already is not written again', async () => {
    const bench = opened()
    const settings = [
      { name: 'brightness', ...empty, found: '4', job: '4' },
      { name: 'band', ...empty, found: 'uk' },
    ]
    bench.show('settings', { step: { technique: 'settings', pass: 'found' }, settings })
    await bench.clock.advance(9000)
    expect(asked(bench)).toMatchObject([{ name: 'band', column: 'job', value: 'cept' }, { kind: 'ready' }])
  })

  test('as left: what differs is put back before it is written down', async () => {
    const bench = opened()
    const settings = [{ name: 'brightness', ...empty, found: '5', job: '5' }]
    bench.show('settings', { step: { technique: 'settings', pass: 'left' }, settings })
    await bench.clock.advance(9000)
    expect(done(bench)).toContain('setting brightness 5')
    expect(asked(bench)[0]).toEqual({
      kind: 'note setting',
      id: 'hand-1',
      name: 'brightness',
      column: 'left',
      value: '5',
    })
  })

  test('as left: what cannot be put back is written down with a reason', async () => {
    const bench = opened()
    const settings = [{ name: 'brightness', ...empty, found: '9', job: '3' }]
    bench.show('settings', { step: { technique: 'settings', pass: 'left' }, settings })
    await bench.clock.advance(9000)
    expect(done(bench)).toEqual([])
    expect(asked(bench)[0]).toMatchObject({ column: 'left', value: '3', reason: expect.stringMatching(/.../) })
  })
})

describe('something to do by hand', () => {
  test.each([
    ['Set the set to channel 40', ['channel 40']],
    ['Tool out, hands off, cover on', ['tool out', 'cover true']],
    ['Cover off', ['cover false']],
    ['Load on the aerial socket, rated for the carrier', ['load true']],
    ["The set's own microphone in, oscillator out", ['microphone own']],
    ['Oscillator in', ['microphone oscillator']],
    ['Oscillator lead off', ['microphone nothing']],
    ['Hold the two band keys at power-on: de-low', ['band de-low']],
    ['Hold the two band keys at power-on until the band asked for is shown', []],
    ['Nothing is turned yet, cover as it came', []],
  ])('"%s" is done and then confirmed', async (words, what) => {
    const bench = opened()
    bench.show('action', { guide: { words } })
    await bench.clock.advance(6000)
    expect(done(bench)).toEqual(what)
    expect(asked(bench).map(({ kind }) => kind)).toEqual(['confirm'])
  })
})

describe('as found and as left', () => {
  const passes = ['found', 'left'] as const
  const turningStates = ['far', 'near', 'in', 'climb', 'passed over', 'return', 'no effect'] as const
  test.each(passes.flatMap((pass) => turningStates.map((state) => ({ pass, state }))))(
    'nothing is turned in "$state" as $pass, and the tool is out',
    async ({ pass, state }) => {
      const bench = opened()
      const technique = state === 'climb' || state === 'return' || state === 'passed over' ? 'peak' : 'set'
      const more = { guide: { way: 'up' as const, hands: 'on' as const }, value: 1, e: 2, belowDb: 0.3 }
      bench.set.hand('DK')
      await bench.showing(4000, () => ({ state, more: { ...more, step: { technique, adjuster: 'DK', pass: 'work' } } }))
      const turned = bench.set.positions.DK
      expect(turned).not.toBe(0)
      await bench.showing(6000, () => ({ state, more: { ...more, step: { technique, adjuster: 'DK', pass } } }))
      const still = bench.set.positions.DK
      expect(Math.abs(still - turned)).toBeLessThan(0.15)
      expect(bench.set.now.hand).toBeNull()
      await bench.showing(6000, () => ({ state, more: { ...more, step: { technique, adjuster: 'DK', pass } } }))
      expect(bench.set.positions.DK).toBe(still)
    },
  )

  test.each(passes)('not even when the words say so, as %s', async (pass) => {
    const bench = opened()
    bench.show('action', { step: { pass }, guide: { words: 'PW fully open' } })
    await bench.clock.advance(6000)
    expect(bench.hand.turned).toEqual({})
    expect(asked(bench).map(({ kind }) => kind)).toEqual(['confirm'])
  })
})

describe('a step with several channels', () => {
  const at = (channelWanted: number, number: number) => ({
    step: { channelWanted, stop: { number, of: 2, words: `channel ${channelWanted}` } },
  })

  test('the next channel is set with the key up, before the key goes down', async () => {
    const bench = opened()
    bench.show('read step', at(1, 1))
    await bench.clock.advance(9000)
    bench.show('key now', at(1, 1))
    await bench.clock.advance(2000)
    bench.show('release key', at(1, 1))
    await bench.clock.advance(1000)
    bench.show('key now', at(40, 2))
    await bench.clock.advance(4000)
    const wanted = ['channel 1', 'mode FM', 'microphone nothing', 'key down', 'key up', 'channel 40', 'key down']
    expect(done(bench)).toEqual(wanted)
  })

  test('or while the set rests', async () => {
    const bench = opened()
    bench.show('rest', at(40, 2))
    await bench.clock.advance(3000)
    bench.show('key now', at(40, 2))
    await bench.clock.advance(800)
    expect(done(bench)).toEqual(['channel 40', 'key down'])
  })
})

describe('the highest', () => {
  const own = { where: placesIn({ microphone: { holds: 'own' } }), technique: 'highest' as const }

  test("whistles into the set's own microphone while keyed, and not after", async () => {
    const bench = opened()
    bench.show('key now', { step: own })
    await bench.clock.advance(1000)
    bench.show('highest', { step: own })
    await bench.clock.advance(3000)
    bench.show('captured', {
      step: own,
      steps: [{ id: 'a-step', step: 'a-step', pass: 'work', row: '', title: '', state: 'done', result: '' }],
    })
    await bench.clock.advance(1000)
    expect(done(bench)).toEqual(['key down', 'whistle true', 'whistle false', 'key up'])
  })

  test('with a tone nobody whistles and nothing is turned', async () => {
    const bench = opened()
    bench.show('highest', { step: { technique: 'highest' } })
    await bench.clock.advance(3000)
    expect(done(bench)).not.toContain('whistle true')
    expect(bench.hand.turned).toEqual({})
  })

  test('a tone that changes with the key down leaves the key down', async () => {
    const bench = opened()
    bench.show('key now')
    await bench.clock.advance(1000)
    bench.show('supply moving', { key: { keyed: true, seconds: 3, atMostS: 20, share: 0.2, restLeftS: 0 } })
    await bench.clock.advance(1000)
    expect(bench.set.now.key).toBe(true)
  })
})

describe('a result out of band', () => {
  const line = (id: string, state: 'done' | 'out of band') =>
    ({ id, step: id, pass: 'work', row: '', title: '', state, result: '' }) as const
  const peak = { id: 'drive', technique: 'peak' } as const
  const ends = { id: 'ends', technique: 'check', cautions: ['One end low, peak again on the weak end.'] } as const
  const opens = (bench: HandBench) =>
    asked(bench).flatMap((message) => (message.kind === 'open step' ? [message.step] : []))
  const reads = async (
    bench: HandBench,
    step: NonNullable<Parameters<HandBench['show']>[1]>['step'],
    ...lines: ReturnType<typeof line>[]
  ) => {
    bench.show('read step', { ...(step ? { step } : {}), steps: lines })
    await bench.clock.advance(9000)
    bench.show('idle')
    await bench.clock.advance(500)
  }

  test('of a peak: it is looked for once more, and no third time', async () => {
    const bench = opened()
    await reads(bench, peak)
    await reads(bench, { id: 'next' }, line('drive', 'out of band'))
    expect(opens(bench)).toEqual(['drive'])
    await reads(bench, { id: 'next' }, line('drive', 'out of band'))
    expect(opens(bench)).toEqual(['drive'])
    expect(asked(bench).at(-1)).toMatchObject({ kind: 'ready' })
  })

  test('where the caution says "peak again": the last peak before it', async () => {
    const bench = opened()
    await reads(bench, peak)
    await reads(bench, ends, line('drive', 'done'))
    expect(opens(bench)).toEqual([])
    await reads(bench, { id: 'next' }, line('drive', 'done'), line('ends', 'out of band'))
    expect(opens(bench)).toEqual(['drive'])
  })

  test('of anything else: it is left as it is', async () => {
    const bench = opened()
    await reads(bench, peak)
    await reads(bench, { id: 'other', technique: 'check' })
    await reads(bench, { id: 'next' }, line('other', 'out of band'))
    expect(opens(bench)).toEqual([])
  })
})

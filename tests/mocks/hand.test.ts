import { afterEach, expect, test } from 'vitest'
import { actionOf } from '../../mocks/hand/errands.ts'
import { STATES } from '../../src/schema/messages/shown.ts'
import { placesIn } from '../kit/job/places.ts'
import { type HandBench, handBench } from './hand-kit.ts'

const benches: HandBench[] = []
afterEach(() => {
  for (const bench of benches.splice(0)) bench.stop()
})
function opened(seed?: number): HandBench {
  const bench = handBench(seed)
  benches.push(bench)
  return bench
}

test('the key goes down 0.25 to 0.6 s after "key now" and up as soon after "release key"', async () => {
  for (const seed of [1, 2, 3, 4, 5]) {
    const { clock, set, show } = opened(seed)
    await clock.advance(1000)
    show('key now')
    await clock.advance(2000)
    show('release key')
    await clock.advance(2000)
    const [down, up] = set.done.filter(({ what }) => what.startsWith('key'))
    expect(down?.what).toBe('key down')
    expect((down?.atMs ?? 0) - 1000).toBeGreaterThanOrEqual(250)
    expect((down?.atMs ?? 0) - 1000).toBeLessThanOrEqual(600)
    expect(up?.what).toBe('key up')
    expect((up?.atMs ?? 0) - 3000).toBeGreaterThanOrEqual(250)
    expect((up?.atMs ?? 0) - 3000).toBeLessThanOrEqual(600)
  }
})

test('a step is read: prod, common, channel, mode and microphone are seen to, and "ready" comes after 3 to 8.6 s, once', async () => {
  const { clock, set, show, asked } = opened()
  show('read step', {
    step: {
      id: 'control-voltage',
      where: placesIn({ prod: 'T1', common: { on: 'strip', name: 'ES' }, set: 'upright in the holder' }),
      channelWanted: 20,
      tone: '1 kHz at 30 mV',
    },
  })
  await clock.advance(9000)
  expect(set.done.map(({ what }) => what)).toEqual([
    'prod T1',
    'common strip',
    'channel 20',
    'mode FM',
    'microphone oscillator',
  ])
  expect(asked.map(({ message }) => message.kind)).toEqual(['ready'])
  expect(asked[0]?.atMs).toBeGreaterThan(3000)
  expect(asked[0]?.atMs).toBeLessThan(8600)
})

test.each([
  ['plug', 'prod plug'],
  ['T1', 'prod T1'],
  ['off', 'prod off'],
])('where the sheet says prod %s, the hand does "%s"', async (place, what) => {
  const { clock, set, show } = opened()
  show('read step', { step: { where: placesIn({ prod: place }) } })
  await clock.advance(9000)
  expect(set.done.map((one) => one.what)).toContain(what)
})

test('without a tone nothing is in the microphone socket, except where the sheet wants its own microphone', async () => {
  const plain = opened()
  plain.show('read step')
  await plain.clock.advance(9000)
  expect(plain.set.done.map(({ what }) => what)).toContain('microphone nothing')
  const own = opened()
  own.show('read step', {
    step: { where: placesIn({ microphone: { holds: 'own', words: "the set's own microphone back in" } }) },
  })
  await own.clock.advance(9000)
  expect(own.set.done.map(({ what }) => what)).toContain('microphone own')
})

test('an unanswered "ready" is asked again after 12 s, under another id', async () => {
  const { clock, show, asked } = opened()
  show('read step')
  await clock.advance(30_000)
  expect(asked.length).toBeGreaterThanOrEqual(2)
  const ids = asked.map(({ message }) => ('id' in message ? message.id : ''))
  expect(new Set(ids).size).toBe(ids.length)
})

test('a step that cannot be done is left out with the reason that is shown', async () => {
  const { clock, show, asked } = opened()
  show('read step', { step: { id: 'am-carrier' }, because: 'AM is not allowed here' })
  await clock.advance(9000)
  expect(asked.map(({ message }) => message)).toEqual([
    { kind: 'leave out', id: 'hand-1', step: 'am-carrier', reason: 'AM is not allowed here' },
  ])
})

test('the action "PW fully open" is done at about 20 degrees a second, the tool comes out, then it is confirmed', async () => {
  const { clock, set, show, asked } = opened()
  show('action', { guide: { words: 'PW fully open' } })
  await clock.advance(4000)
  expect(set.positions.PW).toBeLessThan(1)
  expect(set.now.hand).toBe('PW')
  await clock.advance(9000)
  expect(set.positions.PW).toBe(1)
  expect(set.now.hand).toBeNull()
  expect(asked.map(({ message }) => message.kind)).toEqual(['confirm'])
  expect(asked[0]?.atMs).toBeGreaterThan(((1 - 0.478) * 270 * 1000) / 22)
})

test.each([
  ['PW fully open', { adjuster: 'PW', end: 1 }],
  ['turn PD fully anticlockwise', { adjuster: 'PD', end: -1 }],
  ['plug out the oscillator', null],
])('the action "%s" is understood', (words, action) => {
  expect(actionOf(words)).toEqual(action)
})

test('an action without an adjuster is confirmed without turning anything', async () => {
  const { clock, set, show, asked } = opened()
  show('action', { step: { before: 'oscillator lead off' } })
  await clock.advance(4000)
  expect(asked.map(({ message }) => message.kind)).toEqual(['confirm'])
  expect(set.done).toEqual([])
})

test.each(['hold-off', 'settling', 'steady', 'at best', 'over range', 'captured', 'supply moving'] as const)(
  'hands are still in "%s"',
  async (state) => {
    const bench = opened()
    await bench.showing(4000, () => ({
      state: 'climb',
      more: { step: { technique: 'peak', adjuster: 'DK' }, guide: { way: 'up' }, value: 1, belowDb: 0 },
    }))
    expect(bench.set.positions.DK).not.toBe(0)
    await bench.showing(800, () => ({ state, more: { step: { technique: 'peak', adjuster: 'DK' } } }))
    const still = bench.set.positions.DK
    await bench.showing(3000, () => ({ state, more: { step: { technique: 'peak', adjuster: 'DK' } } }))
    expect(bench.set.positions.DK).toBe(still)
  },
)

test('a keyed check keeps the key down through hold-off and settling, and lets go when its step is over', async () => {
  const { clock, set, show } = opened()
  show('key now')
  await clock.advance(1000)
  show('hold-off')
  await clock.advance(1000)
  show('settling')
  await clock.advance(3000)
  expect(set.now.key).toBe(true)
  show('captured', {
    steps: [{ id: 'a-step', step: 'a-step', pass: 'work', row: 'A1', title: '', state: 'open', result: '' }],
  })
  await clock.advance(1000)
  expect(set.now.key).toBe(true)
  show('captured', {
    steps: [{ id: 'a-step', step: 'a-step', pass: 'work', row: 'A1', title: '', state: 'done', result: '3.6 W' }],
  })
  await clock.advance(1000)
  expect(set.now.key).toBe(false)
})

test.each(['stopped', 'rest', 'paused', 'finished', 'cannot reach', 'link lost', 'old', 'read step'] as const)(
  'the key comes up within 2 s of "%s"',
  async (state) => {
    const { clock, set, show } = opened()
    show('key now')
    await clock.advance(1000)
    expect(set.now.key).toBe(true)
    show(state)
    await clock.advance(2000)
    expect(set.now.key).toBe(false)
  },
)

test('a reading that is old for a moment does not make the hand let go of the key', async () => {
  const { clock, set, show } = opened()
  show('key now')
  await clock.advance(1000)
  show('old')
  await clock.advance(600)
  show('settling')
  await clock.advance(2000)
  expect(set.now.key).toBe(true)
})

test('on the wrong channel the key comes up and the right channel is set', async () => {
  const { clock, set, show } = opened()
  show('key now')
  await clock.advance(1000)
  show('wrong channel', { step: { channelWanted: 20 } })
  await clock.advance(3000)
  expect(set.done.map(({ what }) => what).slice(-2)).toEqual(['key up', 'channel 20'])
})

test('"paused" is answered with "go on" when it is offered; "stopped" is left alone', async () => {
  const paused = opened()
  paused.show('paused')
  await paused.clock.advance(7000)
  expect(paused.asked.map(({ message }) => message.kind)).toEqual(['go on'])
  const stopped = opened()
  stopped.show('stopped')
  await stopped.clock.advance(30_000)
  expect(stopped.asked).toEqual([])
})

test('"no effect" gets three larger tries, then hands off and key up', async () => {
  const bench = opened()
  bench.show('key now')
  await bench.clock.advance(1000)
  await bench.showing(20_000, () => ({ state: 'no effect', more: { step: { adjuster: 'VK' } } }))
  expect(Math.abs(bench.set.positions.VK)).toBeGreaterThan(0.25)
  expect(Math.abs(bench.set.positions.VK)).toBeLessThan(0.35)
  expect(bench.set.now).toEqual({ key: false, hand: null })
})

test('a state from a later program means hands off and key up', async () => {
  const { clock, set, show } = opened()
  show('key now')
  await clock.advance(1000)
  // The type does not allow it, and that is the point: a newer service may say so.
  show(JSON.parse('"levitate"'))
  await clock.advance(1500)
  expect(set.now.key).toBe(false)
})

test('when the gauge goes dark the tool comes out and the key comes up at once', async () => {
  const { clock, set, show, hand } = opened()
  show('key now')
  await clock.advance(1000)
  expect(set.now.key).toBe(true)
  hand.onDark()
  expect(set.now).toEqual({ key: false, hand: null })
  await clock.advance(5000)
  expect(set.now.key).toBe(false)
})

test('no state makes the hand throw, whatever is missing from the frame', async () => {
  for (const state of STATES) {
    const { clock, show } = opened()
    show(state)
    await clock.advance(3000)
    show(state, { step: { adjuster: 'supply' } })
    await clock.advance(3000)
  }
})

test.each([
  ['everything as the step wants it', {}, 'keep'],
  ['the oscillator lead off', { tone: '1 kHz at 30 mV' }, 'again'],
  ['another channel', { channelWanted: 1 }, 'again'],
  ['another mode', { mode: 'AM' }, 'again'],
] as const)('a question about a value: the hand looks at the set first, %s', async (_, step, kind) => {
  const { clock, show, asked } = opened()
  show('question', { step: { channelWanted: 20, ...step }, offers: ['again', 'keep'] })
  await clock.advance(9000)
  expect(asked.map(({ message }) => message.kind)).toEqual([kind])
})

test('times in which the hand acted do not overlap and cover reading the step', async () => {
  const { clock, show, hand, asked } = opened()
  show('read step', { step: { channelWanted: 20 } })
  await clock.advance(9000)
  show('supply moving')
  await clock.advance(3000)
  show('key now')
  await clock.advance(2000)
  const times = hand.busyMs()
  for (const [index, [from, to]] of times.entries()) {
    expect(to).toBeGreaterThan(from)
    expect(from).toBeGreaterThan(times[index - 1]?.[1] ?? -1)
  }
  const total = times.reduce((sum, [from, to]) => sum + to - from, 0)
  expect(total).toBeGreaterThan((asked[0]?.atMs ?? 0) - 100)
  expect(total).toBeLessThan((asked[0]?.atMs ?? 0) + 1300)
})

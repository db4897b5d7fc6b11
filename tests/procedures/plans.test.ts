import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { loadPlans } from '../../src/commands/load-procedures.ts'
import { type BandChannel, channelAt, findChannel, middleOf } from '../../src/core/radio/channels.ts'
import { readYamlText } from '../../src/schema/door/yaml-door.ts'
import { ChannelPlan } from '../../src/schema/files/channel-plan.ts'

/** tests/reference/channels.csv: public tables; its first lines say where each was read. */
const rows = readFileSync(join(import.meta.dirname, '..', 'reference', 'channels.csv'), 'utf8')
  .trim()
  .split('\n')
  .filter((line) => !line.startsWith('#'))
  .slice(1)
  .map((line) => {
    const [plan = '', channel = '', transmit = '', receive = ''] = line.split(',')
    return { plan, channel: Number(channel), transmitHz: Number(transmit), receiveHz: Number(receive) }
  })

const FILES: Readonly<Record<string, string>> = {
  'CEPT-40': 'cept-40',
  'US-CB-40': 'us-40',
  'UK-27/81-40': 'uk-27-81',
  'DE-80': 'de-80',
  'PL-40-offset': 'pl-40',
  'PMR446-16': 'pmr446-16',
  'AU-UHF-CB-80': 'au-uhf-80',
  'MARINE-VHF-AU-allocation': 'marine-vhf',
}
const plans = loadPlans()
const inPlan = rows.filter((row) => row.plan in FILES)

test('387 channels in eight plans are held against the public tables', () => {
  expect(inPlan).toHaveLength(387)
})

test.each(inPlan)('$plan channel $channel transmits on $transmitHz Hz and receives on $receiveHz Hz', (row) => {
  const found = plans.get(FILES[row.plan] ?? '')?.channels.find((channel) => channel.channel === row.channel)
  expect(found && { transmitHz: found.transmitHz, receiveHz: found.receiveHz }).toEqual({
    transmitHz: row.transmitHz,
    receiveHz: row.receiveHz,
  })
})

const gaps = rows.filter((row) => row.plan.includes('NOT-CB'))

test.each(gaps)('no channel of the European forty is on the gap at $transmitHz Hz', (gap) => {
  expect(plans.get('cept-40')?.channels.some((channel) => channel.transmitHz === gap.transmitHz)).toBe(false)
})

test('channel 40 is 27.405 MHz, not the 27.355 MHz that 26.965 + 0.01 (n - 1) would give', () => {
  expect(plans.get('cept-40')?.channels.find((channel) => channel.channel === 40)?.transmitHz).toBe(27_405_000)
})

/** `id` or `id:from..to`, as bands in use. */
function bands(...words: readonly string[]): readonly BandChannel[] {
  return words.flatMap((word) => {
    const [id = '', run = '1..999'] = word.split(':')
    const [from, to] = run.split('..').map(Number)
    const channels = plans.get(id)?.channels ?? []
    return channels
      .filter(({ channel }) => channel >= (from ?? 1) && channel <= (to ?? 999))
      .map((one) => ({ ...one, band: id }))
  })
}

describe('channels set apart', () => {
  test.each([
    { id: 'cept-40', reserved: [9] },
    { id: 'us-40', reserved: [9] },
    { id: 'de-80', reserved: [9] },
    { id: 'uk-27-81', reserved: [9] },
    { id: 'pl-40', reserved: [9] },
    { id: 'pmr446-16', reserved: [] },
    { id: 'au-uhf-80', reserved: [5, 22, 23, 35, 61, 62, 63] },
    { id: 'marine-vhf', reserved: [6, 13, 16, 67, 70, 75, 76] },
  ])('of $id the channels $reserved are never keyed', ({ id, reserved }) => {
    const kept = plans.get(id)?.channels.filter((channel) => channel.reserved)
    expect(kept?.map(({ channel }) => channel)).toEqual(reserved)
  })

  test('data channels of the German plan are named; voice is allowed there too, so they may be keyed', () => {
    const data = plans.get('de-80')?.uses.find((use) => use.for.includes('data'))
    expect(data).toMatchObject({ channels: [6, 7, 24, 25, 40, 41, 52, 53, 76, 77], neverKeyed: false, mark: 'READ' })
  })

  test('what is never keyed was read somewhere, in every plan', () => {
    const never = [...plans.values()].flatMap(({ uses }) => uses.filter((use) => use.neverKeyed))
    expect(never.length).toBeGreaterThan(12)
    expect(never.filter(({ mark, source }) => mark !== 'READ' || source === '')).toEqual([])
  })

  const PLAN = (rest: string) =>
    `format: 1\nplan: two\ntitle: Two\nsource: own\nspacing: 10 kHz\n${rest}\nchannels: { 1: 27 MHz, 2: 27.01 MHz }\n`

  test('"reserved" of older files is still read', () => {
    const { channels } = readYamlText(PLAN('reserved: [2]'), 'two.yaml', ChannelPlan)
    expect(channels.map(({ reserved }) => reserved)).toEqual([false, true])
  })

  test.each([
    ['uses: [{ channels: [2], for: data, mark: READ }]', 'says READ and not where: add "source", or say MEMORY'],
    ['uses: [{ channels: [3], for: data, mark: MEMORY }]', 'the plan has no channel 3'],
    ['uses: [{ channels: [2], for: data, mark: guess }]', 'mark'],
  ])('%s is refused: %s', (rest, said) => {
    expect(() => readYamlText(PLAN(rest), 'two.yaml', ChannelPlan)).toThrow(said)
  })
})

describe('middle', () => {
  test.each([
    { use: ['cept-40'], middle: 19, hz: 27_185_000, why: 'the midpoint of 26.965 and 27.405 MHz is channel 19 itself' },
    {
      use: ['cept-40', 'de-80:41..80'],
      middle: 3,
      hz: 26_985_000,
      why: 'the midpoint of 26.565 and 27.405 MHz is channel 3 itself',
    },
    {
      use: ['cept-40', 'uk-27-81'],
      middle: 40,
      hz: 27_405_000,
      why: 'the midpoint 27.478125 MHz lies between two bands, nearer to the lower',
    },
    {
      use: ['cept-40', 'de-80:41..80', 'uk-27-81'],
      middle: 27,
      hz: 27_275_000,
      why: 'three bands, midpoint 27.278125 MHz',
    },
    { use: ['marine-vhf'], middle: 74, hz: 156_725_000, why: 'ship transmit 156.025 to 157.425 MHz' },
    { use: ['pmr446-16'], middle: 8, hz: 446_093_750, why: 'a tie between 8 and 9 goes to the lower' },
  ])('of $use is channel $middle: $why', ({ use, middle, hz }) => {
    expect(middleOf(bands(...use))).toMatchObject({ channel: middle, transmitHz: hz })
  })

  test('steps round reserved channels: with 74 taken away, 16 and 70 are never chosen', () => {
    const left = bands('marine-vhf').filter((channel) => channel.channel !== 74)
    const middle = middleOf(left)
    expect(middle?.reserved).toBe(false)
    expect([6, 13, 16, 67, 70, 75, 76]).not.toContain(middle?.channel)
  })

  test('is nothing when every channel is reserved', () => {
    expect(middleOf(bands('marine-vhf').filter((channel) => channel.reserved))).toBeUndefined()
  })
})

describe('the channel a counter reading belongs to', () => {
  const cept = bands('cept-40')
  test.each([
    { hz: 27_205_412, channel: 20 },
    { hz: 27_184_900, channel: 19 },
    { hz: 27_255_000, channel: 23 },
    { hz: 27_235_000, channel: 24 },
  ])('$hz Hz is channel $channel', ({ hz, channel }) => {
    expect(channelAt(hz, cept, 10_000)?.channel).toBe(channel)
  })

  test.each([{ hz: 27_195_000 + 400 }, { hz: 26_000_000 }, { hz: 0 }])(
    '$hz Hz is none: more than half a spacing from every channel',
    ({ hz }) => {
      const near = channelAt(hz, cept, 10_000)
      expect(near === undefined || Math.abs(near.transmitHz - hz) <= 5000).toBe(true)
      if (hz < 26_500_000) expect(near).toBeUndefined()
    },
  )

  test('a number belongs to the first band in use that has it, or to the band named', () => {
    const both = bands('cept-40', 'uk-27-81')
    expect(findChannel(20, both)?.transmitHz).toBe(27_205_000)
    expect(findChannel(20, both, 'uk-27-81')?.transmitHz).toBe(27_791_250)
    expect(findChannel(77, both)).toBeUndefined()
  })
})

import { describe, expect, test } from 'vitest'
import { loadPlans } from '../../../src/commands/load-procedures.ts'
import { type BandChannel, middleOf } from '../../../src/core/radio/channels.ts'

const plans = loadPlans()
const channelsOf = (id: string): readonly BandChannel[] =>
  (plans.get(id)?.channels ?? []).map((one) => ({ ...one, band: id }))

/** By hand from the ends of each plan (tests/reference/channels.csv, READ; midpoints COMPUTED). */
const MIDDLES = [
  { id: 'cept-40', count: 40, middle: 19, hz: 27_185_000 },
  { id: 'us-40', count: 40, middle: 19, hz: 27_185_000 },
  { id: 'pl-40', count: 40, middle: 19, hz: 27_180_000 },
  { id: 'uk-27-81', count: 40, middle: 20, hz: 27_791_250 }, // a tie of 20 and 21
  { id: 'de-80', count: 80, middle: 3, hz: 26_985_000 },
  { id: 'pmr446-16', count: 16, middle: 8, hz: 446_093_750 }, // a tie of 8 and 9
  { id: 'au-uhf-80', count: 80, middle: 60, hz: 476_912_500 }, // a tie of 60 and 21
  { id: 'marine-vhf', count: 51, middle: 74, hz: 156_725_000 },
]

test('these are all the plans there are', () => {
  expect(MIDDLES.map(({ id }) => id).toSorted()).toEqual([...plans.keys()].toSorted())
})

test.each(MIDDLES)('$id has $count channels and its middle is $middle, $hz Hz', ({ id, count, middle, hz }) => {
  const channels = channelsOf(id)
  expect(channels).toHaveLength(count)
  expect(middleOf(channels)).toMatchObject({ channel: middle, transmitHz: hz, reserved: false })
})

test.each([...plans.values()].map((plan) => [plan.id, plan.source] as const))('%s names its source', (_, source) => {
  expect(source.length).toBeGreaterThan(10)
})

describe('transmit and receive kept apart', () => {
  const duplex = [...plans.keys()].map((id) => ({
    id,
    pairs: channelsOf(id).filter(({ transmitHz, receiveHz }) => transmitHz !== receiveHz),
  }))

  test.each(duplex)('$id', ({ id, pairs }) => {
    expect(pairs.length).toBe(id === 'marine-vhf' ? 25 : 0)
  })

  test('every marine pair is 4.6 MHz apart, the set transmitting on the lower', () => {
    const pairs = duplex.find(({ id }) => id === 'marine-vhf')?.pairs ?? []
    for (const { channel, transmitHz, receiveHz } of pairs)
      expect(receiveHz - transmitHz, `channel ${channel}`).toBe(4_600_000)
  })

  test('the middle is chosen by what is transmitted: receive frequencies 4.6 MHz up do not move it', () => {
    const channels = channelsOf('marine-vhf')
    const simplex = channels.map((one) => ({ ...one, receiveHz: one.transmitHz }))
    expect(middleOf(simplex)?.channel).toBe(middleOf(channels)?.channel)
  })
})

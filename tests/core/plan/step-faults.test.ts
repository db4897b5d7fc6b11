import { describe, expect, test } from 'vitest'
import { cannotBeDone, faultsThere, stepFaults } from '../../../src/core/plan/step-faults.ts'
import type { BandChannel } from '../../../src/core/radio/channels.ts'
import type { Stop } from '../../../src/schema/files/step-file.ts'

type Judged = Parameters<typeof stepFaults>[0]

/** Four channels of a marine band, of which 16 is reserved, and two of another. */
const channels = [
  ...[15, 16, 17, 18].map((channel) => ({ channel, band: 'marine', hz: 156_000_000 + 25_000 * channel })),
  ...[1, 2].map((channel) => ({ channel, band: 'land', hz: 80_000_000 + 25_000 * channel })),
].map(({ channel, band, hz }) => ({
  ...{ channel, band, transmitHz: hz, receiveHz: hz, reserved: band === 'marine' && channel === 16 },
})) as unknown as readonly BandChannel[]

const stop = (channel: Stop['channel'], state: Stop['state'] = 'receive') =>
  ({ state, channel, tone: null }) as unknown as Stop

const step = (changes: Partial<Judged>): Judged => ({
  ...{ stops: [stop(15)], band: null, aim: null, target: null, targetWords: 'TARGET', ...changes },
})

const fields = (...args: Parameters<typeof stepFaults>) => stepFaults(...args).map(([field]) => field.join(' '))

describe('channels of a step', () => {
  test('that are there are no fault; one that is in no band in use is, with what there is', () => {
    expect(stepFaults(step({}), channels)).toEqual([])
    const [[field, words] = [[], '']] = stepFaults(step({ stops: [stop(40)] }), channels)
    expect(field).toEqual(['channel'])
    expect(JSON.stringify(words)).toMatch(/40.*15.*18.*marine.*1.*2.*land/)
    expect(cannotBeDone(step({ stops: [stop(40)] }), channels)).toEqual(words)
    expect(cannotBeDone(step({}), channels)).toBe('')
  })

  test('of a list each by its place, each once', () => {
    expect(fields(step({ stops: [stop(15), stop(40), stop(41), stop(40)] }), channels)).toEqual([
      'channels 1',
      'channels 2',
    ])
    expect(fields(step({ stops: [stop(null), stop('middle')] }), channels)).toEqual([])
  })

  test('of a step of one band only those of that band count', () => {
    expect(fields(step({ stops: [stop(1)], band: 'land' }), channels)).toEqual([])
    expect(fields(step({ stops: [stop(1)], band: 'marine' }), channels)).toEqual(['channel'])
  })

  test('a reserved one is not keyed, and another is named; read in receive it is no fault', () => {
    expect(stepFaults(step({ stops: [stop(16)] }), channels)).toEqual([])
    const faults = faultsThere(step({ stops: [stop(16, 'transmit')] }), channels)
    expect(faults.map(([field]) => field)).toEqual([['channel']])
    expect(JSON.stringify(faults[0]?.[1])).toMatch(/16.*(15|17)/)
    expect(faultsThere(step({ stops: [stop(17, 'transmit')] }), channels)).toEqual([])
    expect(fields(step({ stops: [stop(15, 'transmit'), stop(16)] }), channels)).toEqual(['channels 1'])
  })

  test('the middle of bands of which nothing may be keyed is nowhere', () => {
    const reserved = channels.filter((one) => one.reserved)
    expect(cannotBeDone(step({ stops: [stop('middle')] }), reserved)).not.toBe('')
    expect(cannotBeDone(step({ stops: [stop('middle')] }), channels)).toBe('')
    expect(cannotBeDone(step({ stops: [stop(16)] }), reserved)).toBe('')
  })
})

describe('the aim of a step', () => {
  const band = { kind: 'band', unit: 'V', low: 3, high: 4, aim: null } as const
  const with_ = (centre: number | 'channel', plusMinus: number, target: Judged['target'] = band) =>
    fields(step({ aim: { centre, plusMinus }, target }), channels)

  test.each([
    [3.5, 0.5, []],
    [3.5, 0.51, ['aim']],
    [3.1, 0.2, ['aim']],
    [3.9, 0.2, ['aim']],
    [3.9, 0.1, []],
  ])('%d V +- %d V in 3 .. 4 V: %j', (centre, plusMinus, faults) => {
    expect(with_(centre, plusMinus)).toEqual(faults)
  })

  test('an open side holds everything, and without aim or target there is nothing to lie outside', () => {
    expect(with_(9, 1, { ...band, high: null })).toEqual([])
    expect(with_(1, 0.5, { ...band, low: null })).toEqual([])
    expect(with_(9, 1, { kind: 'maximum' })).toEqual([])
    expect(with_(9, 1, null)).toEqual([])
    expect(fields(step({ target: band }), channels)).toEqual([])
  })

  test('about a channel it is looked at on each of them', () => {
    const around = { kind: 'around channel', plusMinus: 150, as: 'Hz' } as const
    expect(with_('channel', 30, around)).toEqual([])
    expect(with_('channel', 151, around)).toEqual(['aim'])
    const fixed = (stops: readonly Stop[]) =>
      fields(step({ stops: [...stops], aim: { centre: 156_375_000, plusMinus: 30 }, target: around }), channels)
    expect(fixed([stop(15)])).toEqual([])
    expect(fixed([stop(15), stop(17)])).toEqual(['aim'])
    expect(fixed([stop(null)])).toEqual([])
    expect(
      JSON.stringify(
        cannotBeDone(
          step({ stops: [stop(17)], aim: { centre: 156_375_000, plusMinus: 30 }, target: around }),
          channels,
        ),
      ),
    ).toContain('TARGET')
  })
})

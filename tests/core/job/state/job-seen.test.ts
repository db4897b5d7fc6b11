import { describe, expect, test } from 'vitest'
import {
  channelSeen,
  conditionsOf,
  plugVolts,
  suspectLeads,
  terminalVolts,
  wanted,
  wantsKey,
  wrongChannel,
} from '../../../../src/core/job/state/job-seen.ts'
import type { Job } from '../../../../src/core/job/state/job-types.ts'
import { sentence } from '../../../../src/words/sentence/sentence.ts'
import { JobBench, METERS, quietMeter, WHOLE_SHEET } from '../../../kit/job/job-bench.ts'

/** A lead of so many ohms, 0.3 A in receive and 1.4 A in transmit. */
const withLead = (job: Job, ohms: number): Job => ({ ...job, lead: { ohms, receiveAmps: 0.3, keyedAmps: 1.4 } })

describe('volts at the terminals for volts at the plug', () => {
  const { job } = new JobBench()

  test.each([
    [0, true, 13.8],
    [0.1, true, 13.94],
    [0.1, false, 13.83],
    [0.15, true, 14.01],
    [0.151, true, 13.8],
    [-0.1, true, 13.8],
  ])('a lead of %d ohm, keyed %s: %d V for 13.8 V; what has to be mended is not made up for', (ohms, keyed, volts) => {
    expect(terminalVolts(withLead(job, ohms), 13.8, keyed)).toBeCloseTo(volts, 9)
  })

  test('never above what the set takes, nor above normal on a supply that does not trip', () => {
    expect(terminalVolts(withLead(job, 0.1), 15.9, true)).toBeCloseTo(16, 9)
    const { job: low } = new JobBench(METERS, { supplyTrip: 'none' })
    expect(terminalVolts(withLead(low, 0.1), 15.6, true)).toBeCloseTo(13.8, 9)
  })

  test('and back: what the supply reads, less the drop of the current that flows now', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.run(0.1)
    expect(plugVolts(withLead(bench.job, 0.1))).toBeCloseTo(13.8 - 0.1 * 0.3, 9)
    bench.key(true)
    expect(plugVolts(withLead(bench.job, 0.1))).toBeCloseTo(13.8 - 0.1 * 1.1, 9)
    expect(plugVolts({ ...bench.job, supply: null })).toBeNull()
  })
})

describe('the channel that the counter sees', () => {
  const keyed = (hz: number) => {
    const bench = new JobBench()
    bench.begin('power-normal')
    bench.shows.set('RF power', 3.7).set('frequency', hz)
    bench.run(2.5)
    bench.key(true)
    bench.run(2.5)
    return bench
  }

  test('is told while keyed, from readings since the last change', () => {
    const { job } = keyed(27_205_000)
    expect(channelSeen(job)?.channel).toBe(20)
    expect(wrongChannel(job)).toBe('')
    expect(channelSeen({ ...job, key: { ...job.key, keyed: false } })).toBeNull()
    expect(channelSeen({ ...job, counting: { ...job.counting, epoch: job.counting.epoch + 1 } })).toBeNull()
  })

  test('another than the step wants is named, and so is what is wanted', () => {
    const words = sentence(wrongChannel(keyed(27_185_000).job))
    expect(words).toMatch(/\b19\b.*\b20\b/)
  })

  test('where there is no channel none is', () => {
    const { job } = keyed(28_000_000)
    expect(channelSeen(job)).toBeNull()
    expect(wrongChannel(job)).toBe('')
  })
})

describe('leads that read nothing', () => {
  function reading(volts: number, step = 'control-voltage'): string {
    const bench = new JobBench()
    bench.begin(step)
    bench.shows.set('DC voltage', volts / 1.01)
    bench.run(5)
    return sentence(suspectLeads(bench.job))
  }

  test('below 0.02 V the prod is off; up to 0.33 V the common is missing, whichever way round; from there on it is a reading', () => {
    const off = reading(0.01)
    const wanders = reading(0.1)
    expect(off).not.toBe('')
    expect(wanders).toMatch(/ES/)
    expect(wanders).not.toBe(off)
    expect(reading(-0.1)).toBe(wanders)
    expect(reading(-0.01)).toBe(off)
    expect(reading(0.025)).toBe(wanders)
    expect(reading(0.32)).toBe(wanders)
    expect(reading(0.34)).toBe('')
    expect(reading(-0.34)).toBe('')
  })

  test('of any other quantity, and before anything is read, nothing is said', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    expect(suspectLeads(bench.job)).toBe('')
    const power = new JobBench()
    power.begin('power-normal')
    power.shows.set('RF power', 0.01).set('frequency', 27_205_000)
    power.key(true)
    power.run(4)
    expect(suspectLeads(power.job)).toBe('')
  })
})

describe('what the bench is asked to read', () => {
  const quantities = (step: string, meters = METERS) => {
    const bench = new JobBench(meters)
    bench.begin(step)
    return { bench, of: () => wanted(bench.job) }
  }

  test('the quantities of the step in its order, then what shows key and channel where it is keyed', () => {
    expect(quantities('control-voltage').of()).toEqual(['DC voltage'])
    expect(quantities('power-normal').of()).toEqual(['RF power', 'DC current', 'frequency'])
    expect(quantities('frequency').of()).toEqual(['frequency', 'RF power'])
  })

  test('only what somebody measures', () => {
    expect(quantities('power-normal', [quietMeter('RF power')]).of()).toEqual(['RF power'])
  })

  test('of a check the one that has settled makes room for the next; of a set-to the main one stays first', () => {
    const slow = METERS.map((one) => (one.quantity === 'DC current' ? { ...one, everyMs: 1000 } : one))
    const { bench, of } = quantities('power-normal', slow)
    bench.shows.set('RF power', 3.7).set('frequency', 27_205_000)
    bench.key(true)
    const seen = new Set<string>()
    for (let at = 0; at < 40; at++) {
      bench.run(0.25)
      seen.add(of().join(', '))
    }
    expect(seen).toContain('DC current, RF power, frequency')
    const set = quantities('power')
    set.bench.shows.set('RF power', 3.5).set('frequency', 27_205_000)
    set.bench.run(3)
    set.bench.key(true)
    for (let at = 0; at < 40; at++) {
      set.bench.run(0.25)
      expect(set.of()[0]).toBe('RF power')
    }
  })
})

test('under which conditions a value is kept: what was wanted, and what was so', () => {
  const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
  bench.begin('receive-current')
  bench.run(0.1)
  expect(wantsKey(bench.job)).toBe(false)
  expect(conditionsOf(bench.job)).toMatchObject({
    wantedVolts: 12,
    plugVolts: 12,
    amps: 0.3,
    channelWanted: 20,
    channelSeen: null,
    state: 'receive',
    keyDownS: 0,
  })
  const keyed = new JobBench()
  keyed.begin('power-normal')
  keyed.shows.set('RF power', 3.7).set('frequency', 27_205_000)
  keyed.key(true)
  keyed.run(3)
  expect(wantsKey(keyed.job)).toBe(true)
  expect(conditionsOf(keyed.job)).toMatchObject({
    wantedVolts: 13.8,
    amps: 1.1,
    channelSeen: 20,
    state: 'transmit',
    mode: 'FM',
  })
  expect(conditionsOf(keyed.job).keyDownS).toBeCloseTo(3, 0)
})

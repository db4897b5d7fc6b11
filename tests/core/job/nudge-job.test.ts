import { describe, expect, test } from 'vitest'
import { JobBench, METERS, quietMeter } from '../../kit/job/job-bench.ts'
import { levelDb, TOP_WATTS } from '../../kit/peaking/two-slugs.ts'

/** A power meter that takes 2 s to show a change; everything else is quick. */
const SLOW = [...METERS.filter(({ quantity }) => quantity !== 'RF power'), quietMeter('RF power', { latencyMs: 2000 })]

/** A hand that keys, unkeys and nudges as the frame says, and does nothing else. */
function peakBySlowMeter(start: readonly [number, number]) {
  const bench = new JobBench(SLOW)
  bench.begin('drive')
  bench.shows.set('frequency', 27_205_000)
  const slugs = { DK: start[0], OK: start[1] }
  const seen = new Set<string>()
  const words = new Set<string>()
  let adjuster = ''
  let nudged = 0
  let way = 1
  let keyedNudges = 0
  let largestShare = 0
  let downMs = 0
  for (let step = 0; step < 20_000 && bench.job.captured.length === 0; step++) {
    const frame = bench.frame()
    seen.add(frame.state)
    largestShare = Math.max(largestShare, frame.key.share)
    if (frame.key.keyed) downMs += 100
    if (frame.state === 'key now') bench.key(true)
    if (frame.state === 'release key') bench.key(false)
    const label = frame.step?.adjuster === 'OK' ? 'OK' : 'DK'
    if (label !== adjuster) {
      adjuster = label
      nudged = 0
    }
    const nudge = frame.peak?.nudge
    if (frame.state === 'nudge' && nudge && nudge.number !== nudged) {
      nudged = nudge.number
      if (nudge.back) way = -way
      slugs[label] += way * nudge.tenths * 0.1
      words.add(frame.guide.words)
      if (frame.key.keyed) keyedNudges += 1
    }
    bench.shows.set('RF power', frame.key.keyed ? TOP_WATTS * 10 ** (levelDb(slugs.DK, slugs.OK) / 10) : 0)
    bench.run(0.1)
  }
  return { bench, slugs, seen, words, keyedNudges, largestShare, downMs }
}

describe('a peak by a meter of 2 s latency', () => {
  const done = peakBySlowMeter([0.35, -0.4])

  test('is found in nudges made with the key up, in bursts that keep within 15 s on and 45 s off', () => {
    expect(-levelDb(done.slugs.DK, done.slugs.OK)).toBeLessThan(0.05)
    expect(done.bench.job.captured[0]).toMatchObject({ step: 'drive', label: 'peaked' })
    expect(done.keyedNudges).toBe(0)
    expect(done.largestShare).toBeLessThanOrEqual(1)
    expect(done.seen).toContain('rest')
  })

  test('never says climb, passed over or return, and says how far in tenths of a turn', () => {
    for (const state of ['climb', 'passed over', 'return']) expect(done.seen).not.toContain(state)
    expect(done.words).toContain('Nudge DK on a tenth of a turn')
    expect([...done.words].some((words) => /^Nudge (DK|OK) back/.test(words))).toBe(true)
  })

  test('takes at most 200 s of carrier for both coils', () => {
    expect(done.downMs).toBeLessThanOrEqual(200_000)
  })
})

describe('what the adjusters do', () => {
  /** VK turned from 2.0 V to 2.4 V in 2 s. */
  function turnVk() {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.shows.set('DC voltage', 2 / 1.01)
    bench.run(4)
    for (let volts = 2; volts < 2.395; volts += 0.02) {
      bench.shows.set('DC voltage', volts / 1.01)
      bench.run(0.1)
    }
    bench.shows.set('DC voltage', 2.4 / 1.01)
    bench.run(12)
    return bench
  }

  test('is learned in the job: VK moves the control voltage by 0.2 V a second', () => {
    const bench = turnVk()
    expect(bench.job.captured).toHaveLength(1)
    expect(bench.job.effects.get('VK DC voltage')?.perS).toBeCloseTo(0.2, 1)
  })

  test('stands in the rule when the step is opened again', () => {
    const bench = turnVk()
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    expect(bench.job.open.measured[0]?.rule.set?.usual).toEqual(bench.job.effects.get('VK DC voltage'))
  })

  test('one that moves nothing for 13 s far from the band has hardly any effect: said, and it can be captured or left out', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.shows.set('DC voltage', 1.5 / 1.01)
    bench.run(18)
    expect(bench.frame()).toMatchObject({
      state: 'no effect',
      guide: { words: 'Hardly any effect: is the tool in VK? Stuck or cracked core?' },
      offers: expect.arrayContaining(['capture', 'leave out']),
    })
  })
})

import { describe, expect, test } from 'vitest'
import { actedWords, advance } from '../../../src/core/job/job.ts'
import { guideOf } from '../../../src/core/job/picture/job-guide.ts'
import { said, type Words } from '../../../src/words/said/said.ts'
import { sentence, worded } from '../../../src/words/sentence/sentence.ts'
import { JobBench } from '../../kit/job/job-bench.ts'

describe('a step read in receive', () => {
  test('opens on its card, arms the supply when the person is ready, and captures 2.40 V by dwell', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.shows.set('DC voltage', 2.4 / 1.01)
    expect(bench.frame().state).toBe('hold-off')
    bench.run(15)
    const [kept] = bench.job.captured
    expect(kept).toMatchObject({ step: 'control-voltage', verdict: 'inside', label: 'settled', by: 'dwell', unit: 'V' })
    expect(kept?.value).toBeCloseTo(2.4, 2)
  })

  test('corrects what a 10 Mohm meter loses behind 100 kohm: 2.376 V shown is 2.40 V', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.shows.set('DC voltage', 2.376)
    bench.run(15)
    expect(bench.job.captured[0]?.value).toBeCloseTo(2.376 * 1.01, 2)
  })

  test('a set-to outside its aim window is never captured by dwell, however steady', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.shows.set('DC voltage', 2.55 / 1.01)
    bench.run(30)
    expect(bench.job.captured).toHaveLength(0)
    expect(bench.frame().guide).toMatchObject({ way: 'down', hands: 'on' })
  })

  test('a key asks for it all the same: captured as it stands, and judged', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.shows.set('DC voltage', 2.7 / 1.01)
    bench.run(15)
    expect(bench.ask({ kind: 'capture', by: 'key' })).toMatchObject({ ok: true })
    expect(bench.job.captured[0]).toMatchObject({ verdict: 'high', by: 'key' })
    expect(bench.job.results[1]?.state).toBe('out of band')
  })

  test('readings from before the last change count for nothing', () => {
    const bench = new JobBench()
    bench.shows.set('DC voltage', 2.4 / 1.01)
    bench.run(5)
    bench.begin('control-voltage')
    expect(bench.ask({ kind: 'capture', by: 'click' })).toEqual({
      ok: false,
      words: 'too few readings count yet: three are needed',
    })
  })

  test('keyed when it should not be: release the key, and nothing counts', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.shows.set('DC voltage', 2.4 / 1.01)
    bench.key(true)
    bench.run(10)
    expect(bench.frame().state).toBe('release key')
    expect(bench.job.captured).toHaveLength(0)
  })
})

describe('the supply', () => {
  test('goes to 15.6 V for the drive step and back to normal when another step is opened in mid-step', () => {
    const bench = new JobBench()
    bench.begin('drive')
    expect(bench.volts).toBeCloseTo(15.6, 6)
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    expect(bench.volts).toBeCloseTo(13.8, 6)
    expect(bench.did('normal')).toHaveLength(1)
  })

  test('is not raised while keyed: the key has to come up first', () => {
    const bench = new JobBench()
    bench.begin('power-normal')
    bench.key(true)
    bench.ask({ kind: 'open step', step: 'power' })
    bench.ask({ kind: 'ready' })
    expect(bench.frame().state).toBe('release key')
    expect(bench.did('arm')).toHaveLength(1)
    bench.key(false)
    bench.run(0.2)
    expect(bench.did('arm')).toHaveLength(2)
    expect(bench.volts).toBeCloseTo(15.6, 6)
  })

  test('goes to normal when the page is gone at 15.6 V, and stays until somebody goes on', () => {
    const bench = new JobBench()
    bench.begin('drive')
    bench.feed({ kind: 'page', present: false, why: 'the page was closed', atMs: bench.nowMs })
    expect(bench.volts).toBeCloseTo(13.8, 6)
    expect(bench.frame()).toMatchObject({
      state: 'paused',
      because: 'the page was closed. The supply went back to normal',
    })
    bench.feed({ kind: 'page', present: true, why: '', atMs: bench.nowMs })
    bench.run(2)
    expect(bench.frame().state).toBe('paused')
    expect(bench.ask({ kind: 'go on' }).ok).toBe(true)
    expect(bench.frame().state).toBe('read step')
  })

  test('a page that is gone in receive at normal voltage changes nothing', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.feed({ kind: 'page', present: false, why: 'the page was closed', atMs: bench.nowMs })
    expect(bench.job.phase.name).toBe('work')
    expect(bench.did('normal')).toHaveLength(0)
  })

  test('the keeper made it safe by itself: stopped, with its reason, until "go on"', () => {
    const bench = new JobBench()
    bench.begin('drive')
    bench.feed({ kind: 'acted', resting: 'safe', why: 'the over-voltage trip went', proved: true, atMs: bench.nowMs })
    expect(bench.frame()).toMatchObject({ state: 'stopped', because: 'the over-voltage trip went' })
    expect(bench.ask({ kind: 'ready' }).ok).toBe(false)
  })

  test('"off" is said only of an output that reads off; after two seconds the hand at the switch is asked for', () => {
    const bench = new JobBench()
    bench.begin('drive')
    const on = bench.job.supply
    if (on?.output !== 'on') throw new TypeError('the output is not on')
    const why = 'the supply does not answer'
    bench.feed({ kind: 'acted', resting: 'safe', why, proved: false, atMs: bench.nowMs })
    const stopped = (job: typeof bench.job, state: typeof on) => {
      const fed = advance(job, { kind: 'supply', state, atMs: job.nowMs }, job.wall).job
      return worded(guideOf(fed))
    }
    const later = (ms: number) => advance(bench.job, { kind: 'tick', atMs: bench.job.nowMs + ms }, bench.job.wall).job
    const because = `${why}; off is not proved: switch the supply off by hand`
    expect(stopped(later(1900), { ...on, output: 'unknown' })).toMatchObject({
      words: 'Switching the supply off',
      because,
    })
    for (const output of ['unknown', 'on'] as const)
      expect(stopped(later(2100), { ...on, output })).toMatchObject({
        state: 'stopped',
        words: 'Switch the supply off by hand',
        because: `Off is not proved. ${because}`,
      })
    expect(stopped(later(60_000), { ...on, output: 'off' })).toMatchObject({ words: 'SUPPLY OFF', because })
  })

  test('words that send to the switch already are not followed by the same', () => {
    const told = (why: Words) => sentence(actedWords({ resting: 'safe', why, proved: false }))
    const silent = said('keeper.silent')
    expect(told(silent)).toBe('the supply does not answer; off is not proved: switch the supply off by hand')
    const swept = said('keeper.off-not-proved', { why: silent })
    expect(told(swept)).toBe('the supply does not answer: the output is not proved off, switch the supply off by hand')
    const generator = said('generator.by-hand', { generator: 'gen', fault: silent, why: swept })
    expect(told(generator)).toBe(sentence(generator))
    expect(told('switch the supply off by hand')).toBe('switch the supply off by hand') // of an older keeper
    expect(actedWords({ resting: 'safe', why: silent, proved: true })).toBe(silent)
  })

  test('STOP switches it off from any state', () => {
    const bench = new JobBench()
    bench.begin('drive')
    bench.ask({ kind: 'stop' })
    expect(bench.output).toBe('off')
    expect(bench.frame().state).toBe('stopped')
  })
})

describe('the key', () => {
  test('is asked for, warned of at 70 and 90 %, asked up at 15 s, and the supply goes off at 18 s', () => {
    const bench = new JobBench()
    bench.begin('drive')
    expect(bench.frame()).toMatchObject({
      state: 'hold-off',
      guide: { words: 'The set follows its supply: key in a moment' },
    })
    bench.run(2.1)
    expect(bench.frame().state).toBe('key now')
    bench.key(true)
    bench.run(15.3)
    expect(bench.frame().state).toBe('release key')
    expect(bench.job.events.map((event) => event.what)).toEqual(
      expect.arrayContaining(['key down 70', 'key down 90', 'release key']),
    )
    expect(bench.output).toBe('on')
    bench.run(3)
    expect(bench.output).toBe('off')
    expect(bench.frame().state).toBe('stopped')
  })

  test('after a whole key-down the set rests 45 s before the next', () => {
    const bench = new JobBench()
    bench.begin('drive')
    bench.key(true)
    bench.run(15)
    bench.key(false)
    bench.run(1)
    expect(bench.frame()).toMatchObject({ state: 'rest' })
    expect(bench.frame().key.restLeftS).toBeCloseTo(44, 0)
    bench.run(45)
    expect(bench.frame().state).toBe('key now')
  })

  test('a keyed check too brief to settle is taken at nine tenths of the key-down and called short', () => {
    const bench = new JobBench()
    bench.begin('power-normal')
    bench.shows.set('RF power', 3.7)
    bench.shows.set('frequency', 27_205_000)
    bench.key(true)
    for (let at = 0; at < 40 && bench.job.captured.length === 0; at++) {
      bench.shows.set('RF power', at % 2 ? 3.2 : 4.1)
      bench.run(0.25)
    }
    const [kept] = bench.job.captured
    expect(kept).toMatchObject({ quantity: 'RF power', label: 'short' })
    expect(kept?.count).toBeGreaterThanOrEqual(3)
    expect(kept?.spread).toBeGreaterThan(0.2)
    expect(bench.job.key.used).toBeGreaterThanOrEqual(0.9)
  })
})

describe('the channel', () => {
  test('that the counter sees is told when it is another than the step wants, and nothing counts', () => {
    const bench = new JobBench()
    bench.begin('power-normal')
    bench.shows.set('RF power', 3.7)
    bench.shows.set('frequency', 27_185_000)
    bench.key(true)
    bench.run(6)
    expect(bench.frame()).toMatchObject({ state: 'wrong channel', because: 'the set is on 19, the step wants 20' })
    expect(bench.frame().step).toMatchObject({ channelWanted: 20, channelSeen: 19, channelMiddle: 19 })
    expect(bench.job.captured).toHaveLength(0)
  })

  test('changed to the right one while keyed: readings count again, from then on', () => {
    const bench = new JobBench()
    bench.begin('power-normal')
    bench.shows.set('RF power', 3.7)
    bench.shows.set('frequency', 27_185_000)
    bench.key(true)
    bench.run(3)
    bench.shows.set('frequency', 27_205_000)
    bench.run(6.4)
    expect(bench.job.captured.map((one) => one.quantity)).toEqual(['RF power', 'DC current'])
  })
})

describe('meters', () => {
  test('a lost meter stops the step with its name, the supply goes to normal, and the step goes on when it is back', () => {
    const bench = new JobBench()
    bench.begin('drive')
    bench.feed({ kind: 'link', instrument: 'RF power meter', up: false, words: 'the cable is out', atMs: bench.nowMs })
    expect(bench.volts).toBeCloseTo(13.8, 6)
    expect(bench.frame()).toMatchObject({ state: 'link lost', because: 'the cable is out' })
    bench.feed({ kind: 'link', instrument: 'RF power meter', up: true, words: '', atMs: bench.nowMs })
    expect(bench.volts).toBeCloseTo(15.6, 6)
    bench.run(2.1)
    expect(bench.frame().state).toBe('key now')
  })

  test('one that falls silent while its reading is shown is old, not true', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    bench.shows.set('DC voltage', 2.2)
    bench.run(3)
    bench.shows.delete('DC voltage')
    bench.run(2.5)
    expect(bench.frame()).toMatchObject({ state: 'old', guide: { words: 'Do not turn: the reading is old' } })
    expect(bench.frame().reading?.ageMs).toBeGreaterThan(2000)
  })

  test('a step whose quantity nobody measures cannot be started, and can be left out with a reason', () => {
    const bench = new JobBench([])
    expect(bench.ask({ kind: 'ready' })).toMatchObject({
      ok: false,
      words: expect.stringContaining('nobody on this bench measures DC voltage'),
    })
    expect(bench.ask({ kind: 'leave out', step: 'plug-volts', reason: 'no voltmeter here' }).ok).toBe(true)
    expect(bench.job.results[0]).toEqual({ state: 'left out', reason: 'no voltmeter here' })
    expect(bench.job.at).toBe(1)
  })
})

describe('steps', () => {
  test('can be opened again; the later value is added, the earlier one stays', () => {
    const bench = new JobBench()
    bench.shows.set('DC voltage', 2.4 / 1.01)
    bench.begin('control-voltage')
    bench.run(15)
    bench.shows.set('DC voltage', 2.41 / 1.01)
    bench.begin('control-voltage')
    bench.run(15)
    const kept = bench.job.captured.filter((one) => one.step === 'control-voltage')
    expect(kept.map((one) => one.latest)).toEqual([false, true])
    expect(bench.job.results[1]?.state).toBe('done')
  })

  test('one that does not exist is refused in words', () => {
    expect(new JobBench().ask({ kind: 'open step', step: 'nowhere' })).toEqual({
      ok: false,
      words: 'there is no step "nowhere" in this procedure',
    })
  })

  test('every request that makes no sense now is refused and changes nothing', () => {
    const bench = new JobBench()
    for (const kind of ['confirm', 'capture', 'next', 'go on'] as const) {
      const before = bench.job
      expect(bench.ask({ kind, ...(kind === 'capture' ? { by: 'key' } : {}) }).ok).toBe(false)
      expect({ ...bench.job, wall: '', log: [] }).toEqual({ ...before, wall: '', log: [] })
    }
  })
})

describe('the drop on the lead', () => {
  test('of 0.05 ohm is measured in receive and transmit, made up for once with the key up, and both are then inside', () => {
    const bench = new JobBench()
    bench.begin('plug-volts')
    const plug = () => bench.shows.set('DC voltage', bench.volts - 0.05 * bench.amps)
    const through = (seconds: number) => {
      for (let at = 0; at < seconds * 4; at++) {
        plug()
        bench.run(0.25)
      }
    }
    through(12)
    bench.shows.set('frequency', 27_205_000)
    bench.shows.set('RF power', 3)
    bench.key(true)
    through(7.5)
    bench.key(false)
    expect(bench.job.lead.ohms).toBeCloseTo(0.05, 2)
    through(14)
    bench.key(true)
    through(7.5)
    bench.key(false)
    bench.run(0.2)
    const kept = bench.job.captured.filter((one) => one.latest)
    expect(kept.map((one) => one.verdict)).toEqual(['inside', 'inside'])
    expect(bench.job.results[0]?.state).toBe('done')
  })

  test('is added to 15.6 V afterwards, within the ceiling', () => {
    const bench = new JobBench()
    bench.job = { ...bench.job, lead: { ohms: 0.05, receiveAmps: 0.3, keyedAmps: 1.4 } }
    bench.begin('power')
    expect(bench.volts).toBeCloseTo(15.6 + 0.05 * 1.4, 6)
    bench.job = { ...bench.job, lead: { ohms: 0.2, receiveAmps: 0.3, keyedAmps: 1.4 } }
    bench.begin('drive')
    expect(bench.volts).toBeCloseTo(15.6, 6)
  })
})

test('the supply current is what keys are seen in: 0.5 A is receive, 0.55 A is transmit', () => {
  const bench = new JobBench()
  bench.begin('control-voltage')
  for (const [amps, keyed] of [
    [0.3, false],
    [0.5, false],
    [0.56, true],
    [0.51, true],
    [0.45, false],
  ] as const) {
    bench.amps = amps
    bench.run(0.1)
    expect(bench.job.key.keyed).toBe(keyed)
  }
})

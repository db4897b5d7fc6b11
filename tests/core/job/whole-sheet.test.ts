import { describe, expect, test } from 'vitest'
import { entriesBetween } from '../../../src/core/job/job-entries.ts'
import type { MeterFacts } from '../../../src/schema/kept/reading.ts'
import { JobBench, METERS, quietMeter, WHOLE_SHEET } from '../../kit/job/job-bench.ts'

const FM_AM = {
  title: 'FM and AM',
  about: '',
  modes: ['FM' as const, 'AM' as const],
  decision: 'simple acceptance' as const,
  source: 'test',
  date: '2026-11-01',
}
const AM_METER = quietMeter('AM depth')
type Disturbs = Readonly<Record<string, readonly string[]>>
const whole = (more: { meters?: readonly MeterFacts[]; am?: boolean; disturbs?: Disturbs } = {}) =>
  new JobBench(more.meters ?? [...METERS, AM_METER], {
    procedure: WHOLE_SHEET,
    ...(more.disturbs ? { disturbs: more.disturbs } : {}),
    ...(more.am ? { ruleCard: FM_AM } : {}),
  })
const ROW = (bench: JobBench, id: string) => bench.frame().steps.find((line) => line.id === id)

/** Everything before the first turn, left out with a reason. */
function leaveOut(bench: JobBench, ...ids: readonly string[]): void {
  for (const step of ids)
    expect(bench.ask({ kind: 'leave out', step, reason: 'for the test' })).toMatchObject({ ok: true })
}

const FOUND = ['control-voltage.found', 'frequency.found', 'power-normal.found', 'deviation.found']

describe('as found, aligning, as left', () => {
  test('a row that reads again is a line for each of its steps, in its own pass', () => {
    const lines = whole().frame().steps
    expect(lines.filter(({ pass }) => pass === 'found').map(({ id }) => id)).toEqual(['settings-found', ...FOUND])
    expect(lines.filter(({ pass }) => pass === 'left').map(({ id }) => id)).toEqual([
      'control-voltage.left',
      'frequency.left',
      'power-normal.left',
      'deviation.left',
      'settings-left',
    ])
  })

  test('nothing can be turned before as found is read or left out with a reason', () => {
    const bench = whole()
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    const refused = bench.ask({ kind: 'ready' })
    expect(refused.ok).toBe(false)
    expect(refused.words).toMatch(/^as found first: Control voltage, receive, Transmit frequency/)
    leaveOut(bench, ...FOUND)
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    expect(bench.ask({ kind: 'ready' })).toMatchObject({ ok: true })
  })

  test('as found is closed once something was armed for turning, and says why', () => {
    const bench = whole()
    leaveOut(bench, ...FOUND)
    bench.ask({ kind: 'open step', step: 'control-voltage' })
    bench.ask({ kind: 'ready' })
    expect(bench.ask({ kind: 'open step', step: 'control-voltage.found' })).toEqual({
      ok: false,
      words: 'as found is closed: something on the board has been turned since',
    })
  })

  test('as found out of band is a reading, not a failure; the same value while aligning is out of band', () => {
    const bench = whole()
    bench.begin('control-voltage.found')
    bench.shows.set('DC voltage', 2.66 / 1.01)
    bench.run(12)
    expect(bench.job.captured[0]).toMatchObject({ pass: 'found', verdict: 'high', step: 'control-voltage' })
    expect(ROW(bench, 'control-voltage.found')).toMatchObject({ step: 'control-voltage', pass: 'found', state: 'done' })
    expect(bench.frame().step?.id, 'it goes on by itself').toBe('frequency')
  })

  /** A step that reads the control voltage, opened by hand unless it stands open, brought into its band. */
  const doControl = (bench: JobBench, id: string, volts: number, byHand = true) => {
    bench.shows.set('DC voltage', volts / 1.01)
    if (byHand) bench.begin(id)
    else expect(bench.ask({ kind: 'ready' })).toMatchObject({ ok: true })
    bench.run(12)
    expect(ROW(bench, id)?.state).toBe('done')
  }
  const isOpenAgain = (bench: JobBench, id: string) => /^(to do|open)$/.test(ROW(bench, id)?.state ?? '')

  test('whatever an adjuster disturbs is read again each time that a person opens its step; what was left out stays so', () => {
    const bench = whole()
    leaveOut(bench, ...FOUND, 'first-key')
    doControl(bench, 'control-voltage', 2.4)
    for (const _again of [1, 2, 3]) {
      doControl(bench, 'control-low', 1.6)
      doControl(bench, 'control-voltage', 2.4)
      expect(isOpenAgain(bench, 'control-low')).toBe(true)
    }
    leaveOut(bench, 'control-low')
    doControl(bench, 'control-voltage', 2.4)
    expect(ROW(bench, 'control-low')?.state).toBe('left out')
  })

  test('out of band is said with what the sheet says of it, and stays until somebody goes on or opens it again', () => {
    const bench = whole()
    leaveOut(bench, ...FOUND)
    bench.begin('control-low')
    bench.shows.set('DC voltage', 1.2 / 1.01)
    bench.run(60)
    expect(ROW(bench, 'control-low')).toMatchObject({ state: 'out of band' })
    const { state, step, guide, because, offers } = bench.frame()
    expect({ state, step: step?.id, words: guide.words, because }).toEqual({
      state: 'captured',
      step: 'control-low',
      words: 'Too low: 1.199 V',
      because: 'out of band.',
    })
    expect(offers).toEqual(expect.arrayContaining(['next', 'again', 'open step']))
    expect(bench.ask({ kind: 'again' })).toMatchObject({ ok: true })
    expect(bench.frame()).toMatchObject({ state: 'read step', step: { id: 'control-low' } })
    expect(bench.ask({ kind: 'again' })).toEqual({ ok: false, words: 'the step is not done' })
    bench.ask({ kind: 'ready' })
    bench.run(30)
    expect(bench.frame().guide.words).toMatch(/^Too low/)
    expect(bench.ask({ kind: 'next' })).toMatchObject({ ok: true })
    expect(bench.frame().step?.id).not.toBe('control-low')
  })

  test('of several channels the one that is out is named, with what is to be done', () => {
    const bench = whole()
    leaveOut(bench, ...FOUND, 'first-key')
    bench.begin('power-ends')
    for (const [hz, watts] of [
      [26_965_000, 2.9],
      [27_405_000, 3.6],
    ] as const) {
      bench.shows.set('frequency', hz)
      bench.shows.set('RF power', watts)
      bench.run(40)
      bench.key(true)
      bench.run(7)
      bench.key(false)
    }
    bench.run(40)
    expect(bench.frame()).toMatchObject({
      guide: { words: 'Too low: 2.900 W' },
      because: 'channel 1: out of band. Open the coils again, peak them, then this.',
    })
  })

  test('two adjusters that disturb each other open each other again once, not for ever', () => {
    const bench = whole({ disturbs: { VK: ['frequency'], RT: ['control-voltage'] } })
    bench.job = { ...bench.job, loadIsOn: true }
    const rest = bench.frame().steps.filter(({ id }) => !['control-voltage', 'frequency'].includes(id))
    const doFrequency = () => {
      bench.run(2)
      expect(bench.frame().step?.id).toBe('frequency')
      bench.shows.set('frequency', 27.205e6)
      bench.ask({ kind: 'ready' })
      bench.run(1)
      bench.key(true)
      bench.run(12)
      expect(bench.ask({ kind: 'capture', by: 'key' })).toMatchObject({ ok: true })
      bench.key(false)
      bench.run(2)
      expect(ROW(bench, 'frequency')?.state).toBe('done')
    }
    leaveOut(bench, ...rest.map(({ id }) => id))
    expect(bench.frame().step?.id).toBe('control-voltage')
    doControl(bench, 'control-voltage', 2.4, false)
    doFrequency()
    expect(bench.frame().step?.id, 'RT moved it too').toBe('control-voltage')
    doControl(bench, 'control-voltage', 2.4, false)
    doFrequency() // VK moved it too
    expect(ROW(bench, 'control-voltage')?.state, 'the second time it is left as it is').toBe('done')
  })

  test('what is read as left comes after everything else, also when a step above was opened again', () => {
    const bench = whole()
    const others = bench.frame().steps.filter(({ pass, id }) => pass !== 'left' && id !== 'receive-current')
    leaveOut(bench, ...others.map(({ id }) => id))
    bench.ask({ kind: 'leave out', step: 'receive-current', reason: 'for the test' })
    expect(bench.frame().step?.pass).toBe('left')
  })
})

describe('rule card', () => {
  test('without one the AM steps are left out: not allowed here', () => {
    expect(ROW(whole(), 'am-carrier')).toMatchObject({ state: 'left out', result: 'not allowed here' })
  })

  test('a card that allows AM puts them in', () => {
    expect(ROW(whole({ am: true }), 'am-depth')?.state).toBe('to do')
  })
})

describe('first contact', () => {
  test('a keyed step waits for the first key-down', () => {
    const bench = whole()
    leaveOut(bench, ...FOUND)
    bench.ask({ kind: 'open step', step: 'control-keyed' })
    expect(bench.ask({ kind: 'ready' }).words).toMatch(/first key-down comes first/)
  })

  test('the load question comes before it, less than 2 s are enough, and a reading too short to settle is called short', () => {
    const bench = whole()
    bench.ask({ kind: 'open step', step: 'first-key' })
    expect(bench.ask({ kind: 'ready' }).words).toMatch(/Load on the aerial socket/)
    bench.ask({ kind: 'confirm' })
    bench.shows.set('RF power', 3.7)
    expect(bench.frame()).toMatchObject({
      state: 'hold-off',
      guide: { words: 'The set follows its supply: key in a moment' },
    })
    bench.run(2.1)
    expect(bench.frame().state).toBe('key now')
    bench.key(true)
    bench.run(1.9)
    expect(bench.job.captured[0]).toMatchObject({ step: 'first-key', label: 'short', verdict: 'inside' })
  })

  test('no RF at the first key-down switches the supply off and asks for the load', () => {
    const bench = whole()
    bench.begin('first-key')
    bench.shows.set('RF power', 0.02)
    bench.run(2.1)
    bench.key(true)
    bench.run(1.9)
    expect(bench.output).toBe('off')
    expect(bench.frame()).toMatchObject({ state: 'stopped', because: expect.stringMatching(/is the load on/) })
  })

  test('receive is probed with 0.8 A, the first step of all at 12.0 V', () => {
    const bench = whole()
    bench.begin('receive-current')
    expect(bench.did('arm')[0]).toMatchObject({ volts: 12, amps: 0.8 })
    leaveOut(bench, ...FOUND)
    bench.begin('control-voltage')
    expect(bench.did('arm').at(-1)).toMatchObject({ amps: 0.8 })
  })

  test.each([
    ['unknown' as const, /nobody knows whether the minus of DC voltage meter is joined/],
    ['no' as const, /would short the floating chassis/],
  ])('a voltmeter whose input isolation is %s is refused on a floating set', (inputIsolated, words) => {
    const meters = METERS.map((facts) => (facts.quantity === 'DC voltage' ? { ...facts, inputIsolated } : facts))
    const bench = whole({ meters })
    bench.ask({ kind: 'open step', step: 'control-voltage.found' })
    expect(bench.ask({ kind: 'ready' })).toMatchObject({ ok: false, words: expect.stringMatching(words) })
  })

  test.each([
    [0.004, 'Nothing there: prod off?'],
    [0.21, 'It wanders near nothing: no common? Clip it to earth strip ES'],
  ])('%d V at T1 is never captured by dwell: "%s"', (volts, words) => {
    const bench = whole()
    bench.begin('control-voltage.found')
    bench.shows.set('DC voltage', volts)
    bench.run(20)
    expect(bench.job.captured).toHaveLength(0)
    expect(bench.frame().guide.words).toBe(words)
  })
})

describe('a step that repeats', () => {
  test('sweeps six tones in one key-down, each looked at for 1.5 s, and says the largest of each', () => {
    const bench = whole()
    leaveOut(bench, ...FOUND, 'first-key')
    bench.begin('deviation-sweep')
    bench.shows.set('FM deviation', 1780)
    bench.key(true)
    bench.run(3)
    expect(bench.frame()).toMatchObject({
      state: 'highest',
      largest: { label: expect.stringMatching(/^1\.78\d kHz$/) },
    })
    bench.run(15)
    const kept = bench.job.captured
    expect(kept.map(({ title }) => title)).toEqual(
      ['300.0 Hz', '600.0 Hz', '1.000 kHz', '1.700 kHz', '2.400 kHz', '3.000 kHz'].map(
        (tone) => `Deviation over the tones (${tone})`,
      ),
    )
    expect(new Set(kept.map(({ label }) => label))).toEqual(new Set(['highest']))
    expect(Math.min(...kept.map(({ value }) => value))).toBeGreaterThanOrEqual(1780)
    expect(bench.did('arm').map((effect) => (effect.kind === 'arm' ? effect.tone?.hz : 0))).toEqual([
      300, 600, 1000, 1700, 2400, 3000,
    ])
  })

  test('over channels: the key comes up before the next one, which the counter then has to see', () => {
    const bench = whole()
    leaveOut(bench, ...FOUND, 'first-key')
    bench.begin('power-ends')
    bench.shows.set('RF power', 3.55)
    bench.shows.set('frequency', 26.965e6)
    bench.run(2.1)
    bench.key(true)
    bench.run(6)
    expect(bench.job.captured[0]?.title).toBe('Power at the band ends (channel 1)')
    expect(bench.frame()).toMatchObject({ state: 'release key', guide: { words: 'Key up, then channel 40' } })
    bench.key(false)
    bench.shows.set('frequency', 27.405e6)
    bench.run(30)
    bench.key(true)
    bench.run(7)
    expect(bench.job.captured[1]?.title).toBe('Power at the band ends (channel 40)')
    expect(ROW(bench, 'power-ends')).toMatchObject({ state: 'done' })
  })

  test("the gauge is told to be silent while the set's own microphone is open", () => {
    const bench = whole()
    bench.ask({ kind: 'open step', step: 'voice' })
    expect(bench.frame().step).toMatchObject({ sounds: 'off', technique: 'highest' })
  })
})

describe('settings', () => {
  const found = {
    band: 'cept',
    'key click': 'on',
    'time-out timer': '15 s',
    brightness: '3',
    'end-of-call tone': 'off',
    'call channel': '9',
  }
  const note = (bench: JobBench, column: string, values: Record<string, string>, reason = '') => {
    for (const [name, value] of Object.entries(values)) bench.ask({ kind: 'note setting', name, column, value, reason })
  }

  test('as found is not done before every one is written down; for this job starts as found', () => {
    const bench = whole()
    bench.ask({ kind: 'open step', step: 'settings-found' })
    expect(bench.ask({ kind: 'ready' }).words).toMatch(/^not written down yet: band, key click/)
    note(bench, 'found', found)
    expect(bench.ask({ kind: 'ready' })).toMatchObject({ ok: true })
    expect(bench.frame().settings[2]).toMatchObject({ name: 'time-out timer', found: '15 s', job: '15 s', left: '' })
  })

  test('a time-out shorter than the key-down is named before the step', () => {
    const bench = whole()
    note(bench, 'found', found)
    bench.ask({ kind: 'open step', step: 'frequency' })
    expect(bench.frame().step?.cautions[0]).toBe(
      "The set's time-out timer is 15 s, and this step may key for 20 s: it will unkey by itself.",
    )
    note(bench, 'job', { 'time-out timer': '60 s' })
    expect(bench.frame().step?.cautions[0]).not.toMatch(/time-out/)
  })

  test('the job does not close while one is left other than found without a reason', () => {
    const bench = whole()
    leaveOut(bench, ...FOUND)
    note(bench, 'found', found)
    bench.begin('control-voltage')
    note(bench, 'left', { ...found, brightness: '5' })
    expect(bench.ask({ kind: 'close job' })).toMatchObject({
      ok: false,
      words: expect.stringMatching(/without a reason: brightness \(found 3, left 5\)/),
    })
    note(bench, 'left', { brightness: '5' }, 'wished by the customer')
    expect(bench.ask({ kind: 'close job' })).toMatchObject({ ok: true })
  })
})

describe('a meter that a person reads', () => {
  const typed = METERS.map((facts) => (facts.quantity === 'RF power' ? { ...facts, typed: true, step: 0.1 } : facts))
  const type = (bench: JobBench, value: number) => {
    const { epoch, nowMs } = bench
    const reading = {
      quantity: 'RF power' as const,
      instrument: 'RF power meter',
      epoch,
      beganMs: nowMs,
      arrivedMs: nowMs,
    }
    bench.feed({ kind: 'reading', reading: { ...reading, raw: `${value} W`, value, state: 'good' }, atMs: nowMs })
  }

  test('is asked for once the set has been keyed, and what was typed is kept as typed with its verdict', () => {
    const bench = whole({ meters: typed })
    leaveOut(bench, ...FOUND, 'first-key')
    bench.begin('power-normal')
    bench.run(2.1)
    expect(bench.frame().state).toBe('key now')
    bench.key(true)
    bench.run(3)
    expect(bench.frame()).toMatchObject({
      state: 'type in',
      typing: { quantity: 'RF power', example: expect.stringMatching(/W$/), unit: 'W' },
    })
    bench.key(false)
    bench.run(2)
    expect(bench.frame().state).toBe('type in')
    type(bench, 3.7)
    expect(bench.job.captured[0]).toMatchObject({
      label: 'typed',
      by: 'typed',
      count: 1,
      value: 3.7,
      verdict: 'inside',
    })
  })

  test('what is measured beside it is kept as it was while keyed, not as it fell with the key', () => {
    const bench = whole({ meters: typed })
    leaveOut(bench, ...FOUND, 'first-key')
    bench.begin('power-normal')
    bench.run(2.1)
    bench.key(true)
    bench.run(6)
    bench.key(false)
    bench.run(3)
    type(bench, 3.7)
    const amps = bench.job.captured.find(({ quantity }) => quantity === 'DC current')
    expect(amps).toMatchObject({ verdict: 'inside' })
    expect(amps?.value).toBeCloseTo(1.1, 1)
  })

  test('while something is turned only a value inside the aim window is kept; else: key again', () => {
    const bench = whole({ meters: typed })
    leaveOut(bench, ...FOUND, 'first-key')
    bench.begin('power')
    bench.key(true)
    bench.run(3)
    bench.key(false)
    bench.run(2)
    type(bench, 4.4)
    expect(bench.job.captured).toHaveLength(0)
    expect(bench.frame().state).toMatch(/key now|rest/)
    bench.run(60)
    bench.key(true)
    bench.run(3)
    type(bench, 3.87)
    expect(bench.job.captured[0]).toMatchObject({ label: 'typed', verdict: 'inside' })
  })
})

describe('kept before it is said', () => {
  test('nothing is captured until the journal has it; a journal that fails pauses at normal and loses nothing earlier', () => {
    const bench = whole()
    bench.keeps = false
    bench.begin('control-voltage.found')
    bench.shows.set('DC voltage', 2.4 / 1.01)
    bench.run(12)
    expect(bench.job.captured).toHaveLength(0)
    expect(bench.frame().guide.words).toBe('Writing it down')
    bench.feed({ kind: 'kept', ok: false, words: 'the disk is full', atMs: bench.nowMs })
    expect(bench.frame()).toMatchObject({ state: 'paused', because: 'the disk is full' })
    expect(bench.volts).toBeCloseTo(13.8, 6)
    bench.keeps = true
    bench.ask({ kind: 'go on' })
    bench.ask({ kind: 'ready' })
    bench.ask({ kind: 'confirm' })
    bench.run(12)
    expect(bench.job.captured).toHaveLength(1)
  })

  test('what happened between two moments is told as entries: results, settings, confirmations', () => {
    const bench = whole()
    bench.ask({ kind: 'open step', step: 'band' })
    const before = bench.job
    bench.ask({ kind: 'confirm' })
    const done = entriesBetween(before, bench.job)
    expect(done).toContainEqual({ kind: 'step', step: 'band', pass: 'work', state: 'done', reason: '' })
    expect(done[0]).toMatchObject({ kind: 'answered', answer: 'done' })
    const then = bench.job
    bench.ask({ kind: 'note setting', name: 'band', column: 'found', value: 'cept' })
    expect(entriesBetween(then, bench.job)).toEqual([
      { kind: 'setting', name: 'band', column: 'found', value: 'cept', reason: '' },
      { kind: 'setting', name: 'band', column: 'job', value: 'cept', reason: '' },
    ])
  })
})

test('under a card with guarded acceptance a value in the band but within its doubt of an edge is no pass; simply accepted it is one', () => {
  const guarded = { ...FM_AM, decision: 'guarded acceptance' as const }
  const read = (ruleCard: typeof FM_AM | typeof guarded) => {
    const bench = new JobBench(undefined, { procedure: WHOLE_SHEET, ruleCard })
    for (const { id, pass } of bench.frame().steps)
      if (pass === 'found') bench.ask({ kind: 'leave out', step: id, reason: 'for the test' })
    bench.begin('control-low')
    bench.shows.set('DC voltage', 1.798 / 1.01)
    bench.run(15)
    const [kept] = bench.did('keep').flatMap((effect) => (effect.kind === 'keep' ? effect.taken : []))
    return { kept, state: ROW(bench, 'control-low')?.state }
  }
  expect(read(FM_AM)).toMatchObject({
    kept: { verdict: 'inside', answer: 'in but touching', limit: null, accepted: true },
    state: 'done',
  })
  expect(read(guarded)).toMatchObject({
    kept: {
      verdict: 'inside',
      answer: 'in but touching',
      accepted: false,
      evidence: { decision: 'guarded acceptance' },
    },
    state: 'out of band',
  })
})

import { describe, expect, test } from 'vitest'
import {
  type LiveEvent,
  type LiveFrame,
  type LiveState,
  STATES,
  type StepLine,
} from '../../../src/schema/messages/shown.ts'
import { type Sound, type SoundMemory, soundOf } from '../../../web/sound/sound.ts'
import { frame, keyed, MADE_MS, PEAK_SLOT, POWER_BAND, peak, reading, step } from '../frame-parts.ts'
import { FIXTURES, WATCHING } from '../frames.ts'

const EVERY_MS = 200

interface Heard {
  readonly sound: Sound
  readonly memory: SoundMemory
}

/** Plays frames one after the other, each with a reading 200 ms after the one before; returns the last sound. */
function listen(frames: readonly LiveFrame[], before: SoundMemory | null = null, fromMs = MADE_MS): Heard {
  let memory = before
  let heard: Heard | null = null
  for (const [index, one] of frames.entries()) {
    const atMs = fromMs + index * EVERY_MS
    const moved = { ...one, atMs, reading: one.reading && { ...one.reading, arrivedMs: atMs - 5 } }
    heard = soundOf(moved, memory, atMs)
    memory = heard.memory
  }
  if (heard === null) throw new TypeError('nothing to listen to')
  return heard
}

const setTo = (e: number, state: LiveState = 'far') => frame({ state, peg: { e, halfE: 0.3, ragged: 0, drop: 0 } })

/** A reading that stays where it is, long enough for the filter. */
const still = (one: LiveFrame) => listen(Array.from({ length: 20 }, () => one)).sound

describe('set-to, outside the band', () => {
  test.each([
    [1, 170],
    [2, 296],
    [4, 515],
    [8, 897],
    [12, 900],
    [-2, 296],
    [-8, 897],
  ])('at e = %f a pulse comes every %i ms', (e, everyMs) => {
    const { guide } = still(setTo(e))
    expect(guide).toMatchObject({ kind: 'pulses', side: e > 0 ? 'above' : 'below', hz: e > 0 ? 740 : 330 })
    expect(guide.kind === 'pulses' ? guide.everyMs : 0).toBeCloseTo(everyMs, -0.5)
  })

  test('a tenth nearer is 8 % quicker', () => {
    const every = (e: number) => {
      const { guide } = still(setTo(e))
      return guide.kind === 'pulses' ? guide.everyMs : 0
    }
    expect(every(4) / every(3.6)).toBeCloseTo(1.088, 3)
  })
})

describe('set-to, inside the band', () => {
  test.each([0, 0.25, -0.25, 0.5, 0.98, -0.98])('at e = %f the second tone is 523 Hz x 2^(0.4 e / 12)', (e) => {
    const { guide } = still(setTo(e, 'in'))
    expect(guide).toMatchObject({ kind: 'beat', hz: 523, share: 1 })
    expect(guide.kind === 'beat' ? guide.secondHz : 0).toBeCloseTo(523 * 2 ** ((0.4 * e) / 12), 6)
  })

  test.each([
    [0.98, 12],
    [0.25, 3],
    [0, 0],
  ])('at e = %f it beats about %i times a second', (e, beats) => {
    const { guide } = still(setTo(e, 'in'))
    expect(guide.kind === 'beat' ? guide.secondHz - guide.hz : 99).toBeCloseTo(beats, 0)
  })

  test('goes in below |e| = 1 and out above 1.08', () => {
    const kinds = (path: readonly number[]) =>
      listen(path.flatMap((e) => Array.from({ length: 15 }, () => setTo(e)))).sound.guide.kind
    expect(kinds([2, 1.02])).toBe('pulses')
    expect(kinds([2, 0.98])).toBe('beat')
    expect(kinds([2, 0.98, 1.06])).toBe('beat')
    expect(kinds([2, 0.98, 1.1])).toBe('pulses')
  })

  test('steady and slower than 2 beats a second, it fades in 1.5 s and ticks every 0.5 s', () => {
    const shares = [1, 4, 8, 9].map((frames) => {
      const { guide } = listen(Array.from({ length: frames }, () => setTo(0.05, 'steady'))).sound
      return guide.kind === 'beat' ? guide.share : -1
    })
    expect(shares[0]).toBe(1)
    expect(shares[1]).toBeCloseTo(1 - 600 / 1500, 9)
    expect(shares[2]).toBeCloseTo(1 - 1400 / 1500, 9)
    expect(shares[3]).toBe(0)
    expect(still(setTo(0.05, 'steady')).ticks).toEqual([{ kind: 'closing', everyMs: 500 }])
  })

  test('steady but beating 6 times a second it does not fade', () => {
    expect(still(setTo(0.5, 'steady')).guide).toMatchObject({ kind: 'beat', share: 1 })
  })
})

describe('what has no homing sound', () => {
  test('a check, in band or not', () => {
    const check = { ...setTo(3), step: step({ technique: 'check' }) }
    expect(still(check).guide.kind).toBe('silent')
  })

  test.each(['openLow', 'openHigh'] as const)('a band that is open on one side (%s)', (side) => {
    expect(still({ ...setTo(3), slot: { ...POWER_BAND, [side]: true } }).guide.kind).toBe('silent')
  })

  test.each(
    STATES.filter(
      (state) => !['far', 'near', 'in', 'steady', 'climb', 'passed over', 'return', 'at best'].includes(state),
    ),
  )('the state %s', (state) => {
    expect(still(FIXTURES[state]).guide.kind).toBe('silent')
  })

  test('just watching has one', () => {
    expect(still(WATCHING).guide.kind).toBe('pulses')
  })
})

describe('peak', () => {
  const peaking = (state: LiveState, fromStartDb: number, belowDb: number, sigmaDb = 0.02) =>
    frame({
      state,
      slot: PEAK_SLOT,
      peg: { e: 0, halfE: 0.3, ragged: 0, drop: 0 },
      peak: peak({ fromStartDb, belowDb, sigmaDb }),
    })

  test.each([
    [0, 330],
    [1, 330 * 2 ** (3 / 12)],
    [4, 660],
    [8, 1320],
    [10, 1320],
    [-2, 330 * 2 ** (-6 / 12)],
  ])('on the first climb %f dB from the start sounds at %f Hz, without a reference', (db, hz) => {
    const { guide } = still(peaking('climb', db, 0))
    expect(guide).toEqual({ kind: 'tone', hz: expect.closeTo(hz, 6), referenceHz: null })
  })

  test.each([
    [0, 0.02, 660],
    [0.1, 0.02, 660 * 2 ** (-1.2 / 12)],
    [0.1, 0.05, 660 * 2 ** (-0.5 / 12)],
    [0.5, 0.02, 660 * 2 ** (-6 / 12)],
    [0.5, 0.1, 660 * 2 ** (-1.25 / 12)],
  ])('after a pass-over %f dB below the best, sigma %f dB, sounds at %f Hz beside 660 Hz', (db, sigma, hz) => {
    const { guide } = still(peaking('return', 1, db, sigma))
    expect(guide).toEqual({ kind: 'tone', hz: expect.closeTo(hz, 6), referenceHz: 660 })
  })

  test('noise of one sigma stays under 25 cents, for every meter', () => {
    for (const sigma of [0.005, 0.02, 0.05, 0.1]) {
      const { guide } = still(peaking('return', 1, sigma, sigma))
      const cents = guide.kind === 'tone' ? 1200 * Math.log2(660 / guide.hz) : 99
      expect(cents).toBeLessThanOrEqual(25 + 1e-6)
    }
  })

  test('keeps the fine scale when it climbs again, and begins anew at the next adjuster', () => {
    const first = listen([peaking('passed over', 1, 0.3), peaking('climb', 1.2, 0.1)])
    expect(first.sound.guide).toMatchObject({ referenceHz: 660 })
    const other = { ...peaking('climb', 1.2, 0), peak: peak({ adjuster: 'OK' }) }
    expect(listen([other], first.memory, MADE_MS + 1000).sound.guide).toMatchObject({ referenceHz: null })
  })
})

describe('the filter', () => {
  test('one wild reading among three is not heard', () => {
    const { guide } = listen([setTo(4), setTo(4), setTo(4), setTo(-300)]).sound
    expect(guide).toMatchObject({ side: 'above' })
    expect(guide.kind === 'pulses' ? guide.everyMs : 0).toBeCloseTo(515.3, 0)
  })

  test('a frame that comes again without a new reading changes nothing', () => {
    const first = listen([setTo(4), setTo(4)])
    const again = soundOf(
      { ...setTo(9), reading: reading({ arrivedMs: first.memory.arrivedMs }) },
      first.memory,
      MADE_MS + 210,
    )
    expect(again.sound.guide).toEqual(first.sound.guide)
  })

  test('a move is followed with 0.25 s', () => {
    const moved = listen([setTo(2), setTo(2), setTo(2), setTo(4), setTo(4)])
    expect(moved.memory.smooth).toBeCloseTo(4 - 2 * Math.exp(-EVERY_MS / 250), 9)
  })
})

describe('old and lost readings', () => {
  const heard = listen([setTo(3), setTo(3), setTo(3)])
  const last = frame({ peg: setTo(3).peg, reading: reading({ arrivedMs: heard.memory.arrivedMs }) })
  const later = (ms: number) => soundOf(last, heard.memory, heard.memory.arrivedMs + ms)

  test('the guide is mute 500 ms plus the meter interval of 200 ms after a reading', () => {
    const { intervalMs } = heard.memory
    expect(intervalMs).toBeLessThan(300)
    expect(later(500 + intervalMs).sound.guide.kind).toBe('pulses')
    expect(later(501 + intervalMs).sound.guide.kind).toBe('silent')
  })

  test('a rough buzz comes once when the reading is older than its 900 ms', () => {
    expect(later(900).sound.once).toEqual([])
    const old = later(901)
    expect(old.sound.once).toEqual(['rough'])
    expect(soundOf(last, old.memory, heard.memory.arrivedMs + 1000).sound.once).toEqual([])
  })

  test('the state old buzzes once as well', () => {
    const lost = soundOf(
      { ...FIXTURES['link lost'], reading: last.reading },
      heard.memory,
      heard.memory.arrivedMs + 300,
    )
    expect(lost.sound).toMatchObject({ guide: { kind: 'silent' }, once: ['rough'] })
    expect(
      soundOf({ ...FIXTURES.old, reading: last.reading }, lost.memory, heard.memory.arrivedMs + 400).sound.once,
    ).toEqual([])
  })
})

describe('what comes once', () => {
  const event = (what: LiveEvent['what'], seq = 7): LiveEvent => ({ seq, what, words: '' })
  const cues = (...events: LiveEvent[]) =>
    soundOf(frame({ events }), listen([frame()]).memory, MADE_MS + 100).sound.once

  test.each<[LiveEvent['what'], readonly string[]]>([
    ['captured', ['captured']],
    ['new best', ['new best']],
    ['passed over', ['passed over']],
    ['key now', ['key now']],
    ['release key', ['release key']],
    ['no effect', ['flat']],
    ['snap', ['flat']],
    ['link back', ['ping']],
    ['step done', []],
    ['key down 70', []],
  ])('%s: %j', (what, cue) => {
    expect(cues(event(what))).toEqual(cue)
  })

  test('a step that came out of band ends with two flat notes, not with the two that rise', () => {
    const line = (state: StepLine['state'], pass: StepLine['pass'] = 'work') =>
      ({ id: 'power', step: 'power', pass, row: 'A12', title: '', state, result: '' }) as const
    const heard = (...steps: StepLine[]) => {
      const events = [event('captured', 1), event('step done', 2)]
      return soundOf(frame({ state: 'captured', events, steps }), listen([frame()]).memory, MADE_MS + 100).sound.once
    }
    expect(heard(line('out of band'))).toEqual(['flat'])
    expect(heard(line('done'))).toEqual(['captured'])
    expect(heard(line('out of band', 'found'), line('done'))).toEqual(['captured'])
  })

  test('each event once, however often frames bring it and however many are missed', () => {
    const first = soundOf(frame({ events: [event('new best', 1)] }), listen([frame()]).memory, MADE_MS)
    expect(first.sound.once).toEqual(['new best'])
    const events = [event('new best', 1), event('new best', 2), event('passed over', 3)]
    const second = soundOf(frame({ events }), first.memory, MADE_MS + 50)
    expect(second.sound.once).toEqual(['new best', 'passed over'])
    expect(soundOf(frame({ events }), second.memory, MADE_MS + 100).sound.once).toEqual([])
  })

  test('step and wait: each nudge begins with one ping, and a frame that comes again has none', () => {
    const asked = (number: number) => ({
      ...FIXTURES.nudge,
      peak: FIXTURES.nudge.peak && { ...FIXTURES.nudge.peak, nudge: { number, tenths: 1, back: false } },
    })
    const first = soundOf(asked(1), listen([frame()]).memory, MADE_MS)
    expect(first.sound.once).toEqual(['ping'])
    const again = soundOf(asked(1), first.memory, MADE_MS + 100)
    expect(again.sound.once).toEqual([])
    expect(soundOf(asked(2), again.memory, MADE_MS + 200).sound.once).toEqual(['ping'])
    expect(soundOf(asked(2), null, MADE_MS + 200).sound.once).toEqual([])
  })

  test('a page that has just come does not play what was before it', () => {
    expect(soundOf(frame({ events: [event('captured', 90)] }), null, MADE_MS).sound.once).toEqual([])
  })

  test.each<LiveState>(['cannot reach', 'no effect', 'over range', 'wrong channel'])(
    '%s begins with two flat notes',
    (state) => {
      const before = listen([frame()]).memory
      const entered = soundOf(FIXTURES[state], before, MADE_MS + 100)
      expect(entered.sound.once).toEqual(['flat'])
      expect(soundOf(FIXTURES[state], entered.memory, MADE_MS + 200).sound.once).toEqual([])
    },
  )
})

describe('key-down, heartbeat, alarm', () => {
  const key = (seconds: number) => still(frame({ key: keyed(seconds) })).ticks.filter(({ kind }) => kind === 'key')

  test.each([
    [10.4, []],
    [10.5, [1000]],
    [13.4, [1000]],
    [13.5, [250]],
    [16, [250]],
  ])('after %f of 15 s the key ticks every %j ms', (seconds, every) => {
    expect(key(seconds).map(({ everyMs }) => everyMs)).toEqual(every)
  })

  test('a captured step keeps a heartbeat every 2 s, so that silence is not a dead sound', () => {
    expect(still(FIXTURES.captured).ticks).toEqual([{ kind: 'heartbeat', everyMs: 2000 }])
  })

  test('stopped sounds the alarm for 20 s', () => {
    const stopped = FIXTURES.stopped
    const first = soundOf(stopped, null, MADE_MS)
    expect(first.sound).toMatchObject({ alarm: true, guide: { kind: 'silent' } })
    expect(soundOf(stopped, first.memory, MADE_MS + 19_999).sound.alarm).toBe(true)
    expect(soundOf(stopped, first.memory, MADE_MS + 20_000).sound.alarm).toBe(false)
    expect(still(FIXTURES.paused).alarm).toBe(false)
  })
})

describe('steps that listen at 1 kHz', () => {
  const audio = reading({ quantity: 'SINAD', value: 12, digits: '12.0', unit: 'dB' })

  test('below the band sounds at 300 Hz, whose third harmonic is 900 Hz', () => {
    expect(still({ ...setTo(-3), reading: audio }).guide).toMatchObject({ hz: 300 })
  })

  test('captured ends at 784 Hz instead of 988 Hz', () => {
    const events: LiveEvent[] = [{ seq: 1, what: 'captured', words: '' }]
    expect(soundOf(frame({ reading: audio, events }), listen([frame()]).memory, MADE_MS).sound.once).toEqual([
      'captured, low',
    ])
  })

  test('a peak tone keeps out of 950 to 1050 Hz', () => {
    for (let db = 5; db < 8; db += 0.01) {
      const climb = frame({ state: 'climb', slot: PEAK_SLOT, reading: audio, peak: peak({ fromStartDb: db }) })
      const { guide } = still(climb)
      const hz = guide.kind === 'tone' ? guide.hz : 1000
      expect(hz > 950 && hz < 1050).toBe(false)
    }
  })
})

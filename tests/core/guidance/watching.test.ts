import { describe, expect, test } from 'vitest'
import { advanceWatch, emptyFrame, startWatch, type Watch, watchFrame } from '../../../src/core/guidance/watch.ts'
import type { SupplyState } from '../../../src/schema/messages/keeper-message.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

const ABOUT = { bench: { name: 'test', simulated: true }, seq: 7 }
const facts = METER_FACTS.volts
const start = () =>
  startWatch(
    facts,
    { kind: 'band', band: { low: 2.2, high: 2.6, aim: null }, aimLow: 2.35, aimHigh: 2.45, rule: null },
    '2.2 .. 2.6 V',
    1000,
  )

function read(watch: Watch, value: number, nowMs: number, changes = {}): Watch {
  const { quantity, instrument } = facts
  const times = { beganMs: nowMs - 200, arrivedMs: nowMs }
  const reading = {
    quantity,
    instrument,
    epoch: 0,
    ...times,
    raw: String(value),
    value,
    state: 'good',
    ...changes,
  } as const
  return advanceWatch(watch, { kind: 'reading', reading }, nowMs)
}
const frame = (watch: Watch) => watchFrame(watch, ABOUT)
const told = (watch: Watch) => watch.events.map(({ seq, what }) => [seq, what])

describe('just watching', () => {
  test('before anything is watched the frame is empty', () => {
    expect(emptyFrame(ABOUT, 5)).toMatchObject({
      ...{ seq: 7, atMs: 5, mode: 'idle', state: 'idle', reading: null, slot: null, peg: null, peak: null, step: null },
      settle: { share: 0, seconds: 0, word: '' },
      supply: { plugVolts: null, output: 'unknown', resting: 'safe', moving: false },
    })
  })

  test('the number, the slot and the peg of the newest reading', () => {
    const { mode, state, reading, slot, peg, peak } = frame(read(start(), 2.4, 1200))
    expect({ mode, state, peak }).toEqual({ mode: 'watch', state: 'in', peak: null })
    expect(reading).toMatchObject({ value: 2.4, digits: '2.400' })
    expect(slot).toMatchObject({ kind: 'band', low: 2.2, high: 2.6 })
    expect(peg?.e).toBeCloseTo(0, 9)
  })

  test('another quantity is not what is watched; the clock does not go back', () => {
    const watch = read(start(), 2.4, 1200)
    expect(read(watch, 9, 1400, { quantity: 'RF power' }).live).toBe(watch.live)
    expect(advanceWatch(watch, { kind: 'tick' }, 900).nowMs).toBe(1200)
    expect(advanceWatch(watch, { kind: 'tick' }, 1300).nowMs).toBe(1300)
  })

  test('a reading older than 2 s is old, and before the first one has come not before 2 s after the start', () => {
    const watch = read(start(), 2.4, 1200)
    const at = (of: Watch, nowMs: number) => frame(advanceWatch(of, { kind: 'tick' }, nowMs)).state
    expect(at(watch, 3200)).not.toBe('old')
    expect(at(watch, 3201)).toBe('old')
    expect(at(start(), 3000)).not.toBe('old')
    expect(at(start(), 3001)).toBe('old')
    expect(frame(advanceWatch(watch, { kind: 'tick' }, 3201)).guide.hands).toBe('off')
  })

  test('its instrument lost and back: told each time, read anew; another one is not its own', () => {
    const watch = read(start(), 2.4, 1200)
    const link = (of: Watch, up: boolean, instrument = facts.instrument) =>
      advanceWatch(of, { kind: 'link', instrument, up, words: 'no reply' }, 1300)
    const lost = link(watch, false)
    expect(frame(lost)).toMatchObject({ state: 'link lost', guide: { hands: 'off' } })
    const back = link(lost, true)
    expect(back.live.last).toBeNull()
    expect(back.down).toBe('')
    expect(told(back)).toEqual([
      [1, 'link lost'],
      [2, 'link back'],
    ])
    expect(link(watch, false, 'another')).toMatchObject({ down: '', events: [] })
  })

  test('a missed reply is told once a minute', () => {
    const miss = (of: Watch, nowMs: number, instrument = facts.instrument) =>
      advanceWatch(of, { kind: 'missed', instrument, words: 'late' }, nowMs)
    const once = miss(start(), 2000)
    expect(told(once)).toEqual([[1, 'note']])
    expect(told(miss(once, 61_999))).toHaveLength(1)
    expect(miss(once, 61_999).missed).toMatchObject({ atMs: 61_999, toldMs: 2000 })
    expect(told(miss(once, 62_000))).toHaveLength(2)
    expect(told(miss(start(), 2000, 'another'))).toEqual([])
  })

  test('the supply is shown as it is, and offered only while it is off', () => {
    const state = {
      ...{ beganMs: 0, atMs: 10, volts: 13.8, amps: 0.3, rawAmps: '0.300', output: 'on', regulation: 'voltage' },
      ...{ tripped: false, setVolts: 13.8, limitAmps: 2.5, moving: true, resting: 'normal' },
    } as const satisfies SupplyState
    const seen = (output: 'on' | 'off' | 'unknown') =>
      frame(advanceWatch(start(), { kind: 'supply', state: { ...state, output } }, 1200))
    expect(seen('on').supply).toEqual({
      ...{ plugVolts: 13.8, terminalVolts: 13.8, amps: 0.3, output: 'on', resting: 'normal', moving: true },
      wantedVolts: null,
    })
    expect(seen('off').offers).toContain('supply on')
    expect(seen('on').offers).not.toContain('supply on')
    expect(seen('unknown').offers).not.toContain('supply on')
    expect(frame(start()).offers).not.toContain('supply on')
  })

  test('of a peak a new best and the top passed over are told once each', () => {
    const power = METER_FACTS.power
    let watch = startWatch(power, { kind: 'peak', dip: false }, 'maximum', 0)
    const levels = [
      ...Array.from({ length: 30 }, (_, at) => -1.5 + 0.05 * at),
      0,
      0,
      ...Array.from({ length: 12 }, (_, at) => -0.05 * at),
    ]
    for (const [index, db] of levels.entries()) {
      const nowMs = 250 * (index + 1)
      const { quantity, instrument } = power
      const value = 0.004 * 10 ** (db / 10)
      const reading = {
        quantity,
        instrument,
        epoch: 0,
        beganMs: nowMs - 200,
        arrivedMs: nowMs,
        raw: '',
        value,
        state: 'good',
      } as const
      watch = advanceWatch(watch, { kind: 'reading', reading }, nowMs)
    }
    const whats = watch.events.map(({ what }) => what)
    expect(whats.filter((what) => what === 'passed over')).toHaveLength(1)
    expect(whats).toContain('new best')
    expect(frame(watch).peak).toMatchObject({ round: 1, rounds: 1, gainDb: null, adjuster: '' })
    expect(frame(watch).peak?.belowDb).toBeGreaterThan(0.2)
    const seqs = watch.events.map(({ seq }) => seq)
    expect(seqs).toEqual(seqs.toSorted((a, b) => a - b))
  })
})

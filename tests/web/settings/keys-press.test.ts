import { describe, expect, test } from 'vitest'
import { advancePress, dueMs, PEDAL_UP, type PedalEvent, type Press, spend } from '../../../web/settings/press.ts'

/** What a pedal says from 0 on; time passes by itself whenever the page would have looked at its clock. */
function acts(...events: readonly PedalEvent[]): readonly string[] {
  let press: Press = PEDAL_UP
  const said: string[] = []
  const take = (event: PedalEvent) => {
    const next = advancePress(press, event)
    press = next.press
    if (next.act !== '') said.push(`${next.act} at ${event.atMs}`)
  }
  const passUntil = (untilMs: number) => {
    for (let due = dueMs(press); due !== null && due < untilMs; due = dueMs(press)) take({ kind: 'time', atMs: due })
  }
  for (const event of events) {
    passUntil(event.atMs)
    take(event)
  }
  passUntil(Number.POSITIVE_INFINITY)
  return said
}

const down = (atMs: number): PedalEvent => ({ kind: 'down', atMs })
const up = (atMs: number): PedalEvent => ({ kind: 'up', atMs })

describe('a press of the pedal', () => {
  test('is short when it ends before 0.6 s, and acts on release', () => {
    expect(acts(down(0), up(180))).toEqual(['began at 0', 'short at 180'])
    expect(acts(down(0), up(599))).toEqual(['began at 0', 'short at 599'])
  })

  test('is long at 1.2 s, while the foot is still down, and the release is nothing more', () => {
    expect(acts(down(0), up(3000))).toEqual(['began at 0', 'holding at 600', 'long at 1200'])
    expect(acts(down(0))).toEqual(['began at 0', 'holding at 600', 'long at 1200'])
  })

  test('is neither when it ends in between', () => {
    expect(acts(down(0), up(601))).toEqual(['began at 0', 'holding at 600', 'between at 601'])
    expect(acts(down(0), up(1199))).toEqual(['began at 0', 'holding at 600', 'between at 1199'])
  })

  test('is long also where a busy page looked at its clock too late', () => {
    const { press } = advancePress(PEDAL_UP, down(0))
    expect(advancePress(press, up(1300)).act).toBe('long')
    expect(advancePress(press, { kind: 'time', atMs: 1500 }).act).toBe('long')
  })

  test('is nothing more once it has done what it was for', () => {
    const { press } = advancePress(PEDAL_UP, down(0))
    const spent = spend(press)
    expect(dueMs(spent)).toBeNull()
    expect(advancePress(spent, { kind: 'time', atMs: 2000 }).act).toBe('')
    expect(advancePress(spent, up(2000)).act).toBe('')
  })

  test('whose release may have been missed is dropped', () => {
    expect(acts(down(0), { kind: 'away', atMs: 300 }, up(310), down(600), up(800))).toEqual([
      'began at 0',
      'lost at 300',
      'began at 600',
      'short at 800',
    ])
  })
})

describe('contacts that chatter', () => {
  test('at the start of a long press leave it one long press', () => {
    expect(acts(down(0), up(4), down(9), up(15), down(22), up(2000))).toEqual([
      'began at 0',
      'holding at 600',
      'long at 1200',
    ])
  })

  test('at the end of a short press make no second one', () => {
    expect(acts(down(0), up(200), down(206), up(212), down(230), up(350))).toEqual(['began at 0', 'short at 200'])
  })

  test('a second press counts from 150 ms after the first', () => {
    expect(acts(down(0), up(200), down(351), up(500))).toEqual([
      'began at 0',
      'short at 200',
      'began at 351',
      'short at 500',
    ])
  })
})

test('a switch that sends its key and lets go at once gives a short press after 150 ms, never a long one', () => {
  expect(acts(down(0), up(8))).toEqual(['began at 0', 'short at 150'])
  expect(acts(down(0), up(8), down(400), up(408))).toEqual([
    'began at 0',
    'short at 150',
    'began at 400',
    'short at 550',
  ])
})

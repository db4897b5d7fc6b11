import { expect, test } from 'vitest'
import { type TimeSeen, timeJumps, timeJumpWords } from '../../../src/core/time/time-jump.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'

const START: TimeSeen = { monoMs: 5_000, bootMs: 900_000, wallMs: Date.UTC(2026, 0, 5, 8) }
/** 100 ms of work, and what else came between. */
const after = (more: Partial<TimeSeen>): TimeSeen => ({
  monoMs: START.monoMs + 100 + (more.monoMs ?? 0),
  bootMs: START.bootMs + 100 + (more.bootMs ?? 0),
  wallMs: START.wallMs + 100 + (more.wallMs ?? 0),
})

test.each([
  ['nothing but work', {}, []],
  ['a busy computer: 12 s between two looks', { monoMs: 12_000, bootMs: 12_000, wallMs: 12_000 }, []],
  ['a time server that slews by 50 ms', { wallMs: 50 }, []],
  ['an hour of sleep', { bootMs: 3.6e6, wallMs: 3.6e6 }, [{ kind: 'slept', byMs: 3.6e6 }]],
  ['set forward by a day', { wallMs: 8.64e7 }, [{ kind: 'set', byMs: 8.64e7 }]],
  ['set back by two seconds', { wallMs: -2000 }, [{ kind: 'set', byMs: -2000 }]],
  [
    'slept for a minute, and woke with the clock a minute behind',
    { bootMs: 60_000 },
    [
      { kind: 'slept', byMs: 60_000 },
      { kind: 'set', byMs: -60_000 },
    ],
  ],
] as const)('%s', (_, more, jumps) => {
  expect(timeJumps(START, after(more))).toEqual(jumps)
})

test('said with the way and the span', () => {
  const wall = '2026-01-05T09:00:00.000Z'
  expect(sentence(timeJumpWords({ kind: 'slept', byMs: 12_340 }, wall))).toBe(
    `The computer slept or stood still for 12.3 s; since then its clock says ${wall}.`,
  )
  expect(sentence(timeJumpWords({ kind: 'set', byMs: 3.6e6 }, wall))).toMatch(
    /set forward by 3600.0 s, to 2026-01-05T09:00/,
  )
  expect(sentence(timeJumpWords({ kind: 'set', byMs: -3.6e6 }, wall))).toMatch(/set back by 3600.0 s/)
})

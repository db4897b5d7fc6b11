import { describe, expect, test } from 'vitest'
import { driftingIn } from '../../../src/core/settling/drifting.ts'
import { settleRule } from '../../../src/core/settling/settle-rule.ts'
import { addToSettling, type SettleState, startSettling } from '../../../src/core/settling/settling.ts'
import { normal, seededRng } from '../../../src/system/rng.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

const volts = settleRule({ halfWidth: 0.2, facts: METER_FACTS.volts })
const BAND = { low: 2.2, high: 2.6 }

function seenFor(untilS: number, value: (atS: number) => number, sigma = 0.001): SettleState {
  const rng = seededRng(8)
  let state = startSettling()
  for (let atS = 0; atS <= untilS + 1e-9; atS += volts.everyS)
    state = addToSettling(state, { atS, value: value(atS) + sigma * normal(rng) }, volts)
  return state
}

describe('a reading that drifts', () => {
  const drifting = seenFor(12, (atS) => 2.25 + 0.011 * atS)

  test('by 11 mV/s is never settled; from 2.38 V it stays below 2.6 V for 15 s, not for 25 s', () => {
    expect(drifting.verdict).toBe('settling')
    const seen = driftingIn(drifting, volts, BAND, 15)
    expect(seen?.value).toBeCloseTo(2.382, 2)
    expect(seen?.slope).toBeCloseTo(0.011, 3)
    expect(seen?.endsAt).toBeCloseTo(2.382 + 15 * 0.011, 2)
    expect(seen?.windowS).toBeGreaterThan(9)
    expect(driftingIn(drifting, volts, BAND, 25)).toBeNull()
  })

  test('counts its doubt: within it of the edge it is not in', () => {
    const seen = driftingIn(drifting, volts, BAND, 15)
    if (!seen) throw new Error('not drifting')
    expect(seen.doubt).toBeGreaterThan(0.001)
    expect(driftingIn(drifting, volts, { low: 2.2, high: seen.endsAt + seen.doubt / 2 }, 15)).toBeNull()
    expect(driftingIn(drifting, volts, { low: 2.2, high: seen.endsAt + seen.doubt * 1.1 }, 15)).not.toBeNull()
    expect(driftingIn(drifting, volts, { low: null, high: null }, 1e4)).not.toBeNull()
  })

  test('out of its band already is not in, wherever it goes', () => {
    expect(
      driftingIn(
        seenFor(12, (atS) => 2.15 + 0.012 * atS),
        volts,
        { low: 2.3, high: 2.6 },
        10,
      ),
    ).toBeNull()
  })

  test('falling, it is the lower edge that counts', () => {
    const falling = seenFor(12, (atS) => 2.55 - 0.011 * atS)
    expect(driftingIn(falling, volts, BAND, 15)?.slope).toBeCloseTo(-0.011, 3)
    expect(driftingIn(falling, volts, BAND, 25)).toBeNull()
  })
})

describe('what is no even drift', () => {
  test('less than 5 s of readings', () => {
    expect(
      driftingIn(
        seenFor(3, (atS) => 2.3 + 0.011 * atS),
        volts,
        BAND,
        5,
      ),
    ).toBeNull()
  })

  test('a settled reading: it is captured as settled', () => {
    expect(
      driftingIn(
        seenFor(12, () => 2.4),
        volts,
        BAND,
        5,
      ),
    ).toBeNull()
  })

  test('a slope that grows', () => {
    expect(
      driftingIn(
        seenFor(12, (atS) => 2.25 + 0.001 * atS * atS),
        volts,
        BAND,
        1,
      ),
    ).toBeNull()
  })

  test('a jump 3 s ago', () => {
    expect(
      driftingIn(
        seenFor(12, (atS) => 2.25 + 0.011 * atS + (atS > 9 ? 0.08 : 0)),
        volts,
        BAND,
        1,
      ),
    ).toBeNull()
  })
})

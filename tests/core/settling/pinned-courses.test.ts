import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { gunzipSync, gzipSync } from 'node:zlib'
import { describe, expect, test } from 'vitest'
import { codeOf, NEWEST } from '../../../src/core/reading/algorithms.ts'
import { DRIFT_AHEAD_S, driftingIn } from '../../../src/core/settling/drifting.ts'
import { addToSettling, type SettleState, startSettling } from '../../../src/core/settling/settling.ts'
import { COURSES, FIGURES, madeCourses, pinnedCourses } from '../../kit/settling/pinned-courses.ts'

/**
 * What each version of settling said of readings that are not at rest: tails, crests, jumps, spikes, ranges that hunt, meters that freeze.
 * A captured value is worked out from the readings that led to it, so a version that says otherwise of any of them breaks records that
 * exist. Figures are held to 1e-9; a version that is new has its own written once by `PIN=1`.
 */
const EVERY = 9

type Row = readonly (string | number | null)[]

if (!existsSync(COURSES) && process.env.PIN === '1')
  writeFileSync(COURSES, gzipSync(`${JSON.stringify(madeCourses())}\n`, { level: 9 }))
const courses = pinnedCourses()

const finite = (value: number) => (Number.isFinite(value) ? value : null)

/** The first 9, 18, 27 ... readings, each worked out from its first on, as a record's are. */
function rested(settling: number): readonly (readonly Row[])[] {
  const { rests } = codeOf({ ...NEWEST, settling })
  return courses.map(({ rule, readings }) => {
    const timed = readings.map(([atS, value]) => ({ atS, value }))
    return Array.from({ length: Math.floor(timed.length / EVERY) }, (_, index): Row => {
      const seen = rests(timed.slice(0, EVERY * (index + 1)), rule)
      const brief = seen.brief()
      const { verdict, value, count, mean, spread, windowS } = seen
      const figures = [value, mean, spread, windowS, brief?.mean ?? 0, brief?.spread ?? 0, brief?.windowS ?? 0]
      return [verdict, count, seen.aside?.join(' ') ?? null, ...figures.map(finite)]
    })
  })
}

/** As a job goes through it: what the newest version says at each reading; its figures and what drifts evenly at each fourth. */
function walked(): readonly (readonly Row[])[] {
  return courses.map(({ rule, readings }) => {
    let state: SettleState = startSettling()
    return readings.map(([atS, value], index): Row => {
      state = addToSettling(state, { atS, value }, rule)
      const { verdict, share, heaps, aside, slope, standardError } = state
      if (index % 4 !== 0) return [verdict]
      const band = { low: value - 6 * rule.delta, high: value + 6 * rule.delta }
      const drift = driftingIn({ verdict, samples: state.samples }, rule, band, DRIFT_AHEAD_S)
      return [
        ...[verdict, finite(share), aside, finite(slope), finite(standardError), ...(heaps ?? [])],
        ...(drift ? [drift.value, drift.slope, drift.endsAt, drift.doubt, drift.spread, drift.count] : []),
      ]
    })
  })
}

/** Rows that differ, by the name of their course and where in it. */
function differing(was: readonly (readonly Row[])[], is: readonly (readonly Row[])[]): readonly object[] {
  return is.flatMap((rows, at) =>
    rows.flatMap((row, index) => {
      const before = was[at]?.[index]
      return before && alike(before, row) ? [] : [{ course: courses[at]?.name, index, was: before, is: row }]
    }),
  )
}

function alike(was: Row, is: Row): boolean {
  return (
    was.length === is.length &&
    is.every((one, at) => {
      const before = was[at]
      if (typeof one !== 'number' || typeof before !== 'number') return one === before
      return Math.abs(one - before) <= 1e-9 * Math.max(1, Math.abs(one), Math.abs(before))
    })
  )
}

/** Written down by `PIN=1` where there is none yet. */
function pinned(name: string, rows: readonly (readonly Row[])[]): readonly (readonly Row[])[] {
  const file = join(FIGURES, `${name}.json.gz`)
  if (!existsSync(file) && process.env.PIN === '1')
    writeFileSync(
      file,
      gzipSync(`${JSON.stringify(rows.map((one) => one.map((row) => row.map(short))))}\n`, { level: 9 }),
    )
  return JSON.parse(gunzipSync(readFileSync(file)).toString('utf8'))
}

const short = (value: string | number | null) => (typeof value === 'number' ? Number(value.toPrecision(12)) : value)

describe('what each version of settling says of readings that are not at rest', () => {
  test.each(Array.from({ length: NEWEST.settling + 1 }, (_, version) => version))('version %d', (version) => {
    const rows = rested(version)
    expect(differing(pinned(`courses-settling-${version}`, rows), rows)).toEqual([])
  })

  test(`version ${NEWEST.settling} at each reading, and what drifts evenly`, () => {
    const rows = walked()
    expect(differing(pinned(`courses-walked-${NEWEST.settling}-${NEWEST.drifting}`, rows), rows)).toEqual([])
  })

  test('every verdict is among them, and a drift', () => {
    const rows = walked().flat()
    expect(new Set(rows.map(([verdict]) => verdict))).toEqual(
      new Set(['waiting', 'settling', 'settled', 'erratic', 'frozen', 'two-valued', 'too noisy']),
    )
    expect(rows.filter((row) => row.length > 10).length).toBeGreaterThan(20)
  })
})

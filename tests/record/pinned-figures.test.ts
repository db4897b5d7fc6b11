import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { gunzipSync, gzipSync } from 'node:zlib'
import { describe, expect, test } from 'vitest'
import { ALGORITHMS, codeOf, NEWEST, UNNAMED, type Versions } from '../../src/core/reading/algorithms.ts'
import { workedOut } from '../../src/core/reading/evidence.ts'
import { Evidence, type KeptReading } from '../../src/schema/kept/evidence.ts'

/**
 * Figures that each version of the algorithms gave when it was new, from readings that never change: those of the records beside, as
 * they came, with a spike put in the middle and with one as the newest. A version that gives others was changed, and old records with it.
 */
const RECORDS = join(import.meta.dirname, '..', 'reference', 'records')
const FIGURES = join(import.meta.dirname, '..', 'reference', 'figures')

type Row = readonly (string | number | boolean | null)[]

/** Combinations that are or were in use. A new one is added here, and its figures are written once by `PIN=1`. */
const PINNED: readonly Versions[] = [
  { settling: 0, drifting: 0, uncertainty: 0, acceptance: 0 },
  { settling: 0, drifting: 0, uncertainty: 1, acceptance: 1 },
  { settling: 1, drifting: 0, uncertainty: 1, acceptance: 1 },
  { settling: 1, drifting: 1, uncertainty: 1, acceptance: 1 },
  { settling: 2, drifting: 1, uncertainty: 1, acceptance: 1 },
]

const evidences = readdirSync(RECORDS)
  .filter((name) => /-(whole|cold|jump|spike)\.jws\.gz$/.test(name))
  .sort()
  .flatMap((name) => {
    const [, body = ''] = gunzipSync(readFileSync(join(RECORDS, name)))
      .toString('utf8')
      .split('.')
    const { values }: { readonly values: readonly { readonly evidence: object }[] } = JSON.parse(
      Buffer.from(body, 'base64url').toString('utf8'),
    )
    return values.map(({ evidence }) => Evidence.parse({ decision: 'four answers', ...evidence }))
  })

const withSpike = (readings: readonly KeptReading[], where: number): readonly KeptReading[] =>
  readings.map((one, at) => (at === where ? { ...one, value: one.value * 1.5, parts: undefined } : one))

const done = new Map<string, readonly Row[]>()

/** Worked out once: they are asked for twice. */
function rowsOf(versions: Versions): readonly Row[] {
  const rows = done.get(nameOf(versions)) ?? workOut(versions)
  done.set(nameOf(versions), rows)
  return rows
}

function workOut(versions: Versions): readonly Row[] {
  return evidences.flatMap((evidence): Row[] => {
    const { readings } = evidence
    const seen = [readings, withSpike(readings, readings.length >> 1), withSpike(readings, readings.length - 1)]
    return seen.map((one): Row => {
      const { figures, spikes } = workedOut(evidence, one, versions)
      if (!figures) return ['too few']
      const {
        value,
        digits,
        verdict,
        label,
        count,
        mean,
        spread,
        windowS,
        slope,
        uncertainty,
        answer,
        limit,
        accepted,
      } = figures
      const said = [digits, verdict, label, count, answer, limit, accepted, spikes.join(' ')]
      return [...said, value, mean, spread, windowS, slope ?? null, uncertainty].map((so) =>
        typeof so === 'number' && !Number.isFinite(so) ? null : so,
      )
    })
  })
}

const nameOf = (versions: Versions) => ALGORITHMS.map((name) => `${name}-${versions[name]}`).join('_')

/** Relative 1e-9: another processor may round the last bits of a sum otherwise. */
function differs(a: Row | undefined, b: Row): boolean {
  return b.some((is, at) => {
    const was = a?.[at]
    if (typeof is !== 'number' || typeof was !== 'number') return is !== was
    return Math.abs(is - was) > 1e-9 * Math.max(Math.abs(is), Math.abs(was))
  })
}

describe('figures of each version, as they were when it was new', () => {
  test.each(PINNED.map((versions) => [nameOf(versions), versions] as const))('%s', (name, versions) => {
    const file = join(FIGURES, `${name}.json.gz`)
    const rows = rowsOf(versions)
    if (!existsSync(file) && process.env.PIN === '1')
      writeFileSync(file, gzipSync(`${JSON.stringify(rows)}\n`, { level: 9 }))
    const pinned: readonly Row[] = JSON.parse(gunzipSync(readFileSync(file)).toString('utf8'))
    expect(rows.length).toBe(pinned.length)
    expect(rows.length).toBeGreaterThan(900)
    expect(rows.flatMap((row, at) => (differs(pinned[at], row) ? [{ at, was: pinned[at], is: row }] : []))).toEqual([])
  })

  test('no two versions give the same everywhere: each is worth its number', () => {
    const all = PINNED.map((versions) => JSON.stringify(rowsOf(versions)))
    expect(new Set(all).size).toBe(PINNED.length)
  })

  test('every version there is stands in one of them, and so does what is in use now', () => {
    expect(PINNED).toContainEqual(NEWEST)
    for (const versions of UNNAMED) expect(PINNED).toContainEqual(versions)
    for (const name of ALGORITHMS) {
      const pinned = new Set(PINNED.map((versions) => versions[name]))
      for (let version = 0; version <= NEWEST[name]; version++) expect(pinned).toContain(version)
      expect(() => codeOf({ ...NEWEST, [name]: NEWEST[name] + 1 })).toThrow(TypeError)
    }
  })
})

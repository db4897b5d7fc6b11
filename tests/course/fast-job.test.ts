import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test, vi } from 'vitest'
import { runFast } from '../../src/commands/job-fast.ts'
import { rerunBench } from '../../src/commands/rerun-bench.ts'
import { PROCEDURE } from '../kit/job-bench.ts'

vi.setConfig({ testTimeout: 60_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-course-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

test('a job on the clock that jumps, run again: all frames are the same, to the last digit', async () => {
  const then: string[] = []
  const { outcome } = await runFast({
    procedure: PROCEDURE,
    seed: 3,
    warm: true,
    bands: [],
    recordIn: folder,
    courseIn: join(folder, 'courses'),
    onFrame: (frame) => then.push(JSON.stringify(frame)),
  })
  expect(outcome.captured.length).toBeGreaterThan(0)
  const [file = ''] = readdirSync(join(folder, 'courses'))
  const now: string[] = []
  const again = await rerunBench(join(folder, 'courses', file), (frame) => now.push(JSON.stringify(frame)))
  expect(again).toMatchObject({ differences: [], stopped: '', ends: 'the service ended' })
  expect(now.length).toBeGreaterThan(100)
  expect(now).toEqual(then.slice(0, now.length))
  expect(then.length - now.length).toBeLessThan(3) // of the closing itself
  const journal = readFileSync(outcome.record.replace('.jws', '.journal'), 'utf8').trim().split('\n').slice(1)
  const kept = journal.map((line) => JSON.parse(line)).map(({ n: _n, prev: _prev, ...entry }) => entry)
  expect([...again.written.keys()]).toHaveLength(1)
  expect(kept).toMatchObject(JSON.parse(JSON.stringify([...again.written.values()].flat())))
})

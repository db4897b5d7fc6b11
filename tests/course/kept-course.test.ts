import { readdirSync, statSync } from 'node:fs'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test, vi } from 'vitest'
import { SIMULATED_BENCH } from '../../src/commands/bench-options.ts'
import { rerunBench } from '../../src/commands/course/rerun-bench.ts'
import { openService } from '../../src/commands/open-service.ts'
import { worded } from '../../src/words/sentence/sentence.ts'
import { PROCEDURE } from '../kit/job/job-bench.ts'

vi.setConfig({ testTimeout: 60_000 })

const folder = await mkdtemp(join(tmpdir(), 'trimwright-kept-'))
afterAll(() => rm(folder, { recursive: true, force: true }))

test('over real links: what happened is kept at request, in a file of its own that only its owner reads, and gives the same frames again', async () => {
  const service = await openService(
    {
      benchFile: SIMULATED_BENCH,
      dataFolder: folder,
      seed: null,
      pace: { times: 1, originMs: performance.timeOrigin },
      simulatedMore: [],
    },
    new AbortController().signal,
  )
  const { session } = service
  const then: string[] = []
  session.onFrame((frame) => then.push(JSON.stringify(frame)))
  try {
    await service.ready
    const watched = await session.request({ kind: 'watch', id: 'a', quantity: 'frequency', target: 'maximum' })
    expect(watched.ok).toBe(true)
    await session.request({ kind: 'supply on', id: 'b', procedure: PROCEDURE.split('/').at(-1) ?? '' })
    await new Promise((resolve) => setTimeout(resolve, 2500))
    const answer = await session.request({ kind: 'keep course', id: 'c' })
    expect(worded(answer)).toMatchObject({ ok: true, words: expect.stringContaining(join(folder, 'courses')) })
    const [file = ''] = readdirSync(join(folder, 'courses'))
    expect(file).toMatch(/^\d{8}-\d{6}-kept-by-hand\.course\.gz$/)
    expect(statSync(join(folder, 'courses', file)).mode & 0o077).toBe(0)
    const now: string[] = []
    const again = await rerunBench(join(folder, 'courses', file), (frame) => now.push(JSON.stringify(frame)))
    expect(again).toMatchObject({ differences: [], stopped: '', ends: 'kept by hand' })
    const seq = (frame: string | undefined) => Number(JSON.parse(frame ?? '{}').seq)
    expect(now.length).toBeGreaterThan(10)
    expect(then).toEqual(expect.arrayContaining(now.filter((frame) => seq(frame) >= seq(then[0]))))
    expect(now.some((frame) => JSON.parse(frame).supply.output === 'on')).toBe(true)
  } finally {
    await service.close()
  }
})

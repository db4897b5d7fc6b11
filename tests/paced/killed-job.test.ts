import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test, vi } from 'vitest'
import { seededRng } from '../../src/system/rng.ts'
import { killAgainAndAgain } from '../kit/job/killed-job.ts'

vi.setConfig({ testTimeout: 200_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-killed-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

test('kill -9 of the service in the middle of a paced job, four times: what the page called captured is in the journal, and its record is good', async () => {
  const { said, lost, bad, kills } = await killAgainAndAgain({
    kills: 4,
    folder,
    procedure: 'procedures/brackwater-27m-transmit-short.yaml',
    fromS: 5,
    toS: 9,
    rng: seededRng(4),
  })
  expect(lost).toEqual([])
  expect(bad).toEqual([])
  expect(kills).toBe(4)
  expect(said).toBeGreaterThan(0)
})

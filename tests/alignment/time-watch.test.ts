import { join } from 'node:path'
import { expect, test } from 'vitest'
import { openSession } from '../../src/alignment/session.ts'
import { loadPlans, loadProcedure } from '../../src/commands/load-procedures.ts'
import { entriesBetween } from '../../src/core/job/job-entries.ts'
import { openKeeperHere } from '../../src/keeper/service/keeper-here.ts'
import { silentLog } from '../../src/system/log.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { worded } from '../../src/words/sentence/sentence.ts'
import { fakeSupply } from '../keeper/fake-supply.ts'
import { stubBench } from '../kit/job/stub-bench.ts'

const STEPS = join(import.meta.dirname, '..', 'kit', 'two-steps.yaml')

test('a clock that is set, and sleep, in a job: told once on the page, written down, and the times after it are the new ones', async () => {
  const made = virtualClock()
  let setMs = 0
  let sleptMs = 0
  const clock = {
    ...made,
    wallTime: () => new Date(Date.parse(made.wallTime()) + setMs + sleptMs).toISOString(),
    bootMs: () => made.nowMs() + sleptMs,
  }
  const deps = { clock, log: silentLog }
  const { signal } = new AbortController()
  const port = fakeSupply(clock)
  const supply = await clock.runUntil(
    openKeeperHere({ port, ceilingVolts: 16.5, ceilingAmps: 4, dataFolder: null, deps, signal }),
  )
  const plans = loadPlans()
  const session = openSession({
    bench: stubBench(supply, clock, 0),
    procedures: [loadProcedure(STEPS, plans)],
    plans,
    deps,
    setPage: null,
  })
  session.steererPresent(true, 'here')
  await clock.runUntil(
    session.request({ kind: 'start job', id: '1', procedure: 'two-steps.yaml', serial: 'T-1', bands: [] }),
  )
  const before = session.job()
  if (!before) throw new TypeError('no job')
  await clock.advance(2000)
  expect(session.job()?.events.filter(({ what }) => what === 'clock')).toEqual([])
  setMs = 3_600_000
  await clock.advance(2000)
  sleptMs = 45_000
  await clock.advance(2000)
  const job = session.job()
  if (!job) throw new TypeError('no job')
  const entries = entriesBetween(before, job).filter((entry) => entry.kind === 'event' && entry.what === 'clock')
  expect(worded(entries.map((entry) => ('words' in entry ? entry.words : '')))).toEqual([
    expect.stringMatching(/set forward by 3600\.0 s, to 2026-01-05T09:00:0/),
    expect.stringMatching(/slept or stood still for 45\.0 s; since then its clock says 2026-01-05T09:00:4/),
  ])
  expect(job.wall).toMatch(/^2026-01-05T09:00:/)
  await clock.runUntil(session.close())
  await clock.runUntil(supply.close())
})

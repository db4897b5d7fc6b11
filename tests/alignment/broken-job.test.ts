import { join } from 'node:path'
import { expect, test } from 'vitest'
import type { Offered } from '../../src/alignment/offered.ts'
import type { Recorder } from '../../src/alignment/recorder.ts'
import { openSession, type Session } from '../../src/alignment/session.ts'
import type { Bench } from '../../src/bench/bench.ts'
import { loadPlans, loadProcedure } from '../../src/commands/load-procedures.ts'
import type { JobEntry } from '../../src/core/job/job-entries.ts'
import type { Remembered } from '../../src/core/job/restore-job.ts'
import { openKeeperHere } from '../../src/keeper/service/keeper-here.ts'
import type { Reading } from '../../src/schema/kept/reading.ts'
import type { Captured, FromPage } from '../../src/schema/messages/live-frame.ts'
import { silentLog } from '../../src/system/log.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { worded } from '../../src/words/sentence/sentence.ts'
import { fakeSupply } from '../keeper/fake-supply.ts'
import { memoryRecorder } from '../kit/job/memory-recorder.ts'
import { stubBench } from '../kit/job/stub-bench.ts'

const plans = loadPlans()
const RIGHT = loadProcedure(join(import.meta.dirname, '..', 'kit', 'two-steps.yaml'), plans)

/** Its second step is one that no schema lets through: its picture cannot be drawn, or it cannot even be opened. */
function offeredWith(wrong: Readonly<Record<string, unknown>>): Offered {
  const [first, second] = RIGHT.procedure.steps
  const spoilt = { ...second, ...wrong } as typeof second
  return { ...RIGHT, procedure: { ...RIGHT.procedure, steps: [first, spoilt] } as Offered['procedure'] }
}
const UNDRAWABLE = offeredWith({ where: null })
const UNOPENABLE = offeredWith({ also: null })

interface Stage {
  readonly session: Session
  readonly entries: readonly JobEntry[]
  ask(request: { readonly kind: FromPage['kind'] } & Record<string, unknown>): Promise<{ ok: boolean; words: string }>
  pass(ms: number): Promise<void>
  /** So many readings of 2.4 V, four a second. */
  read(times: number): Promise<void>
  isOn(): boolean
}

async function onStage(
  offered: Offered,
  work: (stage: Stage) => Promise<void>,
  reopen?: Recorder['reopen'],
): Promise<void> {
  const clock = virtualClock()
  const deps = { clock, log: silentLog }
  const port = fakeSupply(clock)
  const { signal } = new AbortController()
  const supply = await clock.runUntil(
    openKeeperHere({ port, ceilingVolts: 16.5, ceilingAmps: 4, dataFolder: null, deps, signal }),
  )
  let tell: (reading: Reading) => void = () => {}
  const stub = stubBench(supply, clock, 0)
  const bench: Bench = Object.create(stub, {
    onReading: {
      value: (listener: typeof tell) => {
        tell = listener
        return () => {}
      },
    },
  })
  const { recorder, entries } = memoryRecorder()
  const session = openSession({
    bench,
    procedures: [offered],
    plans,
    deps,
    setPage: null,
    recorder: reopen ? { ...recorder, reopen } : recorder,
  })
  let asked = 0
  const stage: Stage = {
    session,
    entries,
    ask: async (request) =>
      worded(await clock.runUntil(session.request({ id: `t${++asked}`, ...request } as FromPage))),
    pass: (ms) => clock.advance(ms),
    isOn: () => port.model.on,
    read: async (times) => {
      for (let at = 0; at < times; at += 1) {
        await clock.advance(250)
        const value = 2.376 + ((at * 7) % 5) * 4e-4
        const atMs = clock.nowMs()
        tell({
          quantity: 'DC voltage',
          instrument: 'DC voltage meter',
          epoch: bench.epoch,
          beganMs: atMs - 200,
          arrivedMs: atMs,
          raw: String(value),
          value,
          state: 'good',
        })
      }
    },
  }
  session.steererPresent(true, 'here')
  try {
    await work(stage)
  } finally {
    await clock.runUntil(session.close())
    await clock.runUntil(supply.close())
  }
}

test.each([
  ['that cannot be drawn', UNDRAWABLE],
  ['that cannot be opened', UNOPENABLE],
])('a step %s stops the job safe, and what was captured is kept and can be closed', async (_, offered) => {
  await onStage(offered, async ({ session, entries, ask, pass, read, isOn }) => {
    const { file } = offered
    expect(await ask({ kind: 'start job', procedure: file, serial: 'T-1', bands: [] })).toMatchObject({ ok: true })
    await ask({ kind: 'ready' })
    await pass(3000)
    expect(isOn()).toBe(true)
    await read(60)
    expect(entries).toContainEqual(expect.objectContaining({ kind: 'captured', step: 'control-voltage' }))

    await ask({ kind: 'open step', step: 'power' })
    await pass(3000)
    expect(isOn()).toBe(false)
    const frame = session.latest()
    expect(frame).toMatchObject({
      mode: 'job',
      state: 'stopped',
      guide: { words: 'SUPPLY OFF' },
      offers: ['close job'],
    })
    expect(frame.because).toMatch(
      /^this job cannot go on, by a mistake of the program \(.+\)\. What was captured is kept/,
    )
    expect(frame.captured).toMatchObject([{ step: 'control-voltage' }])
    expect(await ask({ kind: 'ready' })).toEqual({ ok: false, words: frame.because })
    expect(await ask({ kind: 'stop' })).toMatchObject({ ok: true })
    expect(entries).toContainEqual({ kind: 'event', what: 'stopped', words: frame.because })

    expect(await ask({ kind: 'close job' })).toMatchObject({ ok: true })
    expect(entries.at(-1)).toMatchObject({ kind: 'closed', why: frame.because })
    expect(session.latest()).toMatchObject({ mode: 'idle', job: { serial: 'T-1' } })
    // and the next one starts
    expect(await ask({ kind: 'start job', procedure: file, serial: 'T-2', bands: [] })).toMatchObject({ ok: true })
  })
})

test('one that is opened again shows what was captured in it, and can be closed', async () => {
  const captured = {
    number: 1,
    pass: 'work',
    step: 'control-voltage',
    quantity: 'DC voltage',
    title: 'x',
    latest: true,
  }
  const remembered: Remembered[] = [
    { kind: 'captured', captured: captured as Captured },
    { kind: 'step', step: 'control-voltage', pass: 'work', state: 'done', reason: '' },
  ]
  const { recorder, entries } = memoryRecorder()
  const reopen: Recorder['reopen'] = async () => ({
    offered: UNDRAWABLE,
    card: null,
    serial: 'T-1',
    bands: [],
    intake: null,
    remembered,
    supplyTrip: 'own' as const,
    goOn: async () => (await recorder.start({} as never)).writer,
  })
  await onStage(
    UNDRAWABLE,
    async ({ session, ask, pass }) => {
      expect(await ask({ kind: 'reopen job', job: 'memory' })).toMatchObject({ ok: true })
      await pass(500)
      expect(session.latest()).toMatchObject({ state: 'stopped', captured: [{ step: 'control-voltage' }] })
      expect(await ask({ kind: 'close job' })).toMatchObject({ ok: true })
      expect(entries.at(-1)).toMatchObject({ kind: 'closed' })
    },
    reopen,
  )
})

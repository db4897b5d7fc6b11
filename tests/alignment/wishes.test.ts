import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { openSession, type Session } from '../../src/alignment/session.ts'
import { loadPlans, loadProcedure } from '../../src/commands/load-procedures.ts'
import { openKeeperHere } from '../../src/keeper/service/keeper-here.ts'
import type { FromPage } from '../../src/schema/messages/live-frame.ts'
import { silentLog } from '../../src/system/log.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { worded } from '../../src/words/sentence/sentence.ts'
import { fakeSupply } from '../keeper/fake-supply.ts'
import { stubBench } from '../kit/job/stub-bench.ts'

const HIGH_STEPS = join(import.meta.dirname, '..', 'kit', 'two-steps.yaml')
/** Ready, and so long after it something else, ms: every step of the chain is under way in one of these. */
const MOMENTS = Array.from({ length: 40 }, (_, at) => 20 + at * 110)

interface Stage {
  ask(request: { readonly kind: FromPage['kind'] } & Record<string, unknown>): Promise<{ ok: boolean; words: string }>
  readonly session: Session
  pass(ms: number): Promise<void>
  /** What leaves the supply, V; and its setpoint with the output on. */
  out(): number
}

/** A job at its step for 15.6 V, nothing switched on yet; the oscillator takes `toneMs` to answer. */
async function atHighStep(toneMs: number, work: (stage: Stage) => Promise<void>): Promise<void> {
  const clock = virtualClock()
  const deps = { clock, log: silentLog }
  const port = fakeSupply(clock)
  const { signal } = new AbortController()
  const supply = await clock.runUntil(
    openKeeperHere({ port, ceilingVolts: 16.5, ceilingAmps: 4, dataFolder: null, deps, signal }),
  )
  const plans = loadPlans()
  const session = openSession({
    bench: stubBench(supply, clock, toneMs),
    procedures: [loadProcedure(HIGH_STEPS, plans)],
    plans,
    deps,
    setPage: null,
  })
  let asked = 0
  const stage: Stage = {
    session,
    ask: async (request) =>
      worded(await clock.runUntil(session.request({ id: `t${++asked}`, ...request } as FromPage))),
    pass: (ms) => clock.advance(ms),
    out: () => (port.model.on ? port.model.setVolts : 0),
  }
  session.steererPresent(true, 'here')
  await stage.ask({ kind: 'start job', procedure: 'two-steps.yaml', serial: 'T-1', bands: [] })
  await stage.ask({ kind: 'leave out', step: 'control-voltage', reason: 'not for this test' })
  await stage.ask({ kind: 'open step', step: 'power' })
  try {
    await work(stage)
  } finally {
    await clock.runUntil(session.close())
    await clock.runUntil(supply.close())
  }
}

/** The card is read and the load is on: from here on the supply is on its way. */
async function ready(ask: Stage['ask']): Promise<void> {
  expect((await ask({ kind: 'ready' })).ok).toBe(true)
  expect((await ask({ kind: 'confirm' })).ok).toBe(true)
}

test('left alone the supply does go up', async () => {
  await atHighStep(150, async ({ ask, pass, out }) => {
    await ready(ask)
    await pass(6000)
    expect(out()).toBeCloseTo(15.6, 1)
  })
})

describe.each([0, 150, 400])('an arming that is not wanted any more, the oscillator %i ms slow', (toneMs) => {
  test('page hidden at any moment after Ready: at normal or off soon, and never above it again', async () => {
    for (const ms of MOMENTS)
      await atHighStep(toneMs, async ({ ask, session, pass, out }) => {
        await ready(ask)
        await pass(ms)
        session.steererPresent(false, 'the page that steers is hidden')
        await pass(500)
        for (let at = 0; at < 20; at++) {
          expect(out(), `${ms} ms after Ready`).toBeLessThanOrEqual(13.8)
          await pass(400)
        }
      })
  })

  test('another step opened at any moment after Ready: the same', async () => {
    for (const ms of MOMENTS)
      await atHighStep(toneMs, async ({ ask, pass, out }) => {
        await ready(ask)
        await pass(ms)
        await ask({ kind: 'open step', step: 'control-voltage' })
        await pass(500)
        for (let at = 0; at < 20; at++) {
          expect(out(), `${ms} ms after Ready`).toBeLessThanOrEqual(13.8)
          await pass(400)
        }
      })
  })

  test('STOP at any moment after Ready: off, and off it stays', async () => {
    for (const ms of MOMENTS)
      await atHighStep(toneMs, async ({ ask, pass, out }) => {
        await ready(ask)
        await pass(ms)
        await ask({ kind: 'stop' })
        await pass(600)
        for (let at = 0; at < 20; at++) {
          expect(out(), `${ms} ms after Ready`).toBe(0)
          await pass(400)
        }
      })
  })
})

describe('outside a job', () => {
  test('STOP while the supply is being switched on to watch: off, and off it stays', async () => {
    for (const ms of MOMENTS.slice(0, 15))
      await atHighStep(0, async ({ ask, pass, out }) => {
        await ask({ kind: 'close job' })
        await pass(1500)
        expect((await ask({ kind: 'supply on', procedure: 'two-steps.yaml' })).ok).toBe(true)
        await pass(ms)
        await ask({ kind: 'stop' })
        await pass(600)
        for (let at = 0; at < 10; at++) {
          expect(out(), `${ms} ms after it was asked for`).toBe(0)
          await pass(400)
        }
      })
  })

  test('ten minutes with nobody at the page: off', async () => {
    await atHighStep(0, async ({ ask, session, pass, out }) => {
      await ask({ kind: 'close job' })
      await pass(1500)
      await ask({ kind: 'supply on', procedure: 'two-steps.yaml' })
      await pass(4000)
      expect(out()).toBe(13.8)
      session.steererPresent(false, 'the page that steers is hidden')
      await pass(599_000)
      expect(out()).toBe(13.8)
      await pass(2000)
      expect(out()).toBe(0)
    })
  })

  test('nobody at the page: nothing is switched on', async () => {
    await atHighStep(0, async ({ ask, session, pass, out }) => {
      await ask({ kind: 'close job' })
      await pass(1500)
      session.steererPresent(false, 'the page that steers is hidden')
      expect(await ask({ kind: 'supply on', procedure: 'two-steps.yaml' })).toMatchObject({
        ok: false,
        words: 'the page that steers is hidden: the supply is not switched on',
      })
      await pass(3000)
      expect(out()).toBe(0)
    })
  })
})

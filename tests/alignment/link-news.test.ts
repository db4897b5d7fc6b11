import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { openSession } from '../../src/alignment/session.ts'
import { loadPlans, loadProcedure } from '../../src/commands/load-procedures.ts'
import type { FromPage } from '../../src/schema/messages/live-frame.ts'
import { worded } from '../../src/words/sentence/sentence.ts'
import { benchStage } from '../kit/job/bench-stage.ts'

const plans = loadPlans()
const VOLTS = { driver: 'multimeter-scpi', at: 'memory:volts', 'input isolated from link': 'yes' }
const procedures = [loadProcedure(join(import.meta.dirname, '..', 'kit', 'two-steps.yaml'), plans)]

/** A session over a bench whose voltmeter is there, or not before somebody plugs it in. */
async function onStage(there: boolean) {
  const stage = benchStage({ volts: VOLTS })
  let value = 2.376
  const reads = () => {
    value = value > 2.3765 ? 2.376 : value + 0.0002
    return value.toFixed(5)
  }
  const plugIn = () => stage.script('volts', { 'READ:VOLT:DC?': reads })
  const volts = there ? plugIn() : null
  const bench = await stage.open()
  const session = openSession({ bench, procedures, plans, deps: stage.deps, setPage: null })
  let asked = 0
  return {
    ...stage,
    volts,
    plugIn,
    session,
    ask: (request: { readonly kind: FromPage['kind'] } & Record<string, unknown>) =>
      stage.clock.runUntil(session.request({ id: `t${++asked}`, ...request } as FromPage)),
    close: async () => {
      await stage.clock.runUntil(session.close())
      await stage.clock.runUntil(bench.close())
    },
  }
}

describe('a meter that failed before anybody looked', () => {
  test('is said with cause and cure by the watch that begins later', async () => {
    const { session, ask, close } = await onStage(false)
    expect(await ask({ kind: 'watch', quantity: 'DC voltage', target: '2.20 .. 2.60 V' })).toMatchObject({ ok: true })
    const { state, because } = session.latest()
    expect(state).toBe('link lost')
    expect(because).toMatch(/^volts \(multimeter-scpi.*\): .+\. .*\[TRANSPORT_\w+\]$/)
    await close()
  })

  test('holds the job at its step before anything is switched on, and lets it go on when it is there', async () => {
    const { session, ask, plugIn, clock, supply, close } = await onStage(false)
    let wishes = 0
    const { wish } = supply
    Object.assign(supply, {
      wish: () => {
        wishes += 1
        return wish()
      },
    })
    await ask({ kind: 'start job', procedure: 'two-steps.yaml', serial: 'T-1', bands: [] })
    expect(session.latest().events).toMatchObject([{ what: 'link lost', words: expect.stringContaining('volts') }])
    await ask({ kind: 'ready' })
    expect(session.latest()).toMatchObject({ state: 'link lost', because: expect.stringContaining('[TRANSPORT_') })
    expect(wishes).toBe(0)
    plugIn()
    await clock.advance(60_000)
    expect(session.latest().state).not.toBe('link lost')
    expect(wishes).toBe(1)
    await close()
  })
})

test('single misses are told once a minute with cause and cure, and say why a reading is old', async () => {
  const { session, ask, volts, clock, close } = await onStage(true)
  await ask({ kind: 'watch', quantity: 'DC voltage', target: '2.20 .. 2.60 V' })
  await clock.advance(5000)
  expect(session.latest()).toMatchObject({ events: [], reading: { quantity: 'DC voltage' } })
  if (volts) volts.answers['READ:VOLT:DC?'] = null
  await clock.advance(20_000)
  const { events, state, because } = worded(session.latest())
  expect(events).toEqual([expect.objectContaining({ what: 'note', words: `A reply was missed: ${because}` })])
  expect(state).toBe('old')
  expect(because).toMatch(/^volts \(multimeter-scpi.*\): no reply to .+ within \d+ ms\. .*\[TRANSPORT_REPLY_TIMEOUT\]$/)
  await close()
})

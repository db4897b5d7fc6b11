import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { loadPlans } from '../../../src/commands/load-procedures.ts'
import { advance, startJob } from '../../../src/core/job/job.ts'
import { planJob } from '../../../src/core/plan/job-plan.ts'
import { readYamlText } from '../../../src/schema/door/yaml-door.ts'
import { Procedure } from '../../../src/schema/files/procedure-file.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { METERS } from '../../kit/job/job-bench.ts'

const plans = loadPlans()
const HEAD =
  readFileSync(join(import.meta.dirname, '..', '..', 'kit', 'two-steps.yaml'), 'utf8').split('steps:')[0] ?? ''
const KEYED = 'transmit: "unmodulated, 5 s then 5 s rest", measure: RF power, target: 3 .. 4 W'

/** A job of one step as an old record may hold it: no check has seen it. */
function planWith(step: string, bands: string, chosen: readonly string[] = []) {
  const text = `${HEAD.replace(/bands: .*/, `bands: { ${bands} }`)}steps:\n  - { id: a, title: A, ${step} }\n`
  const procedure = readYamlText(text, 'old record', Procedure)
  const about = {
    bands: chosen,
    serial: 'T-1',
    ruleCard: null,
    meters: METERS,
    setsTone: true,
    supplyTrip: 'own' as const,
    simulated: true,
  }
  return planJob(procedure, plans, about)
}
const CEPT = 'cept: { plan: cept-40, use: yes }'
const SEA = 'sea: { plan: marine-vhf, use: yes }'

test.each([
  ['channel: 41', CEPT, /^channel 41 is in none of the bands in use; there are 1 to 40 \(cept\)/],
  ['channels: [1, 99]', CEPT, /^channel 99 is in none/],
  ['channel: 16', SEA, /^channel 16 is reserved in sea and is never keyed/],
  ['channels: [8, 70]', SEA, /^channel 70 is reserved in sea and is never keyed/],
  ['aim: 5 W +- 0.1 W, channel: 20', CEPT, /^its aim lies outside the target "3 .. 4 W"/],
  ['channel: middle', 'sea: { plan: marine-vhf, use: ask }', /^the bands in use have no channel that may be keyed/],
])('a job leaves out what it cannot do, is told so, and never keys it: %s', (where, bands, why) => {
  const plan = planWith(`${where}, ${KEYED}`, bands)
  expect(worded(plan.lines)).toMatchObject([{ wanting: true, leftOut: expect.stringMatching(why) }])
  const job = startJob(plan, 0, '')
  expect(worded(job.events)).toMatchObject([{ seq: 1, what: 'note', words: expect.stringContaining('is left out: ') }])
  // nor when a person opens it all the same
  const ask = { id: 'a', atMs: 0 }
  const opened = advance(
    job,
    { kind: 'request', request: { ...ask, kind: 'open step', step: 'a' }, atMs: 0 } as never,
    '',
  )
  const ready = advance(opened.job, { kind: 'request', request: { ...ask, kind: 'ready' }, atMs: 0 } as never, '')
  expect(worded(ready.answer)).toEqual({ ok: false, words: expect.stringMatching(why) })
  expect(ready.effects).toEqual([])
})

test('a reserved channel that is only listened to is done', () => {
  const plan = planWith('channel: 16, measure: DC voltage, target: 1 .. 2 V', SEA)
  expect(worded(plan.lines)).toMatchObject([{ wanting: false, leftOut: null }])
})

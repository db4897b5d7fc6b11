import type { Bench } from '../bench/bench.ts'
import type { Job } from '../core/job/state/job-types.ts'
import { decadeOff, readTyped } from '../core/reading/typed.ts'
import type { FromPage } from '../schema/messages/live-frame.ts'
import type { Answer } from './live-source.ts'

/** What a person read: refused in words where it is no number, or looks a decade off and nobody said that it is sure. */
export function typedIn(
  asked: Extract<FromPage, { kind: 'type in' }>,
  bench: Pick<Bench, 'meters' | 'typeIn'>,
  job: Job | null,
): Answer {
  const typed = bench.meters.filter((meter) => meter.quantity === asked.quantity && meter.typed)
  const facts = typed.find((meter) => job?.open.measured.some(({ rule }) => rule.facts === meter)) ?? typed[0]
  if (!facts) return { ok: false, words: `nobody on this bench types ${asked.quantity}` }
  const read = readTyped(asked.text, facts.unit)
  if (!read.ok) return { ok: false, words: read.refused }
  const rule = job?.open.measured.find((one) => one.rule.facts === facts)?.rule
  const doubt = rule && asked.sure !== true ? decadeOff(Math.max(...read.value), rule.goal, asked.text) : ''
  if (doubt !== '') return { ok: false, words: doubt, asksBack: true }
  const parts = read.value.length > 1 ? read.value : undefined
  bench.typeIn(facts.quantity, Math.max(...read.value), asked.text, parts, facts.role)
  return { ok: true, words: 'typed' }
}

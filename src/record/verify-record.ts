import type { KeyObject } from 'node:crypto'
import { KEPT_AS_IT_IS } from '../core/job/job-entries.ts'
import { ALGORITHMS, unknownIn } from '../core/reading/algorithms.ts'
import type { Figures } from '../core/reading/capture.ts'
import { markLatest, stepEnd } from '../core/reading/capture.ts'
import { versionsOf, workedOut } from '../core/reading/evidence.ts'
import type { KeptReading } from '../schema/kept/evidence.ts'
import { type KeptValue, RecordPayload } from '../schema/kept/record.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { sha256 } from './chain.ts'
import { checkSignature } from './check-signature.ts'
import { fingerprintOf, isPublished } from './key.ts'
import { upgradedPayload } from './older-values.ts'
import { wrongGoals } from './wrong-goals.ts'

/** Reads a raw reply again by the driver that stands in the record; null when it is no number there. */
export type Decode = (
  driver: { readonly id: string; readonly text: string },
  reading: { readonly raw: string; readonly quantity: KeptValue['quantity'] },
) => { readonly value: number; readonly parts: readonly number[] | null } | null

/** What looking at a record came to. */
export interface Verified {
  readonly answer: 'good' | 'not' | 'unreadable'
  /** What was found, most important first. */
  readonly words: readonly string[]
  readonly payload: RecordPayload | null
  readonly fingerprint: string
}

/** Signature, shape, every raw reply, value, verdict and step result of a record, worked out again. Never throws. */
export function verifyRecord(
  jws: string,
  with_: { readonly key: KeyObject | null; readonly decode: Decode },
): Verified {
  const signature = checkSignature(jws, with_.key)
  if (!signature.good) {
    const answer = signature.bad.startsWith('it is not a compact JWS') ? 'unreadable' : 'not'
    return { answer, words: [`Not intact: ${signature.bad}`], payload: null, fingerprint: '' }
  }
  const fingerprint = fingerprintOf(signature.key)
  if (isPublished(signature.key)) {
    const words = [`Not intact: ${fingerprint} is a published test key, which anybody can sign with`]
    return { answer: 'not', words, payload: null, fingerprint }
  }
  const payload = payloadOf(signature.payload)
  if (typeof payload === 'string')
    return {
      answer: 'unreadable',
      words: [`Signed by ${fingerprint}, but no record: ${payload}`],
      payload: null,
      fingerprint,
    }
  const unknown = payload.values.flatMap(newerIn)
  const wrong = [
    ...wrongFiles(payload),
    ...wrongGoals(payload),
    ...payload.values.flatMap((value) => (newerIn(value).length > 0 ? [] : wrongIn(value, payload, with_.decode))),
    ...wrongLatest(payload),
    ...wrongSteps(payload),
  ]
  const whose = with_.key ? 'the key you gave' : 'the key in the file: compare its fingerprint with one from its owner'
  const intact = `Intact, signed by ${fingerprint} (${whose}).`
  if (wrong.length > 0)
    return { answer: 'not', words: [intact, 'But it does not agree with itself:', ...wrong], payload, fingerprint }
  if (unknown.length > 0) return { answer: 'unreadable', words: [intact, NEWER, ...unknown], payload, fingerprint }
  return { answer: 'good', words: [intact, ...sayings(payload)], payload, fingerprint }
}

function payloadOf(bytes: Buffer): RecordPayload | string {
  let json: unknown
  try {
    json = JSON.parse(bytes.toString('utf8'))
  } catch {
    return 'its payload is not JSON'
  }
  const parsed = RecordPayload.safeParse(upgradedPayload(json))
  if (parsed.success) return parsed.data
  const [first] = parsed.error.issues
  return `${first?.path.join(' > ') || 'its payload'}: ${first?.message ?? 'not right'}`
}

/** From this version of settling on a spike is marked. */
const SPIKES_MARKED = 2
const NEWER = 'These values were worked out by a newer program than this one: use a newer Trimwright to check them.'

/** What of a value's algorithms this program does not know, in words; none where it knows all. */
function newerIn({ number, title, quantity, evidence }: KeptValue): readonly string[] {
  const unknown = evidence.algorithms === undefined ? [] : unknownIn(evidence.algorithms)
  return unknown.map((what) => `value ${number} (${title}, ${quantity}): ${what}`)
}

const CHECKED = ['value', 'mean', 'spread', 'windowS', 'uncertainty', 'count'] as const
const SAID = ['digits', 'unit', 'band', 'verdict', 'label', 'answer', 'limit', 'accepted'] as const

/** What differs when one value is worked out again from its raw replies. */
function wrongIn(value: KeptValue, payload: RecordPayload, decode: Decode): readonly string[] {
  const name = `value ${value.number} (${value.title}, ${value.quantity})`
  const { evidence } = value
  const driver = payload.header.drivers.find(({ id }) => id === evidence.facts.driver)
  if (!driver) return [`${name}: its driver "${evidence.facts.driver}" is not in the record`]
  const readings: KeptReading[] = []
  for (const reading of evidence.readings) {
    const again = decode(driver, { raw: reading.raw, quantity: value.quantity })
    if (!again) return [`${name}: the reply ${JSON.stringify(reading.raw)} is no number by its driver`]
    if (!close(again.value, reading.value))
      return [`${name}: the reply ${JSON.stringify(reading.raw)} says ${again.value}, the record ${reading.value}`]
    readings.push({ ...reading, value: again.value, ...(again.parts ? { parts: [...again.parts] } : {}) })
  }
  if (evidence.decision !== payload.header.decisionRule)
    return [`${name}: accepted by "${evidence.decision}", the job was to be judged by "${payload.header.decisionRule}"`]
  const tried = versionsOf(evidence).map((versions) => {
    const { figures, spikes } = workedOut(evidence, readings, versions)
    if (!figures) return ['there are too few readings for a value']
    return [...differences(figures, value), ...wrongSpikes(spikes, evidence)]
  })
  const wrong = tried.some((one) => one.length === 0) ? [] : (tried[0] ?? [])
  return wrong.map((what) => `${name}: ${what}`)
}

/** A reading is marked as a spike where it is one, and nowhere else; records from before spikes were marked have none. */
function wrongSpikes(
  spikes: readonly number[],
  { readings, algorithms, replaced }: KeptValue['evidence'],
): readonly string[] {
  const wrong = readings.flatMap(({ raw, spike }, at) => {
    const is = spikes.includes(at)
    return is === (spike === true)
      ? []
      : [`the reply ${JSON.stringify(raw)} is ${is ? 'a' : 'no'} spike, the record says ${is ? 'no' : 'a'} spike`]
  })
  const marks = (algorithms?.settling ?? 0) >= SPIKES_MARKED
  return marks && replaced !== spikes.length
    ? [...wrong, `spikes come to ${spikes.length}, the record says ${replaced}`]
    : wrong
}

function differences(figures: Figures, value: KeptValue): readonly string[] {
  return [
    ...CHECKED.flatMap((key) =>
      close(figures[key], value[key]) ? [] : [`${key} comes to ${figures[key]}, the record says ${value[key]}`],
    ),
    ...(close(figures.slope ?? 0, value.slope ?? 0)
      ? []
      : [`slope comes to ${figures.slope}, the record says ${value.slope}`]),
    ...SAID.flatMap((key) =>
      figures[key] === value[key] ? [] : [`${key} comes to "${figures[key]}", the record says "${value[key]}"`],
    ),
  ]
}

/** Relative 1e-9: another processor may round the last bits of a sum otherwise. */
function close(a: number, b: number): boolean {
  return a === b || Math.abs(a - b) <= 1e-9 * Math.max(Math.abs(a), Math.abs(b))
}

/** The texts that the record carries are those whose SHA-256 it states. */
function wrongFiles({ header }: RecordPayload): readonly string[] {
  const files = [header.procedure, header.bench, ...header.drivers, ...(header.ruleCard ? [header.ruleCard] : [])]
  return files.flatMap((one) =>
    sha256(one.text) === one.sha256 ? [] : [`the text of ${one.file} is not the one whose SHA-256 stands beside it`],
  )
}

/** What counts as the last value of its kind is no choice: only the latest is. */
function wrongLatest({ values }: RecordPayload): readonly string[] {
  return markLatest(values).flatMap(({ number, title, latest }, at) =>
    latest === values[at]?.latest
      ? []
      : [`value ${number} (${title}): is ${latest ? '' : 'not '}the latest of its kind`],
  )
}

/** A step that is called done has values, and while aligning and as left all of them in band. */
function wrongSteps(payload: RecordPayload): readonly string[] {
  const measured = new Set(payload.values.map(({ step, pass }) => `${step} ${pass}`))
  return payload.steps.flatMap(({ step, pass, title, state }) => {
    if (!measured.has(`${step} ${pass}`) || state === 'left out' || state === 'to do') return []
    const right = stepEnd(payload.values, { step, pass }).state
    return right === state ? [] : [`step "${title}": its values say "${right}", the record "${state}"`]
  })
}

/** The value lies beyond the rule limit, whatever its uncertainty says. */
function isBeyond(limit: KeptValue['limit']): boolean {
  return limit === 'out but touching' || limit === 'out and clear'
}

/** By which versions the values were worked out; one sentence for each that stands in the record. */
function versionWords(values: readonly KeptValue[]): readonly string[] {
  const byVersions = new Map<string, number>()
  for (const { evidence } of values) {
    const { algorithms } = evidence
    const words =
      algorithms === undefined
        ? 'before versions were named'
        : `by ${ALGORITHMS.map((name) => `${name} ${algorithms[name]}`).join(', ')}`
    byVersions.set(words, (byVersions.get(words) ?? 0) + 1)
  }
  return [...byVersions].map(([words, count]) => `${count === values.length ? 'All' : count} captured ${words}.`)
}

/** Readings that count for nothing, and where they are. */
function spikeWords(values: readonly KeptValue[]): readonly string[] {
  return values.flatMap(({ number, title, evidence }) => {
    const spikes = evidence.readings.filter(({ spike }) => spike)
    const raws = spikes.map(({ raw }) => JSON.stringify(raw)).join(', ')
    return spikes.length === 0 ? [] : [`Spikes, not counted, in value ${number} (${title}): ${raws}.`]
  })
}

/** What an auditor would ask about, in words. */
function sayings(payload: RecordPayload): readonly string[] {
  const { header, steps, values } = payload
  const left = steps.filter(({ state }) => state === 'left out')
  const open = steps.filter(({ state }) => state === 'to do')
  const out = steps.filter(({ state }) => state === 'out of band')
  const beyond = values.filter((one) => one.latest && one.pass !== 'found' && isBeyond(one.limit))
  const overdue = header.instruments.filter(({ due }) => due === 'overdue')
  const typed = values.filter(({ label }) => label === 'typed')
  const asked = payload.answers.filter(({ answer }) => answer === KEPT_AS_IT_IS)
  const readings = values.reduce((sum, { evidence }) => sum + evidence.readings.length, 0)
  const names = (list: readonly { readonly title: string }[]) => [...new Set(list.map(({ title }) => title))].join('; ')
  return [
    `${values.length} values and verdicts worked out again from ${readings} raw replies: the same.`,
    ...versionWords(values),
    ...(header.simulated ? ['SIMULATED: no radio and no instrument was there.'] : []),
    ...(out.length > 0 ? [`Out of band: ${names(out)}.`] : []),
    ...(beyond.length > 0 ? [`RULE LIMIT EXCEEDED: ${names(beyond)}.`] : []),
    ...(left.length > 0
      ? [`Left out: ${left.map(({ title, reason }) => `${title} (${sentence(reason)})`).join('; ')}.`]
      : []),
    ...(open.length > 0 ? [`Not done: ${names(open)}.`] : []),
    ...(header.continues ? [`As found stands from job ${header.continues.job}, opened ${header.continues.at}.`] : []),
    ...(header.notCovered.length > 0 ? [`Not covered: ${header.notCovered.join(', ')}.`] : []),
    ...(overdue.length > 0 ? [`Overdue on that day: ${overdue.map(({ name }) => name).join(', ')}.`] : []),
    ...spikeWords(values),
    ...(asked.length > 0
      ? [`Kept after a question: ${asked.map(({ question }) => sentence(question)).join('; ')}.`]
      : []),
    ...(typed.length > 0 ? [`Typed by hand: ${names(typed)}.`] : []),
    payload.sentence,
  ]
}

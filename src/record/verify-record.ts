import type { KeyObject } from 'node:crypto'
import { KEPT_AS_IT_IS } from '../core/job/job-entries.ts'
import { ALGORITHMS, unknownIn } from '../core/reading/algorithms.ts'
import type { Figures } from '../core/reading/capture.ts'
import { markLatest, stepEnd } from '../core/reading/capture.ts'
import { versionsOf, workedOut } from '../core/reading/evidence.ts'
import type { KeptReading } from '../schema/kept/evidence.ts'
import { type KeptValue, RecordPayload } from '../schema/kept/record.ts'
import { isSaid, type Said, said, type Words } from '../words/said/said.ts'
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
  readonly words: readonly Words[]
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
    const words = [said('record.not-intact', { why: signature.bad })]
    return { answer: signature.jws ? 'not' : 'unreadable', words, payload: null, fingerprint: '' }
  }
  const fingerprint = fingerprintOf(signature.key)
  if (isPublished(signature.key)) {
    const words = [said('record.not-intact', { why: said('record.signed-by-published', { fingerprint }) })]
    return { answer: 'not', words, payload: null, fingerprint }
  }
  const payload = payloadOf(signature.payload)
  if (isSaid(payload))
    return {
      answer: 'unreadable',
      words: [said('record.no-record', { fingerprint, why: payload })],
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
  const intact = said(with_.key ? 'record.intact-given-key' : 'record.intact-own-key', { fingerprint })
  if (wrong.length > 0)
    return { answer: 'not', words: [intact, said('record.disagrees'), ...wrong], payload, fingerprint }
  if (unknown.length > 0)
    return { answer: 'unreadable', words: [intact, said('record.newer-program'), ...unknown], payload, fingerprint }
  return { answer: 'good', words: [intact, ...sayings(payload)], payload, fingerprint }
}

function payloadOf(bytes: Buffer): RecordPayload | Said {
  let json: unknown
  try {
    json = JSON.parse(bytes.toString('utf8'))
  } catch {
    return said('record.payload-not-json')
  }
  const parsed = RecordPayload.safeParse(upgradedPayload(json))
  if (parsed.success) return parsed.data
  const [first] = parsed.error.issues
  const [field, why] = [first?.path.join(' > ') ?? '', first?.message ?? '']
  return field === '' ? said('record.payload-whole', { why }) : said('record.payload-field', { field, why })
}

/** From this version of settling on a spike is marked. */
const SPIKES_MARKED = 2

/** What of a value's algorithms this program does not know, in words; none where it knows all. */
function newerIn({ number, title, quantity, evidence }: KeptValue): readonly Said[] {
  const unknown = evidence.algorithms === undefined ? [] : unknownIn(evidence.algorithms)
  return unknown.map((what) => said('record.of-value', { number, title, quantity, what }))
}

const CHECKED = ['value', 'mean', 'spread', 'windowS', 'uncertainty', 'count'] as const
const SAID = ['digits', 'unit', 'band', 'verdict', 'label', 'answer', 'limit', 'accepted'] as const

/** What differs when one value is worked out again from its raw replies. */
function wrongIn(value: KeptValue, payload: RecordPayload, decode: Decode): readonly Said[] {
  const { number, title, quantity, evidence } = value
  const of = (what: Said) => said('record.of-value', { number, title, quantity, what })
  const driver = payload.header.drivers.find(({ id }) => id === evidence.facts.driver)
  if (!driver) return [of(said('record.driver-missing', { driver: evidence.facts.driver }))]
  const readings: KeptReading[] = []
  for (const reading of evidence.readings) {
    const again = decode(driver, { raw: reading.raw, quantity })
    const reply = JSON.stringify(reading.raw)
    if (!again) return [of(said('record.reply-no-number', { reply }))]
    if (!close(again.value, reading.value))
      return [of(said('record.reply-says', { reply, is: again.value, kept: reading.value }))]
    readings.push({ ...reading, value: again.value, ...(again.parts ? { parts: [...again.parts] } : {}) })
  }
  const { decisionRule: rule } = payload.header
  if (evidence.decision !== rule) return [of(said('record.decision-differs', { by: evidence.decision, rule }))]
  const tried = versionsOf(evidence).map((versions) => {
    const { figures, spikes } = workedOut(evidence, readings, versions)
    if (!figures) return [said('record.too-few-readings')]
    return [...differences(figures, value), ...wrongSpikes(spikes, evidence)]
  })
  const wrong = tried.some((one) => one.length === 0) ? [] : (tried[0] ?? [])
  return wrong.map(of)
}

/** A reading is marked as a spike where it is one, and nowhere else; records from before spikes were marked have none. */
function wrongSpikes(
  spikes: readonly number[],
  { readings, algorithms, replaced }: KeptValue['evidence'],
): readonly Said[] {
  const wrong = readings.flatMap(({ raw, spike }, at) => {
    const is = spikes.includes(at)
    return is === (spike === true)
      ? []
      : [said(is ? 'record.reply-spike' : 'record.reply-no-spike', { reply: JSON.stringify(raw) })]
  })
  const marks = (algorithms?.settling ?? 0) >= SPIKES_MARKED
  return marks && replaced !== spikes.length
    ? [...wrong, said('record.spikes-differ', { is: spikes.length, kept: replaced })]
    : wrong
}

function differences(figures: Figures, value: KeptValue): readonly Said[] {
  const places = (figure: (typeof CHECKED)[number] | (typeof SAID)[number] | 'slope') => ({
    figure,
    is: String(figures[figure]),
    kept: String(value[figure]),
  })
  return [
    ...CHECKED.flatMap((key) => (close(figures[key], value[key]) ? [] : [said('record.figure-differs', places(key))])),
    ...(close(figures.slope ?? 0, value.slope ?? 0) ? [] : [said('record.figure-differs', places('slope'))]),
    ...SAID.flatMap((key) => (figures[key] === value[key] ? [] : [said('record.word-differs', places(key))])),
  ]
}

/** Relative 1e-9: another processor may round the last bits of a sum otherwise. */
function close(a: number, b: number): boolean {
  return a === b || Math.abs(a - b) <= 1e-9 * Math.max(Math.abs(a), Math.abs(b))
}

/** The texts that the record carries are those whose SHA-256 it states. */
function wrongFiles({ header }: RecordPayload): readonly Said[] {
  const files = [header.procedure, header.bench, ...header.drivers, ...(header.ruleCard ? [header.ruleCard] : [])]
  return files.flatMap((one) =>
    sha256(one.text) === one.sha256 ? [] : [said('record.file-differs', { file: one.file })],
  )
}

/** What counts as the last value of its kind is no choice: only the latest is. */
function wrongLatest({ values }: RecordPayload): readonly Said[] {
  return markLatest(values).flatMap(({ number, title, latest }, at) =>
    latest === values[at]?.latest
      ? []
      : [
          said('record.of-value-any', {
            number,
            title,
            what: said(latest ? 'record.is-latest' : 'record.is-not-latest'),
          }),
        ],
  )
}

/** A step that is called done has values, and while aligning and as left all of them in band. */
function wrongSteps(payload: RecordPayload): readonly Said[] {
  const measured = new Set(payload.values.map(({ step, pass }) => `${step} ${pass}`))
  return payload.steps.flatMap(({ step, pass, title, state }) => {
    if (!measured.has(`${step} ${pass}`) || state === 'left out' || state === 'to do') return []
    const right = stepEnd(payload.values, { step, pass }).state
    return right === state ? [] : [said('record.step-differs', { title, is: right, kept: state })]
  })
}

/** The value lies beyond the rule limit, whatever its uncertainty says. */
function isBeyond(limit: KeptValue['limit']): boolean {
  return limit === 'out but touching' || limit === 'out and clear'
}

/** By which versions the values were worked out; one sentence for each that stands in the record. */
function versionWords(values: readonly KeptValue[]): readonly Said[] {
  const byVersions = new Map<string, number>()
  for (const { evidence } of values) {
    const { algorithms } = evidence
    const versions = algorithms === undefined ? '' : ALGORITHMS.map((name) => `${name} ${algorithms[name]}`).join(', ')
    byVersions.set(versions, (byVersions.get(versions) ?? 0) + 1)
  }
  return [...byVersions].map(([versions, count]) => {
    if (count === values.length)
      return versions === '' ? said('record.all-unnamed') : said('record.all-by-versions', { versions })
    return versions === ''
      ? said('record.some-unnamed', { count })
      : said('record.some-by-versions', { count, versions })
  })
}

/** Readings that count for nothing, and where they are. */
function spikeWords(values: readonly KeptValue[]): readonly Said[] {
  return values.flatMap(({ number, title, evidence }) => {
    const spikes = evidence.readings.filter(({ spike }) => spike)
    const replies = spikes.map(({ raw }) => JSON.stringify(raw))
    return spikes.length === 0 ? [] : [said('record.spikes', { number, title, replies })]
  })
}

/** One behind the other, with semicolons. */
function inTurn(list: readonly Words[]): Words {
  return list.reduce<Words>((some, more) => (some === '' ? more : said('record.then', { some, more })), '')
}

/** What an auditor would ask about, in words. */
function sayings(payload: RecordPayload): readonly Words[] {
  const { header, steps, values } = payload
  const left = steps.filter(({ state }) => state === 'left out')
  const open = steps.filter(({ state }) => state === 'to do')
  const out = steps.filter(({ state }) => state === 'out of band')
  const beyond = values.filter((one) => one.latest && one.pass !== 'found' && isBeyond(one.limit))
  const overdue = header.instruments.filter(({ due }) => due === 'overdue')
  const typed = values.filter(({ label }) => label === 'typed')
  const asked = payload.answers.filter(({ answer }) => answer === KEPT_AS_IT_IS)
  const replies = values.reduce((sum, { evidence }) => sum + evidence.readings.length, 0)
  const names = (list: readonly { readonly title: string }[]) => [...new Set(list.map(({ title }) => title))].join('; ')
  const leftSteps = inTurn(left.map(({ title, reason }) => said('record.left-out-step', { title, reason })))
  const where = <T>(list: readonly T[], words: () => Said) => (list.length > 0 ? [words()] : [])
  return [
    said('record.same-again', { values: values.length, replies }),
    ...versionWords(values),
    ...(header.simulated ? [said('record.simulated')] : []),
    ...where(out, () => said('record.out-of-band', { titles: names(out) })),
    ...where(beyond, () => said('record.beyond-rule', { titles: names(beyond) })),
    ...where(left, () => said('record.left-out', { steps: leftSteps })),
    ...where(open, () => said('record.not-done', { titles: names(open) })),
    ...(header.continues ? [said('record.continues', { job: header.continues.job, at: header.continues.at })] : []),
    ...where(header.notCovered, () => said('record.not-covered', { sides: header.notCovered })),
    ...where(overdue, () => said('record.overdue', { names: overdue.map(({ name }) => name) })),
    ...spikeWords(values),
    ...where(asked, () => said('record.asked', { questions: inTurn(asked.map(({ question }) => question)) })),
    ...where(typed, () => said('record.typed', { titles: names(typed) })),
    said('record.what-it-is'),
  ]
}

import { z } from 'zod'
import { QUANTITY_NAMES, type Quantity } from '../../quantity/quantity.ts'
import { AnswerName, DecisionRuleName, Evidence } from './evidence.ts'
import { Intake } from './intake.ts'
import { SupplyTrip } from './supply-trip-kind.ts'
import { WordsShape } from './words.ts'

const quantity = z.enum(QUANTITY_NAMES as readonly [Quantity, ...Quantity[]])
const pass = z.enum(['found', 'work', 'left'])
const sha256 = z.string().regex(/^[0-9a-f]{64}$/, 'a SHA-256 in small hex digits')
const text = z.string()

/** A file that was used, as it was: its text, and the SHA-256 of its bytes. */
export const KeptFile = z.strictObject({ file: text, sha256, text })

/** An instrument of the bench on that day. `due` is its state of calibration when the job was opened. */
const KeptInstrument = z.strictObject({
  name: text,
  driver: text,
  identity: text,
  serial: text,
  certificate: text,
  calibrationDue: text.nullable(),
  due: z.enum(['in date', 'overdue', 'not said']),
  typed: z.boolean(),
})

/** What stands at the head of a job: everything that is fixed before the first reading. No customer names. */
export const JobHeader = z.strictObject({
  format: z.literal(1),
  job: z.string().regex(/^[0-9A-Za-z-]{8,80}$/),
  program: text,
  simulated: z.boolean(),
  serial: text,
  complaint: text,
  /** Found before the set was switched on. */
  intake: Intake.nullable().default(null),
  procedure: z.strictObject({ title: text, ...KeptFile.shape }),
  covers: text,
  notCovered: z.array(text),
  bench: z.strictObject({ name: text, ...KeptFile.shape }),
  drivers: z.array(z.strictObject({ id: text, ...KeptFile.shape })),
  instruments: z.array(KeptInstrument),
  /** What would have ended an over-voltage of the supply; null: from before that was written down. */
  supplyTrip: SupplyTrip.nullable().default(null),
  ruleCard: z.strictObject({ title: text, source: text, date: text, ...KeptFile.shape }).nullable(),
  bands: z.array(text),
  /** The job of the same serial whose as-found readings stand in this one, and the SHA-256 of its journal's last line then. */
  continues: z.strictObject({ job: text, at: text, head: sha256 }).nullable().default(null),
  /** Chosen before measuring. */
  decisionRule: DecisionRuleName,
  steps: z.array(z.strictObject({ step: text, pass, row: text, title: text, leftOut: WordsShape.nullable() })),
})
export type JobHeader = z.infer<typeof JobHeader>

/** One captured value as the page showed it, with its evidence. */
export const KeptValue = z.strictObject({
  /** Number within the job, from 1; never used again. */
  number: z.int().positive(),
  pass,
  step: text,
  row: text,
  title: text,
  quantity,
  at: text,
  value: z.number(),
  digits: text,
  unit: text,
  band: text,
  verdict: z.enum(['inside', 'low', 'high', 'unread']),
  /** How it was come by. drifting: not at rest, but in its band for 15 s to come; short: in a key-down too brief to settle; highest: the largest seen, nothing claimed of rest; typed: read by a person. */
  label: z.enum(['settled', 'drifting', 'short', 'peaked', 'highest', 'typed']),
  count: z.number(),
  mean: z.number(),
  spread: z.number(),
  windowS: z.number(),
  /** Of a drifting one, in its SI unit per second. */
  slope: z.number().optional(),
  uncertainty: z.number(),
  /** Where the value lies with its doubt: against the tolerance band, and against the rule limit; null where there is none. */
  answer: AnswerName,
  limit: AnswerName,
  /** By the decision rule of the job, band and rule limit taken together. */
  accepted: z.boolean(),
  by: z.enum(['dwell', 'key', 'click', 'typed']),
  /** False once a later value of the same step and quantity was added. */
  latest: z.boolean(),
  /** The earlier job of the same set in which it was read; absent for one of this job. */
  from: text.optional(),
  /** Taken back by the person within five seconds: it stays written down and counts for nothing. */
  takenBack: z.literal(true).optional(),
  evidence: Evidence,
})
export type KeptValue = z.infer<typeof KeptValue>

/** Each line: its number from 0, the SHA-256 of the line before (64 zeros at first), the wall time. */
const place = { n: z.int().min(0), prev: sha256, at: text }

/** What an adjuster did to a quantity in this job and those before it: its unit per second of turning. */
export const LearnedEffect = z.strictObject({
  name: text,
  perS: z.number().positive(),
  clockwise: z.union([z.literal(1), z.literal(-1)]).nullable(),
  moves: z.int().positive(),
})

/** One line of a journal. */
export const JournalLine = z.discriminatedUnion('kind', [
  z.strictObject({ ...place, kind: z.literal('opened'), header: JobHeader }),
  z.strictObject({ ...place, kind: z.literal('captured'), ...KeptValue.shape }),
  z.strictObject({
    ...place,
    kind: z.literal('step'),
    step: text,
    pass,
    state: z.enum(['to do', 'done', 'out of band', 'left out']),
    reason: WordsShape,
  }),
  z.strictObject({
    ...place,
    kind: z.literal('setting'),
    name: text,
    column: z.enum(['found', 'job', 'left']),
    value: text,
    reason: text,
  }),
  z.strictObject({ ...place, kind: z.literal('answered'), question: WordsShape, answer: text }),
  z.strictObject({ ...place, kind: z.literal('taken back'), numbers: z.array(z.int().positive()).readonly() }),
  z.strictObject({ ...place, kind: z.literal('mark'), number: z.int().positive(), title: text, reading: WordsShape }),
  z.strictObject({ ...place, kind: z.literal('explained'), mark: z.int().positive(), words: text }),
  z.strictObject({ ...place, kind: z.literal('event'), what: text, words: WordsShape }),
  z.strictObject({ ...place, kind: z.literal('supply'), resting: z.enum(['normal', 'safe']), why: WordsShape }),
  z.strictObject({ ...place, kind: z.literal('resumed'), cut: z.int().min(0) }),
  z.strictObject({
    ...place,
    kind: z.literal('closed'),
    keyDownS: z.number(),
    why: WordsShape,
    effects: z.array(LearnedEffect).readonly().default([]),
  }),
])
export type JournalLine = z.infer<typeof JournalLine>

/** The sentence that every record carries. */
export const RECORD_SENTENCE =
  'Shows who recorded these readings and that they are unchanged. Not a certificate of calibration or conformity. Local rules and licensed practice decide.'

/** What is signed: a job folded from its journal. */
export const RecordPayload = z.strictObject({
  format: z.literal(1),
  kind: z.literal('alignment record'),
  sentence: z.literal(RECORD_SENTENCE),
  header: JobHeader,
  openedAt: text,
  closedAt: text,
  closed: WordsShape,
  keyDownS: z.number(),
  values: z.array(KeptValue),
  steps: z.array(
    z.strictObject({
      step: text,
      pass,
      row: text,
      title: text,
      state: z.enum(['to do', 'done', 'out of band', 'left out']),
      reason: WordsShape,
    }),
  ),
  settings: z.array(z.strictObject({ name: text, found: text, job: text, left: text, reason: text })),
  /** Moments that the person marked, and what was said of them afterwards. */
  marks: z
    .array(z.strictObject({ number: z.int().positive(), at: text, title: text, reading: WordsShape, words: text }))
    .default([]),
  answers: z.array(z.strictObject({ at: text, question: WordsShape, answer: text })),
  events: z.array(z.strictObject({ at: text, what: text, words: WordsShape })),
  /** Of the whole journal: the SHA-256 of its last line, and how many lines. */
  journal: z.strictObject({ head: sha256, lines: z.int().positive() }),
})
export type RecordPayload = z.infer<typeof RecordPayload>

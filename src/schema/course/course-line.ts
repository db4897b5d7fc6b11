import { z } from 'zod'
import { WordsShape } from '../kept/words.ts'
import { FromPage } from '../messages/live-frame.ts'

const id = z.int().positive()
const text = z.string()
/** Bench clock, ms. */
const at = z.number()
const sha256 = z.string().regex(/^[0-9a-f]{64}$/, 'a SHA-256 in small hex digits')

/** A file's text as it was read; `file` is a bare name. */
const TextFile = z.strictObject({ file: z.string().regex(/^[\w.-]{1,120}$/, 'the bare name of a file'), sha256, text })
export type TextFile = z.infer<typeof TextFile>

/** What went wrong: a fault of this program, a wait that was called off by whoever waited, or other words. */
export const Failure = z.union([
  z.strictObject({ code: text, who: text, happened: WordsShape }),
  z.strictObject({ calledOff: z.literal(true) }),
  z.strictObject({ words: WordsShape }),
])
export type Failure = z.infer<typeof Failure>

/** The first line: everything that was there before anything came. */
export const CourseHead = z.strictObject({
  kind: z.literal('head'),
  format: z.literal(1),
  program: text,
  startedAt: text,
  bench: TextFile,
  drivers: z.array(TextFile),
  procedures: z.array(TextFile),
  plans: z.array(TextFile),
  ruleCards: z.array(TextFile),
  wrongFiles: z.array(z.strictObject({ file: text, words: z.array(WordsShape) })),
  /** What the simulated bench printed. */
  addresses: z.record(z.string(), text),
  setPage: text.nullable(),
  openWithinMs: z.number().nonnegative(),
  /** Jobs were written down. */
  writesJobs: z.boolean(),
  atMs: at,
  wallMs: z.number(),
  /** null where time is made. */
  bootMs: z.number().nullable(),
})
export type CourseHead = z.infer<typeof CourseHead>

/** `wall` and `boot`, ms: where those clocks have moved against the bench clock since they were last said. */
const came = { at, wall: z.number().optional(), boot: z.number().optional() }

/** What came from outside, one at a time. `id`: what was asked for, or listened to. */
export const Came = [
  z.strictObject({ ...came, kind: z.literal('woke'), id }),
  z.strictObject({ ...came, kind: z.literal('done'), id, value: z.unknown() }),
  z.strictObject({ ...came, kind: z.literal('failed'), id, why: Failure }),
  z.strictObject({ ...came, kind: z.literal('heard'), id, value: z.unknown() }),
  z.strictObject({ ...came, kind: z.literal('request'), message: FromPage }),
  z.strictObject({ ...came, kind: z.literal('page'), present: z.boolean(), why: WordsShape }),
] as const

/** What the program did about it, in order, until the next thing came. */
export const Did = [
  z.strictObject({ kind: z.literal('open'), id, address: text }),
  /** Bytes as latin1 text; `id` where it was not taken at once. */
  z.strictObject({ kind: z.literal('send'), port: id, text, id: id.optional() }),
  z.strictObject({ kind: z.literal('shut'), port: id, id }),
  z.strictObject({ kind: z.literal('listen'), id, what: text }),
  /** An order to the keeper, or something asked of the journal. */
  z.strictObject({ kind: z.literal('ask'), id, what: text, about: z.unknown() }),
  z.strictObject({ kind: z.literal('see'), what: text, value: z.unknown() }),
  z.strictObject({
    kind: z.literal('answer'),
    id: text,
    ok: z.boolean(),
    words: WordsShape,
    asksBack: z.literal(true).optional(),
  }),
  /** `frame`: the first 16 hex digits of the SHA-256 of its JSON. */
  z.strictObject({ kind: z.literal('frame'), seq: z.int(), state: text, step: text, frame: text }),
] as const

/** Marks of the file itself. */
export const Marks = [
  /** A part begins; `prev` is the SHA-256 of the text of the part before. */
  z.strictObject({ kind: z.literal('part'), n: z.int().positive(), prev: sha256 }),
  /** The last line of a course that was not torn. */
  z.strictObject({ kind: z.literal('end'), at, why: text }),
] as const

export const CourseLine = z.discriminatedUnion('kind', [...Came, ...Did, ...Marks])
export type CourseLine = z.infer<typeof CourseLine>
export type CameLine = z.infer<(typeof Came)[number]>
export type DidLine = z.infer<(typeof Did)[number]>

const CAME: ReadonlySet<string> = new Set(['woke', 'done', 'failed', 'heard', 'request', 'page'])

/** Whether a line is something that came, so that what follows is what was done about it. */
export function isCame(line: CourseLine): line is CameLine {
  return CAME.has(line.kind)
}

import { z } from 'zod'
import { WordsShape } from '../kept/words.ts'

/** What the keeper says to its standby, one JSON object a line. */
export const KeeperToStandby = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('beat'),
    /** The supply's identity reply as proved in this run; "" before it was read. */
    identity: z.string(),
    /** The keeper has heard this standby within its last beats. */
    hears: z.boolean(),
  }),
  /** The keeper ends in order: output off and proved, the supply given back. */
  z.strictObject({ kind: z.literal('leaving') }),
])
export type KeeperToStandby = z.infer<typeof KeeperToStandby>

/** What a standby says to its keeper. */
export const StandbyToKeeper = z.strictObject({ kind: z.literal('beat') })
export type StandbyToKeeper = z.infer<typeof StandbyToKeeper>

/** What the service may say to a standby. */
export const ToStandby = z.strictObject({ verb: z.literal('take over'), why: WordsShape })
export type ToStandby = z.infer<typeof ToStandby>

/** What a standby says to the service, one JSON object a line. */
export const FromStandby = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('beat') }),
  /** It hears the keeper, and the keeper hears it. */
  z.strictObject({ kind: z.literal('watching') }),
  z.strictObject({ kind: z.literal('taking over'), why: WordsShape }),
  /** Not proved off so far; it goes on trying. */
  z.strictObject({ kind: z.literal('not proved'), words: WordsShape }),
  z.strictObject({ kind: z.literal('proved'), words: WordsShape }),
  /** Its last word. */
  z.strictObject({ kind: z.literal('ended'), proved: z.boolean(), words: WordsShape }),
])
export type FromStandby = z.infer<typeof FromStandby>

/** How a standby is started, beside what its keeper was started with. */
export const StandbyStart = z.strictObject({
  keeperPid: z.number().int().positive(),
  /** Watch the keeper first, or make safe at once, for this reason. */
  begin: z.union([z.literal('watching'), z.strictObject({ why: WordsShape })]),
  /** The supply's identity reply where it is known already; "" where not. */
  identity: z.string(),
})
export type StandbyStart = z.infer<typeof StandbyStart>

/** Who holds a supply, as written into its lease: one process at a time. */
export const LeaseHolder = z.strictObject({
  pid: z.number().int().positive(),
  /** When the process was started, in the system's words. */
  start: z.string(),
  role: z.enum(['keeper', 'standby']),
  /** The supply, in words. */
  who: z.string(),
})
export type LeaseHolder = z.infer<typeof LeaseHolder>

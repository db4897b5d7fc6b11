import { z } from 'zod'
import { WordsShape } from '../kept/words.ts'

const id = z.number().int().nonnegative()
/** The wish that an order serves: each is newer than all before it, and an order of a dead one is refused. */
const wish = z.number().int().positive()
/** The newest wish that the service knew of: it and all before it are dead from here on. */
const upTo = z.number().int().nonnegative()

/**
 * What the service may say to the keeper, one JSON object a line. Volts and amperes are at the supply's terminals.
 * `limits` may only lower the keeper's own ceiling; `set` is refused above it, and upward while the set is keyed.
 * `normal` and `off` end every wish so far; after `off` nothing is taken before the limits of a new wish.
 */
export const ToKeeper = z.discriminatedUnion('verb', [
  z.strictObject({ verb: z.literal('beat') }),
  z.strictObject({ verb: z.literal('state'), id }),
  z.strictObject({
    verb: z.literal('limits'),
    id,
    wish,
    /** Ceiling of any voltage asked for, the supply's own over-voltage trip, and the highest current limit. */
    ceilingVolts: z.number().positive(),
    tripVolts: z.number().positive(),
    ceilingAmps: z.number().positive(),
    /** Resting state after a step: normal voltage and the current limit for receive. */
    normalVolts: z.number().positive(),
    receiveAmps: z.number().positive(),
    /** At and above this supply current the set counts as keyed. */
    keyedAboveAmps: z.number().positive(),
  }),
  z.strictObject({ verb: z.literal('set'), id, wish, volts: z.number().nonnegative(), amps: z.number().positive() }),
  z.strictObject({ verb: z.literal('on'), id, wish }),
  /** The resting state "normal": normal voltage, receive limit. Down at once. */
  z.strictObject({ verb: z.literal('normal'), id, upTo, why: WordsShape }),
  /** The resting state "safe": output off, read back. */
  z.strictObject({ verb: z.literal('off'), id, upTo, why: WordsShape }),
])
export type ToKeeper = z.infer<typeof ToKeeper>

/** What the supply is doing, as measured by the supply itself. */
export const SupplyState = z.strictObject({
  /** Bench clock, ms: when the measurement was asked for and when the reply was complete. */
  beganMs: z.number(),
  atMs: z.number(),
  /** null where the supply could not be read. */
  volts: z.number().nullable(),
  amps: z.number().nullable(),
  rawAmps: z.string(),
  output: z.enum(['on', 'off', 'unknown']),
  /** Constant current means the limit rules and the voltage sags. */
  regulation: z.enum(['voltage', 'current', 'none', 'unknown']),
  tripped: z.boolean(),
  setVolts: z.number().nullable(),
  limitAmps: z.number().nullable(),
  /** Ramping towards a voltage that was asked for. */
  moving: z.boolean(),
  resting: z.enum(['normal', 'safe', 'working']),
})
export type SupplyState = z.infer<typeof SupplyState>

/** What the keeper says, one JSON object a line. */
export const FromKeeper = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('hello'), identity: z.string(), simulated: z.boolean(), pid: z.number().int() }),
  z.strictObject({ kind: z.literal('state'), state: SupplyState }),
  z.strictObject({ kind: z.literal('done'), id, state: SupplyState }),
  z.strictObject({ kind: z.literal('refused'), id, code: z.string(), words: WordsShape }),
  /** The keeper acted by itself: what it did and why. */
  z.strictObject({
    kind: z.literal('acted'),
    resting: z.enum(['normal', 'safe']),
    why: WordsShape,
    proved: z.boolean(),
    atMs: z.number(),
  }),
])
export type FromKeeper = z.infer<typeof FromKeeper>

/** How the keeper process is started: its only argument, as JSON. The ceiling is the bench file's and is never raised. */
export const KeeperStart = z.strictObject({
  who: z.string().min(1),
  address: z.string().min(1),
  /** Id of a driver that comes with the program, or the path of a driver file. */
  driver: z.string().min(1),
  /** Must stand in the identity reply, as in the bench file. */
  answersAs: z.string().nullable().optional(),
  ceilingVolts: z.number().positive(),
  ceilingAmps: z.number().positive(),
  /** Where the bench file's external crowbar trips; for a supply without a trip of its own. */
  crowbarVolts: z.number().positive().optional(),
  dataFolder: z.string().min(1),
  pace: z.strictObject({ times: z.number().positive(), originMs: z.number() }),
  /** Where leases and sockets of this user's keepers are; the system's folder for temporary files unless given. */
  runFolder: z.string().min(1).optional(),
  /** Where the keeper listens for its standby; without it there is none, and none is asked for. */
  socket: z.string().min(1).optional(),
})
export type KeeperStart = z.infer<typeof KeeperStart>

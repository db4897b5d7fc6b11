import { z } from 'zod'
import { QUANTITY_NAMES, type Quantity, UNITS, type Unit } from '../../quantity/quantity.ts'
import { WordsShape } from './words.ts'

const quantity = z.enum(QUANTITY_NAMES as readonly [Quantity, ...Quantity[]])
const unit = z.enum(UNITS as readonly [Unit, ...Unit[]])

/** How a value is accepted: in the band is in; in by at least its doubt; or said in four answers. */
export const DecisionRuleName = z.enum(['simple acceptance', 'guarded acceptance', 'four answers'])

/** Where a value with its doubt lies, best first; null for a peak without a band, or no rule limit. */
export const AnswerName = z.enum(['in and clear', 'in but touching', 'out but touching', 'out and clear']).nullable()

/** One reading as it came: the raw reply, when it was asked for and when it was complete (bench clock, ms), what the driver's row read in it. */
export const KeptReading = z.strictObject({
  raw: z.string(),
  beganMs: z.number(),
  arrivedMs: z.number(),
  epoch: z.number(),
  /** At the meter, in the unit of the quantity. */
  value: z.number(),
  parts: z.array(z.number()).optional(),
  /** A lone spike: it counts for nothing (settling 2 and later). */
  spike: z.literal(true).optional(),
})
export type KeptReading = z.infer<typeof KeptReading>

/** What a value was held against. null: open on that side. */
export const KeptGoal = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('band'),
    low: z.number().nullable(),
    high: z.number().nullable(),
    aim: z.number().nullable(),
    /** Aim window; null where it is open. */
    aimLow: z.number().nullable(),
    aimHigh: z.number().nullable(),
    ruleLow: z.number().nullable(),
    ruleHigh: z.number().nullable(),
  }),
  z.strictObject({ kind: z.literal('peak'), dip: z.boolean() }),
])
export type KeptGoal = z.infer<typeof KeptGoal>

/** The meter as the driver's row and the bench file described it. */
export const KeptFacts = z.strictObject({
  quantity,
  unit,
  instrument: z.string(),
  /** Which of several meters of the quantity; absent where the bench file says none. */
  role: z.string().optional(),
  driver: z.string(),
  /** Normal time from one reading to the next, and from a change to a reading that shows it, ms. */
  everyMs: z.number(),
  latencyMs: z.number(),
  /** How long after key-down the meter reads rubbish, ms (a modulation meter: 1000). 0: no rule of its own. */
  recoverMs: z.number(),
  /** Gate of a counter, ms; 0 for other meters. A counter counts from the first gate that began after a change. */
  gateMs: z.number(),
  /** Smallest step shown, in the unit of the quantity, at the meter (before path loss). */
  step: z.number(),
  /** Usual standard deviation of one reading: relative to the reading, and a floor in the unit of the quantity. */
  noise: z.strictObject({ ofReading: z.number(), floor: z.number() }),
  /** Lag-1 correlation of a smoothed meter, 0 to 0.95. */
  smoothing: z.number(),
  /** Limits of error of the meter, from its data sheet: relative to the reading, and a floor in the unit of the quantity. */
  accuracy: z.strictObject({ ofReading: z.number(), floor: z.number() }),
  /** dB between the set and the meter; a reading at the meter is multiplied by 10^(loss/10). 0 where there is none. */
  pathLossDb: z.number(),
  /** Within how many dB the loss is known, either way; absent where nobody said. */
  pathLossUncertaintyDb: z.number().optional(),
  /** Standing wave ratios that a power is reckoned with, of the set and of what it is plugged into; absent where nobody said. */
  vswr: z.strictObject({ set: z.number(), meter: z.number() }).optional(),
  /** Input resistance, ohm; null where it does not matter. */
  inputOhms: z.number().nullable(),
  /** Whether the input is isolated from the computer link; yes wherever that cannot short anything. */
  inputIsolated: z.enum(['yes', 'no', 'unknown']),
  /** Read by a person and typed in. */
  typed: z.boolean(),
})
export type KeptFacts = z.infer<typeof KeptFacts>

/** What was demanded and what was so while the value was captured. Volts at the set's plug, amperes from the supply. */
export const KeptConditions = z.strictObject({
  wantedVolts: z.number().nullable(),
  plugVolts: z.number().nullable(),
  amps: z.number().nullable(),
  channelWanted: z.number().nullable(),
  /** From the counter; null in receive. */
  channelSeen: z.number().nullable(),
  mode: z.string(),
  /** "1 kHz at 30 mV", "" without a tone. */
  tone: WordsShape,
  state: z.enum(['receive', 'transmit']),
  /** Seconds of this key-down so far. */
  keyDownS: z.number(),
})

/** Everything a captured value and its verdict can be recomputed from. */
export const Evidence = z.strictObject({
  facts: KeptFacts,
  /** In series with a voltmeter at this point, ohm; 0 for none. */
  seriesOhms: z.number(),
  goal: KeptGoal,
  /** What the verdict was given against where it is not `goal`: the expected range of a peak. */
  judgedAgainst: KeptGoal.nullable(),
  /** How it was accepted, chosen before measuring. */
  decision: DecisionRuleName,
  technique: z.enum(['set', 'peak', 'dip', 'check', 'highest']),
  readings: z.array(KeptReading),
  /** Each correction from meter to set in words with its factor. */
  correction: z.array(z.string()),
  slope: z.number().nullable(),
  /** How many of the readings were spikes; before settling 2 a median stood in for each, the newest too. */
  replaced: z.number(),
  conditions: KeptConditions,
  /** Version of each algorithm that the figures come from (`src/core/reading/algorithms.ts`); a record from before versions were named has none. */
  algorithms: z.record(z.string(), z.int().min(0)).optional(),
})
export type Evidence = z.infer<typeof Evidence>

import { z } from 'zod'
import { type Quantity, type Unit, unitOf } from '../../quantity/quantity.ts'
import { duration, oneOf, oneOrList, plainNumber, quantityText, wholeNumber, words } from '../door/fields.ts'
import { readRowUnit, toKept } from './row-unit.ts'

/** What a driver can set, and the unit it is kept in; null: a switch with the states on and off. */
export const SETTINGS = {
  'DC voltage': 'V',
  'DC current': 'A',
  'over-voltage trip': 'V',
  frequency: 'Hz',
  'RF level': 'V',
  'audio tone': 'Hz',
  'audio level': 'V',
  'FM deviation': 'Hz',
  'AM depth': 'ratio',
  output: null,
  'RF output': null,
} as const satisfies Record<string, Unit | null>
export type SettingName = keyof typeof SETTINGS

/** What a driver can say of an instrument that is not a quantity, and the words it may say. */
export const STATES = {
  regulation: ['voltage', 'current'],
  tripped: ['yes', 'no'],
} as const satisfies Record<string, readonly string[]>
export type StateName = keyof typeof STATES

const READING_STATES = ['good', 'over', 'under', 'not a number', 'blank', 'no signal', 'stale', 'unreadable'] as const

const message = words(255)
const rawText = z.union([z.string().max(255), z.number()]).transform(String)
const page = words(80)
/** "2 of 4": the second of four values with commas between them. */
const fieldOf = words(10).transform((text, ctx) => {
  const match = /^(\d) of (\d)$/.exec(text)
  const place = { use: Number(match?.[1]), of: Number(match?.[2]) }
  if (place.use >= 1 && place.use <= place.of) return place
  ctx.addIssue({ code: 'custom', message: `read "${text}"; expected a place like 2 of 4` })
  return z.NEVER
})

/** Characters of a reply of fixed width, counted from 1: "4 .. 9", or "1" for a single one. */
const columns = words(10).transform((text, ctx) => {
  const match = /^(\d{1,3})(?:\s*\.\.\s*(\d{1,3}))?$/.exec(text)
  const place = { from: Number(match?.[1]), to: Number(match?.[2] ?? match?.[1]) }
  if (place.from >= 1 && place.from <= place.to) return place
  ctx.addIssue({ code: 'custom', message: `read "${text}"; expected columns like 4 .. 9, counted from 1` })
  return z.NEVER
})

/** A reply of fixed width: which columns hold the status letter, the number and the unit. What stands elsewhere is not looked at. */
function fixedReply(unit: Unit) {
  return z
    .strictObject({
      /** Characters of the whole reply; one of another length is unreadable. */
      length: wholeNumber(2, 255),
      status: columns.optional(),
      number: columns,
      unit: columns.optional(),
      /** What each status letter says of the number. One that is not here is unreadable. */
      letters: z.record(z.string().min(1), oneOf(READING_STATES)).default({}),
      /** What may stand in the unit's columns, and the unit that it means. */
      units: z.record(z.string().min(1), spokenUnit(unit)).default({}),
    })
    .superRefine((fixed, ctx) => {
      const refuse = (field: string, message: string) => ctx.addIssue({ code: 'custom', path: [field], message })
      const last = { status: fixed.status?.to ?? 0, number: fixed.number.to, unit: fixed.unit?.to ?? 0 }
      for (const [field, to] of Object.entries(last))
        if (to > fixed.length) refuse(field, `ends at column ${to}; the reply has ${fixed.length}`)
      const letters = Object.entries(fixed.letters)
      if (fixed.status && !letters.some(([, state]) => state === 'good'))
        refuse('letters', 'needs the letter of a good number, for example { N: good, O: over }')
      if (!fixed.status && letters.length > 0) refuse('letters', 'needs the columns of the "status" letter')
      if (fixed.unit && Object.keys(fixed.units).length === 0)
        refuse('units', `needs what may stand in the columns of the unit, for example { ${unit}: ${unit} }`)
      if (!fixed.unit && Object.keys(fixed.units).length > 0) refuse('units', 'needs the columns of the "unit"')
      refuseWidth(fixed.status, fixed.letters, 'letters', refuse)
      refuseWidth(fixed.unit, fixed.units, 'units', refuse)
    })
    .transform((fixed) => ({
      length: fixed.length,
      status: fixed.status ?? null,
      number: fixed.number,
      unit: fixed.unit ?? null,
      letters: fixed.letters,
      units: fixed.units,
    }))
}

/** What is looked for has to fit where it is looked for. */
function refuseWidth(
  place: { readonly from: number; readonly to: number } | undefined,
  table: Readonly<Record<string, unknown>>,
  field: string,
  refuse: (field: string, message: string) => void,
): void {
  const width = place ? place.to - place.from + 1 : 0
  for (const key of place ? Object.keys(table) : [])
    if (key.trim() !== key || key.length > width)
      refuse(field, `"${key}" does not fit into ${width} ${width === 1 ? 'column' : 'columns'}`)
}

/** "{ of reading: 2.5 %, and: 0.02 W }": a share of the reading and a floor that is added to it. */
function errorLimits(unit: Unit) {
  return z
    .strictObject({
      'of reading': quantityText('ratio', { least: 0, most: 1 }).optional(),
      and: quantityText(unit, { least: 0 }).optional(),
    })
    .transform((limits) => ({ ofReading: limits['of reading'] ?? 0, floor: limits.and ?? 0 }))
}

function spokenUnit(unit: Unit) {
  return words(12).transform((text, ctx) => {
    const parsed = readRowUnit(text, unit)
    if (parsed.ok) return parsed.value
    ctx.addIssue({ code: 'custom', message: parsed.refused })
    return z.NEVER
  })
}

function sample(unit: Unit) {
  const plain = quantityText(unit)
  const value = words(40).transform((text, ctx) => {
    const state = READING_STATES.find((name) => name === text)
    if (state) return { state, value: null }
    const parsed = plain.safeParse(text)
    if (parsed.success) return { state: 'good' as const, value: parsed.data }
    ctx.addIssue({ code: 'custom', message: parsed.error.issues[0]?.message ?? 'is not a value' })
    return z.NEVER
  })
  return z.strictObject({ reply: rawText, value: oneOrList(value) })
}

/** One quantity that an instrument reads. Numbers in the unit of the quantity, times in ms. */
export function readingRow(quantity: Quantity) {
  const unit = unitOf(quantity)
  return z
    .strictObject({
      ask: message.optional(),
      /** Told first when the instrument was last asked for something else. */
      select: oneOrList(message).default([]),
      /** Of a box that is several instruments, one at a time: which of its functions reads this. */
      function: words(40).optional(),
      reply: words(40).default('number'),
      field: fieldOf.optional(),
      /** Goes with "reply: fixed". */
      fixed: fixedReply(unit).optional(),
      unit: spokenUnit(unit),
      /** Written behind the number in the reply. */
      'unit after': words(12).optional(),
      scale: plainNumber().default(1),
      /** What lies outside was never measured: an answer to another question. */
      least: quantityText(unit).optional(),
      most: quantityText(unit).optional(),
      takes: duration(),
      every: duration({ least: 0.001 }),
      gate: duration().default(0),
      recovers: duration().default(0),
      step: quantityText(unit, { least: 0 }),
      noise: errorLimits(unit),
      smoothing: plainNumber({ least: 0, most: 0.95 }).default(0),
      accuracy: errorLimits(unit),
      'input resistance': quantityText('ohm', { least: 0 }).optional(),
      tokens: z.record(z.string().min(1), oneOf(READING_STATES).exclude(['good'])).default({}),
      sample: oneOrList(sample(unit)).default([]),
      page,
    })
    .refine((row) => row.reply === 'number' || row.field === undefined, {
      path: ['field'],
      error: 'goes with "reply: number" only',
    })
    .refine((row) => (row.reply === 'fixed') === (row.fixed !== undefined), {
      path: ['fixed'],
      error:
        'goes with "reply: fixed", and that needs it: { length: 10, status: 1, number: 4 .. 9, letters: { N: good } }',
    })
    .transform((row) => ({
      quantity,
      unit,
      ask: row.ask ?? null,
      select: row.select,
      function: row.function ?? null,
      reply: row.reply,
      field: row.field ?? null,
      fixed: row.fixed ?? null,
      spoken: row.unit,
      unitAfter: row['unit after'] ?? null,
      scale: row.scale,
      least: row.least ?? -Infinity,
      most: row.most ?? Infinity,
      takesMs: row.takes,
      everyMs: row.every,
      gateMs: row.gate,
      recoversMs: row.recovers,
      step: row.step,
      noise: row.noise,
      smoothing: row.smoothing,
      accuracy: row.accuracy,
      inputOhms: row['input resistance'] ?? null,
      tokens: row.tokens,
      samples: row.sample,
      page: row.page,
    }))
}
export type ReadingRow = z.infer<ReturnType<typeof readingRow>>

const onOff = oneOf(['on', 'off'])

/** A value that is set: told with {value} in fixed decimals, read back, with a sample of both. */
export function valueRow(name: SettingName, unit: Unit) {
  return z
    .strictObject({
      tell: placeholder(),
      unit: spokenUnit(unit),
      decimals: wholeNumber(0, 9),
      least: quantityText(unit),
      most: quantityText(unit),
      /** The instrument's own setting step; what it reads back may differ by that. */
      step: quantityText(unit, { least: 0 }).optional(),
      takes: duration().default(0),
      'read back': message.optional(),
      sample: z.strictObject({ value: quantityText(unit), message, reply: rawText.optional() }),
      page,
    })
    .transform((row, ctx) => {
      if (row.least >= row.most) ctx.addIssue({ code: 'custom', path: ['least'], message: 'must lie below "most"' })
      demandReply(row['read back'], row.sample.reply, ctx)
      return {
        kind: 'value' as const,
        name,
        unit,
        tell: row.tell,
        spoken: row.unit,
        decimals: row.decimals,
        least: row.least,
        most: row.most,
        step: Math.max(row.step ?? 0, toKept(row.unit, 10 ** -row.decimals)),
        takesMs: row.takes,
        readBack: row['read back'] ?? null,
        sample: { value: row.sample.value, message: row.sample.message, reply: row.sample.reply ?? null },
        page: row.page,
      }
    })
}
export type ValueRow = z.infer<ReturnType<typeof valueRow>>

/** A switch: what to write for on and for off, and what the read back answers for each. */
export function switchRow(name: SettingName) {
  return z
    .strictObject({
      tell: placeholder(),
      says: z.strictObject({ on: words(20), off: words(20) }),
      answers: z.record(z.string().min(1), onOff).default({}),
      takes: duration().default(0),
      'read back': message.optional(),
      sample: z.strictObject({ value: onOff, message, reply: rawText.optional() }),
      page,
    })
    .transform((row, ctx) => {
      demandReply(row['read back'], row.sample.reply, ctx)
      return {
        kind: 'switch' as const,
        name,
        tell: row.tell,
        says: row.says,
        answers: row.answers,
        takesMs: row.takes,
        readBack: row['read back'] ?? null,
        sample: { value: row.sample.value, message: row.sample.message, reply: row.sample.reply ?? null },
        page: row.page,
      }
    })
}
export type SwitchRow = z.infer<ReturnType<typeof switchRow>>
export type SettingRow = ValueRow | SwitchRow

function placeholder() {
  return message.refine((text) => text.split('{value}').length === 2, {
    params: { expected: 'a message with {value} in it once' },
  })
}

function demandReply(readBack: string | undefined, reply: string | undefined, ctx: z.RefinementCtx): void {
  if (readBack !== undefined && reply === undefined)
    ctx.addIssue({
      code: 'custom',
      path: ['sample'],
      message: 'needs a "reply" that the read back gives for this value',
    })
}

/** A state in words: one bit of a status register, or a table of answers. */
export function stateRow(name: StateName) {
  const word = oneOf(STATES[name])
  return z
    .strictObject({
      ask: message,
      bit: z.strictObject({ number: wholeNumber(0, 15), set: word, clear: word }).optional(),
      answers: z.record(z.string().min(1), word).optional(),
      sample: oneOrList(z.strictObject({ reply: rawText, value: word })),
      page,
    })
    .transform((row, ctx) => {
      if ((row.bit === undefined) === (row.answers === undefined))
        ctx.addIssue({ code: 'custom', message: 'needs either "bit" or "answers"' })
      return {
        name,
        ask: row.ask,
        bit: row.bit ?? null,
        answers: row.answers ?? {},
        samples: row.sample,
        page: row.page,
      }
    })
}
export type StateRow = z.infer<ReturnType<typeof stateRow>>

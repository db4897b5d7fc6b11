import { z } from 'zod'
import { QUANTITY_NAMES, type Quantity } from '../../quantity/quantity.ts'
import { duration, formatOne, lineEnd, oneOf, oneOrList, wholeNumber, words, yesNo } from '../door/fields.ts'
import { nearest } from '../door/nearest.ts'
import {
  type ReadingRow,
  readingRow,
  SETTINGS,
  type SettingName,
  type SettingRow,
  STATES,
  type StateName,
  type StateRow,
  stateRow,
  switchRow,
  valueRow,
} from './driver-rows.ts'
import { SettingsStand } from './settings-stand.ts'
import { unguarded } from './sources.ts'

const message = words(255)
const none = z.literal('none')
const driverId = z
  .string()
  .regex(/^[a-z0-9][a-z0-9-]{0,39}$/, 'small letters, digits and hyphens, for example power-meter-scpi')

const pauses = {
  /** After each message before the next. */
  pause: duration().optional(),
  /** Deaf time after opening. */
  settle: duration().optional(),
  /** Silence that ends a discard. */
  quiet: duration().optional(),
}

/** Usual pauses where a file names none: a network socket, and a serial line (20 characters at 9600 baud are 20 ms). */
const NETWORK = { pause: 0, settle: 0, quiet: 50 } as const
const SERIAL = { pause: 50, settle: 200, quiet: 150 } as const

const Link = z
  .strictObject({
    'question ends': lineEnd().default('\n'),
    'reply ends': lineEnd().default('\n'),
    'reply within': duration({ least: 0.01, most: 600 }),
    ...pauses,
    'on a serial line': z.strictObject(pauses).default({}),
    'longest message': wholeNumber(16, 65_536).default(255),
    'after a missed reply': oneOf(['sentinel', 'identity', 'drain', 'reopen']),
    clear: z.union([none, message]).default('none'),
    errors: z.union([none, message]).default('none'),
    /** Several questions go with semicolons between them, and so do their replies, in one line (IEEE 488.2). */
    'questions in one message': yesNo().default(false),
  })
  .transform((link) => {
    const pausesOf = (
      usual: typeof NETWORK | typeof SERIAL,
      given: { pause?: number | undefined; settle?: number | undefined; quiet?: number | undefined },
    ) => ({
      gapMs: given.pause ?? link.pause ?? usual.pause,
      settleMs: given.settle ?? link.settle ?? usual.settle,
      quietMs: given.quiet ?? link.quiet ?? usual.quiet,
    })
    return {
      sendEnd: link['question ends'],
      replyEnd: link['reply ends'],
      replyWithinMs: link['reply within'],
      onNetwork: pausesOf(NETWORK, {}),
      onSerial: pausesOf(SERIAL, link['on a serial line']),
      longestMessage: link['longest message'],
      resync: link['after a missed reply'],
      clear: link.clear === 'none' ? null : link.clear,
      errorsAsk: link.errors === 'none' ? null : link.errors,
      joins: link['questions in one message'],
    }
  })
export type DriverLink = z.infer<typeof Link>

const Identify = z
  .strictObject({
    ask: message,
    /** * stands for anything, ? for one character. */
    'looks like': oneOrList(words(100)),
    /** The reply is another one each time (a reading): only its look tells that the right instrument is there. */
    'differs each time': yesNo().default(false),
  })
  .transform((identify) => ({
    ask: identify.ask,
    looksLike: identify['looks like'],
    differs: identify['differs each time'],
  }))

/** One of the instruments that a box is, of which it is one at a time. */
const BoxFunction = z
  .strictObject({
    select: oneOrList(message),
    /** From the message to readings that count. */
    takes: duration({ least: 0, most: 60 }),
    /** Asked after each reading: a box that was turned by hand meanwhile says so. */
    'read back': message.optional(),
    answers: oneOrList(words(40)).optional(),
    /** Where the manual says that the first reading after the change is a new one. Without it the first one is thrown away. */
    'first reading is new': words(80).optional(),
    page: words(80),
  })
  .refine((one) => (one['read back'] === undefined) === (one.answers === undefined), {
    path: ['answers'],
    error: '"read back" and "answers" go together: the question, and what is answered in this function',
  })
  .transform((one) => ({
    select: one.select,
    takesMs: one.takes,
    readBack: one['read back'] ?? null,
    answers: one.answers ?? [],
    firstIsNew: one['first reading is new'] !== undefined,
    page: one.page,
  }))
const functionName = z.string().regex(/^[a-z][a-z0-9 -]{0,39}$/, 'a name in small letters, for example power')

/** One optional row for each name, as a list of the rows that are there. */
function rowsBy<N extends string, T extends z.ZodType>(names: readonly N[], row: (name: N) => T) {
  const shape: Record<string, z.ZodOptional<T>> = {}
  for (const name of names) shape[name] = z.optional(row(name))
  return z.strictObject(shape).transform((rows) => Object.values(rows))
}

const settingNames = Object.keys(SETTINGS) as SettingName[] // the keys of a constant table
const stateNames = Object.keys(STATES) as StateName[] // the keys of a constant table

function settingRow(name: SettingName): z.ZodType<SettingRow> {
  const unit = SETTINGS[name]
  return unit === null ? switchRow(name) : valueRow(name, unit)
}

/** A driver: how to talk to an instrument, as a table. Times in ms, values in the unit of their quantity. */
export const DriverFile = z
  .strictObject({
    format: formatOne(),
    driver: driverId,
    title: words(),
    manual: words(300),
    /** Read by a person and typed in: no link, nothing to ask. */
    typed: yesNo().default(false),
    /** Feeds the set: only the keeper talks to it. */
    supply: yesNo().default(false),
    identify: z.union([none, Identify]).default('none'),
    link: Link.optional(),
    start: oneOrList(message).default([]),
    stop: oneOrList(message).default([]),
    /** What shows that the start messages are still in force: asked with each reading, at each sign of life, and after a pause. */
    'settings stand when': SettingsStand.optional(),
    /** Of a supply: what switches its output off without asking anything first (remote, select, off). */
    'make safe': oneOrList(message).optional(),
    /** Of a supply with several outputs: joined in front of every message and question, so that a key at the panel cannot turn them to another output. */
    select: message.optional(),
    /** A box that is several instruments, one at a time. */
    functions: z.record(functionName, BoxFunction).default({}),
    readings: rowsBy<Quantity, z.ZodType<ReadingRow>>(QUANTITY_NAMES, readingRow).default([]),
    settings: rowsBy<SettingName, z.ZodType<SettingRow>>(settingNames, settingRow).default([]),
    states: rowsBy<StateName, z.ZodType<StateRow>>(stateNames, stateRow).default([]),
  })
  .transform((file, ctx) => {
    const refuse = (path: string[], words: string) => ctx.addIssue({ code: 'custom', path, message: words })
    const readings = present(file.readings)
    const settings = present(file.settings)
    const states = present(file.states)
    if (!file.typed && !file.link) refuse([], 'needs a "link" part, or "typed: yes"')
    if (file.typed && file.link) refuse(['link'], 'does not go with "typed: yes"')
    if (file.link?.resync === 'identity' && file.identify === 'none')
      refuse(['link', 'after a missed reply'], 'identity needs an "identify" part')
    if (file.link?.resync === 'identity' && file.identify !== 'none' && file.identify.differs)
      refuse(['link', 'after a missed reply'], 'identity needs a reply that is always the same; write drain or reopen')
    const functions = Object.entries(file.functions).map(([name, one]) => ({ name, ...one }))
    refuseUnfitFunctions(functions, readings, refuse)
    if (readings.length + settings.length === 0) refuse([], 'needs at least one row under "readings" or "settings"')
    for (const row of readings) {
      if (file.typed && row.ask !== null) refuse(['readings', row.quantity, 'ask'], 'does not go with "typed: yes"')
      if (!file.typed && row.ask === null) refuse(['readings', row.quantity], 'needs an "ask"')
      if (!file.typed && row.samples.length === 0)
        refuse(['readings', row.quantity], 'needs a "sample" with a reply and its value')
    }
    if (file['settings stand when'] && (file.supply || file.typed))
      refuse(['settings stand when'], 'goes with a meter or a source on a link; what a supply is set to is read back')
    for (const { path, words } of unguarded({ settings, start: file.start, stop: file.stop })) refuse(path, words)
    if (file.supply) refuseUnfitSupply({ readings, settings, states }, refuse)
    const off = offMessage(settings)
    const select = file.select ?? null
    if (select !== null && !file.supply) refuse(['select'], 'goes with "supply: yes" only')
    if (file.supply && file.start.some((text) => SELECTION.test(text))) refuse(['start'], OUTPUT_IN_START)
    const makeSafe = file['make safe'] ?? (file.supply && off !== null ? [off] : [])
    if (file['make safe'] && !file.supply) refuse(['make safe'], 'goes with "supply: yes" only')
    else if (file['make safe'] && off !== null && !file['make safe'].at(-1)?.endsWith(off))
      refuse(['make safe'], `its last message must be the one that switches the output off: ${off}`)
    return {
      id: file.driver,
      title: file.title,
      manual: file.manual,
      typed: file.typed,
      supply: file.supply,
      identify: file.identify === 'none' ? null : file.identify,
      link: file.link ?? null,
      start: file.start,
      stop: file.stop,
      stand: file['settings stand when'] ?? null,
      makeSafe:
        select === null ? makeSafe : makeSafe.map((text) => (text.endsWith(off ?? text) ? joined(select, text) : text)),
      functions,
      readings:
        select === null ? readings : readings.map((row) => ({ ...row, ask: row.ask && joined(select, row.ask) })),
      settings: select === null ? settings : settings.map((row) => selecting(select, row)),
      states: select === null ? states : states.map((row) => ({ ...row, ask: joined(select, row.ask) })),
    }
  })
export type DriverFile = z.infer<typeof DriverFile>

/** A driver in a record is read for one thing: how its replies are understood. What else stands there, and rules made for files since, are not asked of it. */
export const RecordedDriver = z
  .looseObject({
    typed: yesNo().default(false),
    readings: rowsBy<Quantity, z.ZodType<ReadingRow>>(QUANTITY_NAMES, readingRow).default([]),
  })
  .transform(({ typed, readings }) => ({ typed, readings: present(readings) }))
export type RecordedDriver = z.infer<typeof RecordedDriver>

/** Messages that choose an output or channel (SCPI 1999, INSTrument:SELect and :NSELect, and the ways of older instruments). */
const SELECTION =
  /(^|;\s*:?|^:)(INST(RUMENT)?(:N?SEL(ECT)?)?|OUTP(UT)?:(N?SEL(ECT)?|CHAN(NEL)?)|CHAN(NEL)?(:SEL(ECT)?)?)\s+\S/i
const OUTPUT_IN_START =
  'chooses the output at the start only, and a key at the panel chooses another: write it as "select:", which stands in front of every message'

function joined(select: string, text: string): string {
  return `${select};${text.startsWith(':') || text.startsWith('*') ? '' : ':'}${text}`
}

function selecting(select: string, row: SettingRow): SettingRow {
  const readBack = row.readBack && joined(select, row.readBack)
  const tell = joined(select, row.tell)
  const message = joined(select, row.sample.message)
  return row.kind === 'value'
    ? { ...row, tell, readBack, sample: { ...row.sample, message } }
    : { ...row, tell, readBack, sample: { ...row.sample, message } }
}

function offMessage(settings: readonly SettingRow[]): string | null {
  const row = settings.find((setting) => setting.name === 'output')
  return row?.kind === 'switch' ? row.tell.replace('{value}', row.says.off) : null
}

function present<T>(rows: readonly (T | undefined)[]): readonly T[] {
  return rows.filter((row) => row !== undefined)
}

/** Each row of such a box names one of its functions, and each function has a row. */
function refuseUnfitFunctions(
  functions: readonly { readonly name: string }[],
  readings: readonly ReadingRow[],
  refuse: (path: string[], words: string) => void,
): void {
  const names = functions.map(({ name }) => name)
  const listed = names.join(', ')
  for (const row of readings) {
    const path = ['readings', row.quantity, 'function']
    if (names.length === 0) {
      if (row.function !== null) refuse(path, 'the driver has no "functions" part that says how it is selected')
    } else if (row.function === null) {
      refuse(['readings', row.quantity], `needs a "function"; the box has: ${listed}`)
    } else if (!names.includes(row.function)) {
      const near = nearest(row.function, names)
      refuse(path, `read "${row.function}"; ${near ? `did you mean "${near}"?` : `the box has: ${listed}`}`)
    }
  }
  for (const name of names)
    if (!readings.some((row) => row.function === name)) refuse(['functions', name], 'no row under "readings" uses it')
}

/** What the keeper must be able to set, read back and see before it trusts a supply with a radio. One without a trip of its own is taken: it is only not raised. */
function refuseUnfitSupply(
  rows: {
    readonly readings: readonly ReadingRow[]
    readonly settings: readonly SettingRow[]
    readonly states: readonly StateRow[]
  },
  refuse: (path: string[], words: string) => void,
): void {
  for (const quantity of ['DC voltage', 'DC current'] as const)
    if (!rows.readings.some((row) => row.quantity === quantity))
      refuse(['readings'], `a supply needs the row "${quantity}"`)
  for (const name of ['DC voltage', 'DC current', 'over-voltage trip', 'output'] as const) {
    const row = rows.settings.find((setting) => setting.name === name)
    if (!row && name === 'over-voltage trip') continue
    if (!row) refuse(['settings'], `a supply needs the row "${name}"`)
    else if (row.readBack === null) refuse(['settings', name], 'a supply needs a "read back" here')
  }
  const trips = rows.settings.some((setting) => setting.name === 'over-voltage trip')
  if (trips && !rows.states.some((row) => row.name === 'tripped'))
    refuse(['states'], 'a supply with an over-voltage trip needs the row "tripped"')
}

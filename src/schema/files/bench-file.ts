import { z } from 'zod'
import {
  calendarDay,
  formatOne,
  oneOf,
  oneOrList,
  plainNumber,
  quantityName,
  quantityText,
  roleName,
  words,
  yesNo,
} from '../door/fields.ts'
import { SOURCE_NAMES } from './sources.ts'

const instrumentName = z.string().regex(/^[a-z][a-z0-9-]{0,23}$/, 'a short name in small letters, for example counter')
const driverId = z.string().regex(/^[a-z0-9][a-z0-9-]{0,39}$/, 'the name of a file in drivers/ without .yaml')

/** How an instrument is reached; `simulated`: at the address that the simulated bench prints for the same name. */
const address = z.string().regex(/^(?:tcp:\/\/\S+|serial:\S+|memory:\S+|simulated)$/, {
  error: 'expected tcp://HOST:PORT, serial:PATH?baud=9600 or simulated',
})

const AccuracyText = z.strictObject({
  'of reading': quantityText('ratio', { least: 0, most: 1 }).optional(),
  and: words(40).optional(),
})

const Entry = z
  .strictObject({
    driver: driverId,
    at: address.optional(),
    /** What a typed-in meter measures. */
    quantity: quantityName().optional(),
    /** Narrows an instrument that could measure more, or that another one measures better. */
    measures: oneOrList(quantityName()).optional(),
    /** Which of several meters of its quantities this one is; a step says which it means. */
    role: roleName().optional(),
    /** The same of what it makes: an oscillator that stays dark beside another one has "none". */
    makes: oneOrList(oneOf(['none', ...SOURCE_NAMES])).optional(),
    'answers as': words(100).optional(),
    'path loss': quantityText('dB', { least: -20, most: 100 }).optional(),
    /** Within how much, either way, the path loss is known. */
    'path loss within': quantityText('dB', { least: 0, most: 10 }).optional(),
    /** Standing wave ratios to reckon a power with: of the set's socket, and of what it is plugged into. */
    vswr: z
      .strictObject({ set: plainNumber({ least: 1, most: 20 }), meter: plainNumber({ least: 1, most: 20 }) })
      .optional(),
    calibrated: z.strictObject({ due: calendarDay(), certificate: words(80).optional() }).optional(),
    accuracy: AccuracyText.optional(),
    'input resistance': quantityText('ohm', { least: 1 }).optional(),
    'input isolated from link': z.union([yesNo(), z.literal('unknown')]).optional(),
    limits: z
      .strictObject({
        voltage: quantityText('V', { least: 0.1, most: 100 }),
        current: quantityText('A', { least: 0.01, most: 100 }),
      })
      .optional(),
    /** Outside the supply, where that has no over-voltage trip of its own. */
    crowbar: z
      .strictObject({ 'trips at': quantityText('V', { least: 0.1, most: 110 }), tried: calendarDay() })
      .optional(),
    'supply lead': quantityText('ohm', { least: 0, most: 2 }).optional(),
  })
  .transform((entry) => ({
    driver: entry.driver,
    /** null: read by a person. */
    at: entry.at ?? null,
    quantity: entry.quantity ?? null,
    measures: entry.measures ?? null,
    role: entry.role ?? null,
    makes: entry.makes?.filter((made) => made !== 'none') ?? null,
    answersAs: entry['answers as'] ?? null,
    pathLossDb: entry['path loss'] ?? null,
    pathLossUncertaintyDb: entry['path loss within'] ?? null,
    vswr: entry.vswr ?? null,
    calibrationDue: entry.calibrated?.due ?? null,
    certificate: entry.calibrated?.certificate ?? null,
    accuracy: entry.accuracy ? { ofReading: entry.accuracy['of reading'] ?? 0, and: entry.accuracy.and ?? null } : null,
    inputOhms: entry['input resistance'] ?? null,
    inputIsolated: isolation(entry['input isolated from link']),
    limits: entry.limits ? { ceilingVolts: entry.limits.voltage, ceilingAmps: entry.limits.current } : null,
    /** Volts at which it trips, and the day on which somebody tried it. */
    crowbar: entry.crowbar ? { tripsAtVolts: entry.crowbar['trips at'], tried: entry.crowbar.tried } : null,
    supplyLeadOhms: entry['supply lead'] ?? 0,
  }))

function isolation(written: boolean | 'unknown' | undefined): 'yes' | 'no' | 'unknown' {
  if (written === undefined || written === 'unknown') return 'unknown'
  return written ? 'yes' : 'no'
}

/** Two addresses lead over one link: the same port of a host, the same serial line, whatever its settings. A simulated one is its own. */
function sharesLink(one: string | null, other: string | null): boolean {
  if (one === null || other === null || one === 'simulated') return false
  const base = (at: string) => at.replace(/[?#].*$/, '').replace(/(?<!:\/)\/+$/, '')
  const isSerial = one.startsWith('serial:')
  return isSerial ? base(one) === base(other) : base(one).toLowerCase() === base(other).toLowerCase()
}

/** A trip needs some room above the voltages in use, but never much: at most so many times the bench's own voltage limit. */
export const TRIP_ABOVE_OWN = 1.1

/** A bench: the instruments at hand, how each is reached and what is known of it. Volts, amperes, ohms and dB. */
export const BenchFile = z
  .strictObject({
    format: formatOne().optional(),
    bench: words(60),
    instruments: z.record(instrumentName, Entry),
  })
  .transform((file, ctx) => {
    const entries = Object.entries(file.instruments).map(([name, entry]) => ({ name, ...entry }))
    if (entries.length === 0) ctx.addIssue({ code: 'custom', path: ['instruments'], message: 'names no instrument' })
    const supplies = entries.filter((entry) => entry.limits !== null)
    for (const second of supplies.slice(1))
      ctx.addIssue({
        code: 'custom',
        path: ['instruments', second.name, 'limits'],
        message: `"${supplies[0]?.name}" is the supply already; a bench has one`,
      })
    for (const { name, crowbar, limits } of entries) {
      const refuse = (path: string[], message: string) =>
        ctx.addIssue({ code: 'custom', path: ['instruments', name, 'crowbar', ...path], message })
      if (crowbar === null) continue
      const mostVolts = (limits?.ceilingVolts ?? 0) * TRIP_ABOVE_OWN
      if (limits === null) refuse([], 'goes with the "limits" of a supply; write it there')
      else if (crowbar.tripsAtVolts > mostVolts)
        refuse(
          ['trips at'],
          `${crowbar.tripsAtVolts} V is too high to protect a radio at "limits" of ${limits.ceilingVolts} V; set the crowbar to ${mostVolts.toFixed(2)} V or lower`,
        )
    }
    const [supply] = supplies
    for (const other of supply ? entries.filter((one) => one !== supply && sharesLink(one.at, supply.at)) : [])
      ctx.addIssue({
        code: 'custom',
        path: ['instruments', other.name, 'at'],
        message: `"${supply?.name}", the supply, is reached here too; give the supply a link of its own`,
      })
    return { name: file.bench, entries }
  })
export type BenchFile = z.infer<typeof BenchFile>
export type BenchEntry = BenchFile['entries'][number]

/** What kind of bench the file asks for, typed-in meters aside: `mixed` is refused when it is opened. */
export function kindOfBench(file: BenchFile): 'real' | 'simulated' | 'mixed' {
  const reached = file.entries.filter((entry) => entry.at !== null)
  const simulated = reached.filter((entry) => entry.at === 'simulated')
  if (simulated.length === 0) return 'real'
  return simulated.length === reached.length ? 'simulated' : 'mixed'
}

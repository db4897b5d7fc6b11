import { readValue } from '../quantity/parse-value.ts'
import { type Quantity, unitOf } from '../quantity/quantity.ts'
import type { FieldFault } from '../schema/door/field-fault.ts'
import type { BenchEntry, BenchFile } from '../schema/files/bench-file.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'
import { SOURCES, type SourceName, sourcesOf } from '../schema/files/sources.ts'

/** What the bench reads with an instrument: its driver's rows, narrowed by `measures`; a typed-in meter one; of the supply the current only. */
export function measuredBy(entry: BenchEntry, driver: DriverFile): readonly Quantity[] {
  if (driver.typed) return entry.quantity === null ? [] : [entry.quantity]
  const rows = driver.readings.map((row) => row.quantity)
  const own = driver.supply ? rows.filter((quantity) => quantity === 'DC current') : rows
  return own.filter((quantity) => entry.measures?.includes(quantity) ?? true)
}

/** What the bench makes with an instrument: what its driver can, narrowed by `makes`. */
export function madeBy(entry: BenchEntry, driver: DriverFile): readonly SourceName[] {
  return sourcesOf(driver.settings).filter((name) => entry.makes?.includes(name) ?? true)
}

/** What is wrong with a bench beyond its own file: fields that do not go with the driver, and quantities and signals that are there twice. */
export function benchFaults(file: BenchFile, driverOf: (id: string) => DriverFile | undefined): readonly FieldFault[] {
  const owners = new Map<string, string>()
  return file.entries.flatMap((entry) => {
    const driver = driverOf(entry.driver)
    if (!driver) return []
    return [...entryFaults(entry, driver), ...doubleFaults(entry, driver, owners)]
  })
}

function entryFaults(entry: BenchEntry, driver: DriverFile): readonly FieldFault[] {
  const fault = (field: string, words: string): FieldFault => ({
    path: ['instruments', entry.name, field],
    at: 'value',
    words,
  })
  const faults: FieldFault[] = []
  if (driver.typed && entry.at !== null) faults.push(fault('at', 'a meter that is read by a person has no address'))
  if (driver.typed && entry.quantity === null)
    faults.push(fault('quantity', 'is missing; expected what the meter measures'))
  if (!driver.typed && entry.at === null)
    faults.push(fault('at', 'is missing; expected tcp://HOST:PORT, serial:PATH?baud=9600 or simulated'))
  if (!driver.typed && entry.quantity !== null)
    faults.push(fault('quantity', 'goes with a typed-in meter only; use "measures"'))
  if (driver.supply && entry.limits === null)
    faults.push(fault('limits', 'is missing; a supply needs { voltage: 16.5 V, current: 4 A }'))
  if (!driver.supply && entry.limits !== null) faults.push(fault('limits', `${driver.id} is not a supply`))
  const rows = driver.readings.map((row) => row.quantity)
  for (const quantity of entry.measures ?? [])
    if (!rows.includes(quantity))
      faults.push(
        fault('measures', `${driver.id} has no row for ${quantity}; it reads: ${rows.join(', ') || 'nothing'}`),
      )
  if (entry.role !== null && driver.supply)
    faults.push(fault('role', 'the current of the supply has none: the limit and the key are known by it'))
  const can = sourcesOf(driver.settings)
  for (const made of entry.makes ?? [])
    if (!can.includes(made))
      faults.push(
        fault('makes', `${driver.id} makes no ${SOURCES[made].word}; it makes: ${can.join(', ') || 'nothing'}`),
      )
  const floor = entry.accuracy?.and ?? null
  for (const quantity of floor === null ? [] : measuredBy(entry, driver)) {
    const parsed = readValue(floor ?? '', unitOf(quantity))
    if (!parsed.ok)
      faults.push({ path: ['instruments', entry.name, 'accuracy', 'and'], at: 'value', words: parsed.refused })
  }
  return faults
}

function doubleFaults(entry: BenchEntry, driver: DriverFile, owners: Map<string, string>): readonly FieldFault[] {
  const twice = (job: string, words: (owner: string) => string): readonly FieldFault[] => {
    const owner = owners.get(job)
    if (owner !== undefined) return [{ path: ['instruments', entry.name], at: 'key', words: words(owner) }]
    owners.set(job, entry.name)
    return []
  }
  return [
    ...measuredBy(entry, driver).flatMap((quantity) =>
      twice([quantity, entry.role ?? ''].join('\n'), (owner) =>
        entry.role === null
          ? `${quantity} is measured by "${owner}" already; write what this one is for, for example "role: plug", or narrow one of them with "measures"`
          : `${quantity} in the role "${entry.role}" is measured by "${owner}" already; give one of them another role`,
      ),
    ),
    ...madeBy(entry, driver).flatMap((made) =>
      twice(
        made,
        (owner) =>
          `the ${SOURCES[made].word} is made by "${owner}" already; leave one of them out, or write "makes: none" here`,
      ),
    ),
  ]
}

import { readValue } from '../quantity/parse-value.ts'
import { type Quantity, unitOf } from '../quantity/quantity.ts'
import type { FieldFault } from '../schema/door/field-fault.ts'
import type { BenchEntry, BenchFile } from '../schema/files/bench-file.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'

/** What the bench reads with an instrument: its driver's rows, narrowed by `measures`; a typed-in meter one; of the supply the current only. */
export function measuredBy(entry: BenchEntry, driver: DriverFile): readonly Quantity[] {
  if (driver.typed) return entry.quantity === null ? [] : [entry.quantity]
  const rows = driver.readings.map((row) => row.quantity)
  const own = driver.supply ? rows.filter((quantity) => quantity === 'DC current') : rows
  return own.filter((quantity) => entry.measures?.includes(quantity) ?? true)
}

/** Whether an instrument is the audio oscillator of its bench. */
export function makesTone(driver: DriverFile): boolean {
  return (['audio tone', 'audio level', 'output'] as const).every((name) =>
    driver.settings.some((row) => row.name === name),
  )
}

/** What is wrong with a bench beyond its own file: fields that do not go with the driver, and quantities that two instruments measure. */
export function benchFaults(file: BenchFile, driverOf: (id: string) => DriverFile | undefined): readonly FieldFault[] {
  const owners = new Map<Quantity | 'tone', string>()
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
  const floor = entry.accuracy?.and ?? null
  for (const quantity of floor === null ? [] : measuredBy(entry, driver)) {
    const parsed = readValue(floor ?? '', unitOf(quantity))
    if (!parsed.ok)
      faults.push({ path: ['instruments', entry.name, 'accuracy', 'and'], at: 'value', words: parsed.refused })
  }
  return faults
}

function doubleFaults(
  entry: BenchEntry,
  driver: DriverFile,
  owners: Map<Quantity | 'tone', string>,
): readonly FieldFault[] {
  const jobs = [...measuredBy(entry, driver), ...(makesTone(driver) ? (['tone'] as const) : [])]
  return jobs.flatMap((job) => {
    const owner = owners.get(job)
    if (owner === undefined) {
      owners.set(job, entry.name)
      return []
    }
    const what = job === 'tone' ? 'the tone is made' : `${job} is measured`
    const cure = job === 'tone' ? 'leave one of them out' : 'narrow one of them with "measures"'
    return [
      { path: ['instruments', entry.name], at: 'key', words: `${what} by "${owner}" already; ${cure}` },
    ] satisfies FieldFault[]
  })
}

import { readValue } from '../../quantity/parse-value.ts'
import type { Quantity } from '../../quantity/quantity.ts'
import type { MeterFacts } from '../kept/reading.ts'
import type { BenchEntry } from './bench-file.ts'
import type { DriverFile } from './driver-file.ts'

/** What is known of a quantity's meter from the driver's row and the bench file; the bench file's own accuracy and input resistance go first. */
export function meterFacts(entry: BenchEntry, driver: DriverFile, quantity: Quantity): MeterFacts {
  const row = driver.readings.find((reading) => reading.quantity === quantity)
  if (!row) throw new TypeError(`driver ${driver.id} has no row for ${quantity}`)
  return {
    quantity,
    unit: row.unit,
    instrument: entry.name,
    ...(entry.role === null ? {} : { role: entry.role }),
    driver: driver.id,
    everyMs: row.everyMs,
    latencyMs: row.takesMs,
    recoverMs: row.recoversMs,
    gateMs: row.gateMs,
    step: row.step,
    noise: row.noise,
    smoothing: row.smoothing,
    accuracy:
      entry.accuracy === null
        ? row.accuracy
        : { ofReading: entry.accuracy.ofReading, floor: floorOf(entry.accuracy.and, row.unit) },
    pathLossDb: quantity === 'RF power' ? (entry.pathLossDb ?? 0) : 0,
    ...(quantity === 'RF power' ? doubtOfPower(entry) : {}),
    inputOhms: entry.inputOhms ?? row.inputOhms,
    inputIsolated: driver.typed || !CLIPPED_ON.has(quantity) ? 'yes' : entry.inputIsolated,
    typed: driver.typed,
  }
}

/** What the bench file says of the path's doubt, and nothing where it says nothing. */
function doubtOfPower({ pathLossUncertaintyDb, vswr }: BenchEntry): Pick<MeterFacts, 'pathLossUncertaintyDb' | 'vswr'> {
  return { ...(pathLossUncertaintyDb === null ? {} : { pathLossUncertaintyDb }), ...(vswr === null ? {} : { vswr }) }
}

/** Measured with a lead on the board, whose minus may be the computer's. */
const CLIPPED_ON: ReadonlySet<Quantity> = new Set(['DC voltage', 'audio level', 'audio distortion', 'SINAD'])

/** The bench file is checked with its drivers before anybody asks for facts, so an unreadable floor is a mistake of the program. */
function floorOf(text: string | null, unit: MeterFacts['unit']): number {
  if (text === null) return 0
  const parsed = readValue(text, unit)
  if (!parsed.ok) throw new TypeError(parsed.refused)
  return parsed.value
}

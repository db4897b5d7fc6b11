import { BenchError } from '../fault/bench-error.ts'
import { loadDriver } from '../instrument/load-driver.ts'
import type { FieldFault } from '../schema/door/field-fault.ts'
import { readYamlFile } from '../schema/door/yaml-door.ts'
import { BenchFile } from '../schema/files/bench-file.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'
import { said } from '../words/said/said.ts'
import { benchFaults } from './who-measures.ts'

/** A bench file with the drivers that it names. */
export interface LoadedBench {
  readonly file: BenchFile
  readonly drivers: ReadonlyMap<string, DriverFile>
}

/**
 * Reads a bench file and its drivers from `driversFolder`; `today` (a day like 2026-11-02): nothing was tried after it, null where time is
 * made. Throws SCHEMA_FILE_MISSING, or SCHEMA_REJECTED with every mistake and its place.
 */
export function loadBench(path: string, driversFolder: string, today: string | null = null): LoadedBench {
  const drivers = new Map<string, DriverFile>()
  const further = (file: BenchFile): readonly FieldFault[] => {
    const missing = file.entries.flatMap((entry) => driverFaults(entry.name, entry.driver, driversFolder, drivers))
    return [
      ...missing,
      ...benchFaults(file, (id) => drivers.get(id)),
      ...(today === null ? [] : triedFaults(file, today)),
    ]
  }
  return { file: readYamlFile(path, BenchFile, { further }), drivers }
}

/** A crowbar that is said to be tried on a day to come; tomorrow is today already in another part of the world. */
function triedFaults({ entries }: BenchFile, today: string): readonly FieldFault[] {
  const tomorrow = new Date(Date.parse(`${today}T00:00:00Z`) + DAY_MS).toISOString().slice(0, 10)
  return entries.flatMap(({ name, crowbar }): readonly FieldFault[] => {
    if (crowbar === null || crowbar.tried <= tomorrow) return []
    const words = `read ${crowbar.tried}, a day that is still to come; try the crowbar and write the day on which you did`
    return [{ path: ['instruments', name, 'crowbar', 'tried'], at: 'value', words }]
  })
}

const DAY_MS = 86_400_000

/** Loads one driver into `drivers`; that it is missing or wrong is a mistake of the entry that names it. */
function driverFaults(
  name: string,
  id: string,
  folder: string,
  drivers: Map<string, DriverFile>,
): readonly FieldFault[] {
  if (drivers.has(id)) return []
  try {
    drivers.set(id, loadDriver(folder, id))
    return []
  } catch (error) {
    if (!(error instanceof BenchError)) throw error
    const words =
      error.code === 'SCHEMA_FILE_MISSING'
        ? said('desk.no-driver', { file: error.who })
        : said('desk.driver-wrong', { file: error.who, why: error.happened })
    return [{ path: ['instruments', name, 'driver'], at: 'value', words }]
  }
}

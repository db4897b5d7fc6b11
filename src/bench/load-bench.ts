import { BenchError } from '../fault/bench-error.ts'
import { loadDriver } from '../instrument/load-driver.ts'
import { BenchFile } from '../schema/bench-file.ts'
import type { DriverFile } from '../schema/driver-file.ts'
import type { FieldFault } from '../schema/field-fault.ts'
import { readYamlFile } from '../schema/yaml-door.ts'
import { benchFaults } from './who-measures.ts'

/** A bench file with the drivers that it names. */
export interface LoadedBench {
  readonly file: BenchFile
  readonly drivers: ReadonlyMap<string, DriverFile>
}

/** Reads a bench file and its drivers from `driversFolder`. Throws SCHEMA_FILE_MISSING, or SCHEMA_REJECTED with every mistake and its place. */
export function loadBench(path: string, driversFolder: string): LoadedBench {
  const drivers = new Map<string, DriverFile>()
  const further = (file: BenchFile): readonly FieldFault[] => {
    const missing = file.entries.flatMap((entry) => driverFaults(entry.name, entry.driver, driversFolder, drivers))
    return [...missing, ...benchFaults(file, (id) => drivers.get(id))]
  }
  return { file: readYamlFile(path, BenchFile, { further }), drivers }
}

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
      error.code === 'SCHEMA_FILE_MISSING' ? `there is no ${error.who}` : `${error.who} is wrong: ${error.happened}`
    return [{ path: ['instruments', name, 'driver'], at: 'value', words }]
  }
}

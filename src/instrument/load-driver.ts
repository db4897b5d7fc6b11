import { dirname, join } from 'node:path'
import { BenchError } from '../fault/bench-error.ts'
import { readTextFile, readYamlBlock, readYamlFile } from '../schema/door/yaml-door.ts'
import { DriverFile } from '../schema/files/driver-file.ts'
import { sampleFaults } from './check-samples.ts'

/** Reads `folder`/`id`.yaml. Throws SCHEMA_FILE_MISSING, or SCHEMA_REJECTED with every mistake: also a sample that does not decode to its value. */
export function loadDriver(folder: string, id: string): DriverFile {
  return loadDriverFile(join(folder, `${id}.yaml`))
}

/**
 * Reads a driver file; `extends: OTHER` takes from OTHER.yaml beside it whatever the file itself does not say, one level deep. A row of
 * OTHER that is `none` here is left out.
 */
export function loadDriverFile(path: string): DriverFile {
  return readYamlFile(path, DriverFile, { prepare: (read) => extended(read, path), further: sampleFaults })
}

/** A driver file's text for a record: as it stands, or, where it extends another, with all that it takes from there. Throws as `loadDriver`. */
export function driverText(folder: string, id: string): string {
  const path = join(folder, `${id}.yaml`)
  const text = readTextFile(path)
  const read = readYamlBlock(text, path)
  if (!('extends' in read)) return text
  return `# ${id}.yaml with what it takes from ${String(read.extends)}.yaml\n${JSON.stringify(extended(read, path), null, 2)}\n`
}

function extended(read: unknown, path: string): unknown {
  if (!isBlock(read) || !('extends' in read)) return read
  const { extends: parent, ...own } = read
  if (typeof parent !== 'string' || !/^[a-z0-9-]+$/.test(parent))
    throw new BenchError(
      'SCHEMA_REJECTED',
      path,
      'extends: expected the name of a driver file beside this one, without .yaml',
    )
  const parentPath = join(dirname(path), `${parent}.yaml`)
  const all = readYamlBlock(readTextFile(parentPath), parentPath)
  if ('extends' in all)
    throw new BenchError('SCHEMA_REJECTED', path, `extends: ${parentPath} extends a file itself; one level is allowed`)
  loadDriverFile(parentPath) // a mistake of the parent is told at its own place
  return withoutRows(merged(all, own))
}

const ROWS = ['readings', 'settings', 'states']

function withoutRows(all: Readonly<Record<string, unknown>>): Record<string, unknown> {
  const kept = (rows: unknown) =>
    isBlock(rows) ? Object.fromEntries(Object.entries(rows).filter(([, row]) => row !== 'none')) : rows
  return Object.fromEntries(Object.entries(all).map(([key, value]) => [key, ROWS.includes(key) ? kept(value) : value]))
}

/** Blocks are joined key by key; anything else of `own` takes the place of what was there. */
function merged(
  under: Readonly<Record<string, unknown>>,
  own: Readonly<Record<string, unknown>>,
): Record<string, unknown> {
  const all: Record<string, unknown> = { ...under }
  for (const [key, value] of Object.entries(own)) {
    const below = all[key]
    all[key] = isBlock(below) && isBlock(value) ? merged(below, value) : value
  }
  return all
}

function isBlock(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}

import { loadDriver } from '../../../src/instrument/load-driver.ts'
import { type Instrument, openInstrument } from '../../../src/instrument/open-instrument.ts'
import { type BenchEntry, BenchFile } from '../../../src/schema/files/bench-file.ts'
import type { DriverFile } from '../../../src/schema/files/driver-file.ts'
import { instrumentDeps, never } from './instrument-deps.ts'
import type { Answer, ScriptedInstrument } from './scripted-instrument.ts'

/** An entry of a bench file, as the file would have it. */
export function benchEntry(name: string, driver: string, written: Record<string, unknown> = {}): BenchEntry {
  const [entry] = BenchFile.parse({
    bench: 'test',
    instruments: { [name]: { driver, at: `memory:${name}`, ...written } },
  }).entries
  if (!entry) throw new TypeError('a bench file with one instrument has one entry')
  return entry
}

/** Opens a scripted instrument by one of the project's drivers; `heard` is empty again when it is open. */
export async function openScripted(
  driverId: string,
  answers: Record<string, Answer>,
  change: (driver: DriverFile) => DriverFile = (same) => same,
) {
  const { clock, add, deps } = instrumentDeps()
  const scripted: ScriptedInstrument = add('unit', 'EXAMPLE,UNIT,1,1.0', answers)
  const driver = change(loadDriver('drivers', driverId))
  const opening = openInstrument({
    entry: benchEntry('unit', driverId),
    driver,
    address: 'memory:unit',
    deps,
    wait: { ms: 60_000, signal: never() },
  })
  const instrument: Instrument = await clock.runUntil(opening)
  scripted.heard.length = 0
  return {
    clock,
    scripted,
    instrument,
    deps,
    said: () => scripted.heard.map(({ text }) => text).filter((text) => !text.startsWith('*ESE')),
  }
}

import type { LoadedBench } from '../bench/load-bench.ts'
import { crowbarServes, crowbarWanted, triedLongAgo } from '../core/plan/raising.ts'
import type { FieldFault } from '../schema/door/field-fault.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'
import type { Procedure } from '../schema/files/procedure-file.ts'
import { supplyTripOf } from '../schema/files/supply-trip.ts'
import { said, type Words } from '../words/said/said.ts'

/** A sheet that a bench may be used for, and its file as it was named. */
export interface SheetAtHand {
  readonly file: string
  readonly set: Procedure['set']
}

/** What is wrong, and what is only to be known. */
export interface SaidOfFile {
  readonly faults: readonly FieldFault[]
  readonly notes: readonly FieldFault[]
}

export const NOTHING_SAID: SaidOfFile = { faults: [], notes: [] }

/** Of a supply that has no over-voltage trip: what a job makes of it. */
export function saidOfDriver({ supply, settings }: Pick<DriverFile, 'supply' | 'settings'>): SaidOfFile {
  if (!supply || settings.some((row) => row.name === 'over-voltage trip')) return NOTHING_SAID
  return { faults: [], notes: [{ path: ['settings'], at: 'key', words: said('command.trip-no-row') }] }
}

/**
 * What ends an over-voltage on this bench, held against sheets: those that were `named` beside it must be served by its crowbar; of all
 * the others one must be, where there are any. `today`: a day like 2026-11-02.
 */
export function saidOfBench(
  { file, drivers }: LoadedBench,
  sheets: { readonly named: readonly SheetAtHand[]; readonly others: readonly SheetAtHand[] },
  today: string,
): SaidOfFile {
  const entry = file.entries.find(({ limits }) => limits !== null)
  const driver = entry && drivers.get(entry.driver)
  if (!entry?.limits || !driver) return NOTHING_SAID
  const { ceilingVolts } = entry.limits
  const trip = supplyTripOf(entry, driver)
  const at = (field: readonly string[], words: Words): FieldFault => ({
    path: ['instruments', entry.name, ...field],
    at: field.length === 0 ? 'key' : 'value',
    words,
  })
  if (trip === 'own') return NOTHING_SAID
  if (trip === 'none')
    return {
      faults: [],
      notes: [
        at(
          [],
          said('command.trip-none', {
            driver: driver.id,
            example: 'crowbar: { trips at: 16.2 V, tried: 2026-11-02 }',
          }),
        ),
      ],
    }
  const { crowbarVolts, tried } = trip
  const unfit = (list: readonly SheetAtHand[]) => list.filter(({ set }) => !crowbarServes(crowbarVolts, set))
  const words = ({ file: sheet, set }: SheetAtHand) =>
    said('trip.crowbar-unfit-for-sheet', { at: `${crowbarVolts.toFixed(2)} V`, sheet, wanted: crowbarWanted(set) })
  const within = sheets.others.filter(({ set }) => set.ceilingVolts <= ceilingVolts)
  const others = unfit(within)
  const none = sheets.named.length === 0 && within.length > 0 && others.length === within.length
  const wrong = [...unfit(sheets.named), ...(none ? others : [])]
  const noted = none ? [] : others
  const old = triedLongAgo(tried, today) ? [at(['crowbar', 'tried'], said('command.trip-tried', { day: tried }))] : []
  return {
    faults: wrong.map((sheet) => at(['crowbar', 'trips at'], words(sheet))),
    notes: [...noted.map((sheet) => at(['crowbar', 'trips at'], said('check.note', { what: words(sheet) }))), ...old],
  }
}

import type { Procedure } from '../../schema/files/procedure-file.ts'
import type { SupplyTrip } from '../../schema/kept/supply-trip-kind.ts'
import { type Said, said, type Words } from '../../words/said/said.ts'

type Sheet = Pick<Procedure['set'], 'supplyVolts' | 'ceilingVolts' | 'tripVolts'>

const volts = (value: number) => `${value.toFixed(2)} V`

/** What an external crowbar must do for this sheet: trip above the highest voltage in use, and not above what the sheet lets reach the radio. */
export function crowbarWanted({ ceilingVolts, tripVolts }: Sheet): Said {
  return said('trip.crowbar-wanted', { above: volts(ceilingVolts), most: volts(tripVolts) })
}

/** An external crowbar that trips at `tripsAtVolts` ends an over-voltage of this sheet, and nothing before it. */
export function crowbarServes(tripsAtVolts: number, { ceilingVolts, tripVolts }: Sheet): boolean {
  return tripsAtVolts > ceilingVolts && tripsAtVolts <= tripVolts
}

/** Why the supply is not taken above the normal voltage of this sheet, in words; null where something would end an over-voltage. */
export function notRaised(trip: SupplyTrip, sheet: Sheet): Words | null {
  const normal = volts(sheet.supplyVolts)
  if (trip === 'own') return null
  if (trip === 'none') return said('trip.none-not-above', { normal })
  if (crowbarServes(trip.crowbarVolts, sheet)) return null
  return said('trip.crowbar-not-above', { at: volts(trip.crowbarVolts), wanted: crowbarWanted(sheet), normal })
}

/** The step needs more than the normal voltage at the radio. */
export function isRaised(step: { readonly supplyVolts: number | null }, sheet: Sheet): boolean {
  return step.supplyVolts !== null && step.supplyVolts > sheet.supplyVolts
}

/** The highest voltage at the supply's terminals in this job, V. */
export function highestVolts(trip: SupplyTrip, sheet: Sheet): number {
  return notRaised(trip, sheet) === null ? sheet.ceilingVolts : Math.min(sheet.supplyVolts, sheet.ceilingVolts)
}

/** Why no job of this sheet can be begun on this supply; "" where one can: a crowbar that shorts the normal voltage. */
export function cannotBegin(trip: SupplyTrip, sheet: Sheet): Words {
  if (typeof trip === 'string' || trip.crowbarVolts > sheet.supplyVolts) return ''
  return said('trip.cannot-begin', {
    at: volts(trip.crowbarVolts),
    normal: volts(sheet.supplyVolts),
    cure: setAnew(sheet),
  })
}

/** What a person has to know of the supply before a job of this sheet; `today`: a day like 2026-11-02. Nothing where it has a trip of its own. */
export function tripCautions(trip: SupplyTrip, sheet: Sheet, today: string): readonly Words[] {
  if (trip === 'own') return []
  const normal = volts(sheet.supplyVolts)
  if (trip === 'none') return [said('trip.none-caution', { normal })]
  const at = volts(trip.crowbarVolts)
  const day = trip.tried
  const serves =
    notRaised(trip, sheet) === null
      ? said('trip.crowbar-serves', { at, day })
      : said('trip.crowbar-does-not-serve', { at, wanted: crowbarWanted(sheet), normal, cure: setAnew(sheet) })
  return triedLongAgo(day, today) ? [serves, said('trip.crowbar-tried-long-ago', { day })] : [serves]
}

function setAnew(sheet: Sheet): Said {
  return said('trip.crowbar-set-anew', { wanted: crowbarWanted(sheet) })
}

/** More than 12 months before `today` (both days like 2026-11-02). Common practice, no source: what protects is tried once a year. */
export function triedLongAgo(tried: string, today: string): boolean {
  return tried < `${Number(today.slice(0, 4)) - 1}${today.slice(4)}`
}

/** What a job on this supply leaves out, for its record: nothing where something trips. */
export function tripNotCovered(trip: SupplyTrip, sheet: Sheet): readonly string[] {
  if (notRaised(trip, sheet) === null) return []
  const why = trip === 'none' ? 'no over-voltage trip, no crowbar' : 'no crowbar that serves this sheet'
  return [`supply above ${volts(sheet.supplyVolts)} (${why})`]
}

/** What protects the radio on this supply, for the record and its report. */
export function tripWords(trip: SupplyTrip): Said {
  if (trip === 'own') return said('trip.own')
  if (trip === 'none') return said('trip.none')
  return said('trip.crowbar', { at: volts(trip.crowbarVolts), day: trip.tried })
}

/**
 * A job opened again: `was` stands in its head (null: from before that was written down), `is` is the bench of now. What was left out
 * stays left out, since the head says why; `changed` is for the journal, "" where nothing changed.
 */
export function tripOnReopen(
  was: SupplyTrip | null,
  is: SupplyTrip,
): { readonly trip: SupplyTrip; readonly changed: Words } {
  const same = was === null || JSON.stringify(was) === JSON.stringify(is)
  const trip = was === 'none' ? was : is
  return { trip, changed: same ? '' : said('trip.begun-with', { was: tripWords(was), is: tripWords(is) }) }
}

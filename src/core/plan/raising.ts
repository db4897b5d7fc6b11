import type { Procedure } from '../../schema/files/procedure-file.ts'
import type { SupplyTrip } from '../../schema/kept/supply-trip-kind.ts'

type Sheet = Pick<Procedure['set'], 'supplyVolts' | 'ceilingVolts' | 'tripVolts'>

const volts = (value: number) => `${value.toFixed(2)} V`

/** What an external crowbar must do for this sheet: trip above the highest voltage in use, and not above what the sheet lets reach the radio. */
export function crowbarWanted({ ceilingVolts, tripVolts }: Sheet): string {
  return `above ${volts(ceilingVolts)} and at most ${volts(tripVolts)}`
}

/** An external crowbar that trips at `tripsAtVolts` ends an over-voltage of this sheet, and nothing before it. */
export function crowbarServes(tripsAtVolts: number, { ceilingVolts, tripVolts }: Sheet): boolean {
  return tripsAtVolts > ceilingVolts && tripsAtVolts <= tripVolts
}

/** Why the supply is not taken above the normal voltage of this sheet, in words; null where something would end an over-voltage. */
export function notRaised(trip: SupplyTrip, sheet: Sheet): string | null {
  if (trip === 'own') return null
  if (trip === 'none')
    return `supply without an over-voltage trip, no crowbar in the bench file: not above ${volts(sheet.supplyVolts)}`
  if (crowbarServes(trip.crowbarVolts, sheet)) return null
  return `external crowbar trips at ${volts(trip.crowbarVolts)}, wanted ${crowbarWanted(sheet)}: supply not above ${volts(sheet.supplyVolts)}`
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
export function cannotBegin(trip: SupplyTrip, sheet: Sheet): string {
  if (typeof trip === 'string' || trip.crowbarVolts > sheet.supplyVolts) return ''
  return `the external crowbar trips at ${volts(trip.crowbarVolts)}, and the normal voltage is ${volts(sheet.supplyVolts)}: ${setAnew(sheet)}`
}

/** What a person has to know of the supply before a job of this sheet; `today`: a day like 2026-11-02. Nothing where it has a trip of its own. */
export function tripCautions(trip: SupplyTrip, sheet: Sheet, today: string): readonly string[] {
  if (trip === 'own') return []
  const normal = volts(sheet.supplyVolts)
  if (trip === 'none')
    return [
      `The supply has no over-voltage trip: it is not taken above ${normal}, and steps above that are left out. Name an external crowbar in the bench file, or use another supply.`,
    ]
  const at = volts(trip.crowbarVolts)
  const said =
    notRaised(trip, sheet) === null
      ? `The supply has no over-voltage trip of its own: the external crowbar trips at ${at} and was tried on ${trip.tried}. Look that it is connected.`
      : `The external crowbar trips at ${at}, wanted ${crowbarWanted(sheet)}: the supply is not taken above ${normal}, and steps above that are left out. To raise it, ${setAnew(sheet)}.`
  return triedLongAgo(trip.tried, today)
    ? [said, `The external crowbar was tried on ${trip.tried}, more than 12 months ago: try it again before the job.`]
    : [said]
}

function setAnew(sheet: Sheet): string {
  return `set the crowbar ${crowbarWanted(sheet)}, try it and write that in the bench file, or use another supply`
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
export function tripWords(trip: SupplyTrip): string {
  if (trip === 'own') return 'Over-voltage: the trip of the supply itself.'
  if (trip === 'none') return 'Over-voltage: the supply has no trip of its own, and no crowbar was named.'
  return `Over-voltage: the supply has no trip of its own; external crowbar at ${volts(trip.crowbarVolts)}, tried on ${trip.tried}.`
}

/**
 * A job opened again: `was` stands in its head (null: from before that was written down), `is` is the bench of now. What was left out
 * stays left out, since the head says why; `changed` is for the journal, "" where nothing changed.
 */
export function tripOnReopen(
  was: SupplyTrip | null,
  is: SupplyTrip,
): { readonly trip: SupplyTrip; readonly changed: string } {
  const same = was === null || JSON.stringify(was) === JSON.stringify(is)
  const trip = was === 'none' ? was : is
  return { trip, changed: same ? '' : `the job was begun with: ${tripWords(was)} Now: ${tripWords(is)}` }
}

import type { SupplyPort, SupplyReadBack } from '../../instrument/supply-port.ts'
import { TRIP_ABOVE_OWN } from '../../schema/files/bench-file.ts'
import { noTripWords } from '../../schema/files/supply-trip.ts'
import type { Words } from '../../words/said/said.ts'
import { KEEPER, type KeeperRules, type KeeperState, type Limits, type Order, type TripRule } from './keeper-state.ts'

/** Why an order is not carried out: a fault code and what is the matter, with the values. */
export interface Refusal {
  readonly code: 'KEEPER_REFUSED' | 'KEEPER_TRIPPED' | 'KEEPER_SUPPLY_DISAGREES' | 'KEEPER_SHORT'
  readonly words: Words
}

/** "15.60 V", "1.240 A". */
export const inVolts = (volts: number) => `${volts.toFixed(2)} V`
export const inAmps = (amps: number) => `${amps.toFixed(3)} A`

/** The set is transmitting, or the current limit hides whether it is: no way up. Without limits nobody can tell. */
export function keyed(limits: Limits | null, back: SupplyReadBack): boolean {
  return limits === null || back.amps >= limits.keyedAboveAmps || back.regulation === 'current'
}

/** Measured volts that count as `volts`: 50 mV or 1 %. */
export function reached(volts: number, measured: number): boolean {
  return Math.abs(measured - volts) <= voltsSlack(volts)
}

/** How far measured volts may lie from `volts`. */
export function voltsSlack(volts: number): number {
  return Math.max(KEEPER.reachVolts, KEEPER.reachShare * volts)
}

/** How far a current limit read back may lie from `amps`. */
export function ampsSlack(amps: number): number {
  return Math.max(KEEPER.agreeAmps, KEEPER.agreeShare * amps)
}

/** What can be said of an order without looking at the supply; null: nothing against it. */
export function refuse(state: KeeperState, order: Order): Refusal | null {
  if (state.ending) return refused(`the keeper is ending: ${state.ending.why}`)
  if (isDead(state, order)) return refused('it is not wanted any more')
  if (order.verb === 'limits') return state.standby ? refuseLimits(state, order) : refused(ALONE)
  if (state.locked !== null) return refused(`the supply is kept off until somebody starts again (${state.locked})`)
  const limits = state.limits
  if (limits === null || !state.armed)
    return refused(`"${order.verb}" before ceiling, trip and current limit were set and read back`)
  if (order.verb !== 'set') return null
  if (order.volts > limits.ceilingVolts)
    return refused(`${inVolts(order.volts)} asked for, the ceiling is ${inVolts(limits.ceilingVolts)}`)
  if (order.volts > highestVolts(state.rules, limits)) return refused(notRaised(state.rules, limits))
  if (order.volts >= limits.tripVolts)
    return refused(`${inVolts(order.volts)} asked for, the supply trips at ${inVolts(limits.tripVolts)}`)
  if (order.amps > limits.ceilingAmps)
    return refused(`a current limit of ${inAmps(order.amps)} asked for, the ceiling is ${inAmps(limits.ceilingAmps)}`)
  return null
}

/** What protects the radio on this supply; `crowbarVolts` is the bench file's, null where it names none. */
export function tripRuleOf(port: Pick<SupplyPort, 'hasTrip'>, crowbarVolts: number | null): TripRule {
  if (port.hasTrip !== false) return 'own'
  return crowbarVolts === null ? 'none' : { crowbarVolts }
}

/** No voltage in use lies above this: the ceiling, and where nothing would trip in time, normal. */
export function highestVolts({ trip }: Pick<KeeperRules, 'trip'>, limits: Limits): number {
  const ends = trip === 'own' || (trip !== 'none' && serves(trip.crowbarVolts, limits))
  return ends ? limits.ceilingVolts : Math.min(limits.normalVolts, limits.ceilingVolts)
}

/** An external crowbar takes the place of the trip: above every voltage in use, and not above what the trip would be set to. */
function serves(crowbarVolts: number, { ceilingVolts, tripVolts }: Limits): boolean {
  return crowbarVolts > ceilingVolts && crowbarVolts <= tripVolts
}

function notRaised({ trip }: Pick<KeeperRules, 'trip'>, limits: Limits): string {
  if (typeof trip === 'string') return noTripWords(limits.normalVolts)
  return (
    `the external crowbar trips at ${inVolts(trip.crowbarVolts)}; it must trip above ${inVolts(limits.ceilingVolts)} and ` +
    `not above ${inVolts(limits.tripVolts)}, else the supply is not taken above ${inVolts(limits.normalVolts)}. ` +
    'Set it anew, try it and write it in the bench file, or use another supply'
  )
}

/** The wish that the order serves has ended. `normal` serves none. */
export function isDead(state: KeeperState, order: Order): boolean {
  return order.verb !== 'normal' && order.wish <= state.wishes.dead
}

/** Nobody would switch off for a keeper that dies or freezes. */
export const ALONE =
  'there is no standby keeper that would switch the output off if this one stopped: nothing goes up until there is one'

function refuseLimits(state: KeeperState, limits: Limits): Refusal | null {
  const { ownVolts, ownAmps, trip } = state.rules
  if (limits.ceilingVolts > ownVolts)
    return refused(`a ceiling of ${inVolts(limits.ceilingVolts)} asked for, the bench allows ${inVolts(ownVolts)}`)
  if (limits.ceilingAmps > ownAmps)
    return refused(`a current ceiling of ${inAmps(limits.ceilingAmps)} asked for, the bench allows ${inAmps(ownAmps)}`)
  if (limits.tripVolts < limits.ceilingVolts || limits.tripVolts > ownVolts * TRIP_ABOVE_OWN)
    return refused(
      `an over-voltage trip of ${inVolts(limits.tripVolts)} asked for; it must not lie below the ceiling of ` +
        `${inVolts(limits.ceilingVolts)} nor above ${inVolts(ownVolts * TRIP_ABOVE_OWN)}`,
    )
  if (typeof trip === 'object' && trip.crowbarVolts <= limits.normalVolts)
    return refused(
      `the external crowbar trips at ${inVolts(trip.crowbarVolts)}, normal is ${inVolts(limits.normalVolts)}. ` +
        'Set it anew, try it and write it in the bench file, or use another supply',
    )
  if (limits.normalVolts > limits.ceilingVolts)
    return refused(`normal is ${inVolts(limits.normalVolts)}, the ceiling ${inVolts(limits.ceilingVolts)}`)
  if (limits.receiveAmps > limits.ceilingAmps)
    return refused(`the receive limit is ${inAmps(limits.receiveAmps)}, the ceiling ${inAmps(limits.ceilingAmps)}`)
  return null
}

/** With the output on, limits only get tighter. `back` is a fresh look. */
export function refuseLooser(
  rules: Pick<KeeperRules, 'trip'>,
  before: Limits | null,
  limits: Limits,
  back: SupplyReadBack,
): Refusal | null {
  if (before === null) return refused('the output is on under limits that are not known: switch it off first')
  if (
    limits.ceilingVolts > before.ceilingVolts ||
    highestVolts(rules, limits) > highestVolts(rules, before) ||
    limits.ceilingAmps > before.ceilingAmps ||
    limits.tripVolts > before.tripVolts
  )
    return refused('the output is on, and higher limits were asked for: switch it off first')
  if (limits.keyedAboveAmps > before.keyedAboveAmps)
    return refused('the output is on, and a higher key-down current was asked for: switch it off first')
  const mostVolts = highestVolts(rules, limits)
  if (back.setVolts > mostVolts)
    return refused(`the supply is set to ${inVolts(back.setVolts)}, above the new ceiling of ${inVolts(mostVolts)}`)
  if (back.limitAmps > limits.ceilingAmps + ampsSlack(limits.ceilingAmps))
    return refused(
      `the current limit is ${inAmps(back.limitAmps)}, above the new ceiling of ${inAmps(limits.ceilingAmps)}`,
    )
  return null
}

/** The refusal of a way up with the key down. */
export function keyIsDown(volts: number, limits: Limits | null, back: SupplyReadBack): Refusal {
  const limit = limits ? `, keyed from ${inAmps(limits.keyedAboveAmps)}` : ''
  const seen = back.regulation === 'current' ? 'in current limit' : `${inAmps(back.amps)}${limit}`
  return refused(
    `${inVolts(volts)} asked for from ${inVolts(back.setVolts)} while the set is keyed (${seen}): release the key first`,
  )
}

/** A refusal in the keeper's own words. */
export function refused(words: Words): Refusal {
  return { code: 'KEEPER_REFUSED', words }
}

import type { SupplyPort, SupplyReadBack } from '../../instrument/supply-port.ts'
import { TRIP_ABOVE_OWN } from '../../schema/files/bench-file.ts'
import { noTripWords } from '../../schema/files/supply-trip.ts'
import { type Said, said, type Words } from '../../words/said/said.ts'
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
  if (state.ending) return refused(said('keeper.ending', { why: state.ending.why }))
  if (isDead(state, order)) return refused(said('keeper.dead-wish'))
  if (order.verb === 'limits') return state.standby ? refuseLimits(state, order) : refused(ALONE)
  if (state.locked !== null) return refused(said('keeper.locked', { why: state.locked }))
  const limits = state.limits
  if (limits === null || !state.armed) return refused(said('keeper.not-armed', { order: order.verb }))
  if (order.verb !== 'set') return null
  if (order.volts > limits.ceilingVolts)
    return refused(said('keeper.above-ceiling', { volts: inVolts(order.volts), ceiling: inVolts(limits.ceilingVolts) }))
  if (order.volts > highestVolts(state.rules, limits)) return refused(notRaised(state.rules, limits))
  if (order.volts >= limits.tripVolts)
    return refused(said('keeper.above-trip', { volts: inVolts(order.volts), trip: inVolts(limits.tripVolts) }))
  if (order.amps > limits.ceilingAmps)
    return refused(
      said('keeper.limit-above-ceiling', { amps: inAmps(order.amps), ceiling: inAmps(limits.ceilingAmps) }),
    )
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

function notRaised({ trip }: Pick<KeeperRules, 'trip'>, limits: Limits): Said {
  if (typeof trip === 'string') return noTripWords(limits.normalVolts)
  return said('keeper.crowbar-serves-not', {
    crowbar: inVolts(trip.crowbarVolts),
    ceiling: inVolts(limits.ceilingVolts),
    trip: inVolts(limits.tripVolts),
    normal: inVolts(limits.normalVolts),
  })
}

/** The wish that the order serves has ended. `normal` serves none. */
export function isDead(state: KeeperState, order: Order): boolean {
  return order.verb !== 'normal' && order.wish <= state.wishes.dead
}

/** Nobody would switch off for a keeper that dies or freezes. */
export const ALONE = said('keeper.alone')

function refuseLimits(state: KeeperState, limits: Limits): Refusal | null {
  const { ownVolts, ownAmps, trip } = state.rules
  if (limits.ceilingVolts > ownVolts)
    return refused(
      said('keeper.ceiling-above-bench', { ceiling: inVolts(limits.ceilingVolts), most: inVolts(ownVolts) }),
    )
  if (limits.ceilingAmps > ownAmps)
    return refused(
      said('keeper.amps-ceiling-above-bench', { ceiling: inAmps(limits.ceilingAmps), most: inAmps(ownAmps) }),
    )
  if (limits.tripVolts < limits.ceilingVolts || limits.tripVolts > ownVolts * TRIP_ABOVE_OWN)
    return refused(
      said('keeper.trip-out-of-range', {
        trip: inVolts(limits.tripVolts),
        ceiling: inVolts(limits.ceilingVolts),
        most: inVolts(ownVolts * TRIP_ABOVE_OWN),
      }),
    )
  if (typeof trip === 'object' && trip.crowbarVolts <= limits.normalVolts)
    return refused(
      said('keeper.crowbar-below-normal', {
        crowbar: inVolts(trip.crowbarVolts),
        normal: inVolts(limits.normalVolts),
      }),
    )
  if (limits.normalVolts > limits.ceilingVolts)
    return refused(
      said('keeper.normal-above-ceiling', {
        normal: inVolts(limits.normalVolts),
        ceiling: inVolts(limits.ceilingVolts),
      }),
    )
  if (limits.receiveAmps > limits.ceilingAmps)
    return refused(
      said('keeper.receive-above-ceiling', { amps: inAmps(limits.receiveAmps), ceiling: inAmps(limits.ceilingAmps) }),
    )
  return null
}

/** With the output on, limits only get tighter. `back` is a fresh look. */
export function refuseLooser(
  rules: Pick<KeeperRules, 'trip'>,
  before: Limits | null,
  limits: Limits,
  back: SupplyReadBack,
): Refusal | null {
  if (before === null) return refused(said('keeper.limits-unknown'))
  if (
    limits.ceilingVolts > before.ceilingVolts ||
    highestVolts(rules, limits) > highestVolts(rules, before) ||
    limits.ceilingAmps > before.ceilingAmps ||
    limits.tripVolts > before.tripVolts
  )
    return refused(said('keeper.higher-limits'))
  if (limits.keyedAboveAmps > before.keyedAboveAmps) return refused(said('keeper.higher-key-current'))
  const mostVolts = highestVolts(rules, limits)
  if (back.setVolts > mostVolts)
    return refused(said('keeper.set-above-new-ceiling', { volts: inVolts(back.setVolts), ceiling: inVolts(mostVolts) }))
  if (back.limitAmps > limits.ceilingAmps + ampsSlack(limits.ceilingAmps))
    return refused(
      said('keeper.limit-above-new-ceiling', { amps: inAmps(back.limitAmps), ceiling: inAmps(limits.ceilingAmps) }),
    )
  return null
}

/** The refusal of a way up with the key down. */
export function keyIsDown(volts: number, limits: Limits | null, back: SupplyReadBack): Refusal {
  return refused(
    said('keeper.keyed', { volts: inVolts(volts), from: inVolts(back.setVolts), seen: keySeen(limits, back) }),
  )
}

function keySeen(limits: Limits | null, back: SupplyReadBack): Words {
  if (back.regulation === 'current') return said('keeper.seen-limited')
  const amps = inAmps(back.amps)
  return limits ? said('keeper.seen-amps', { amps, limit: inAmps(limits.keyedAboveAmps) }) : amps
}

/** A refusal in the keeper's own words. */
export function refused(words: Words): Refusal {
  return { code: 'KEEPER_REFUSED', words }
}

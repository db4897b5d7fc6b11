import type { Quantity } from '../../quantity/quantity.ts'
import { quantityWords } from '../../quantity/quantity-words.ts'
import { joined } from '../../words/said/lists.ts'
import { said, type Words } from '../../words/said/said.ts'
import type { Step } from './step.ts'

/** What tells several meters of one quantity apart: the role that the bench file gives one of them. */
export interface InRole {
  readonly quantity: Quantity
  readonly role?: string | undefined
}

/**
 * The meter that is meant: the one with this role; without a role (null) the one that has none, or the only one there is.
 * Undefined where nobody is, and where several have a role and none is said.
 */
export function meterFor<M extends InRole>(
  meters: readonly M[],
  quantity: Quantity,
  role: string | null,
): M | undefined {
  const all = meters.filter((meter) => meter.quantity === quantity)
  if (role !== null) return all.find((meter) => meter.role === role)
  return all.find((meter) => meter.role === undefined) ?? (all.length === 1 ? all[0] : undefined)
}

/** Whether a reading is of this meter. */
export function readBy(meter: InRole, reading: InRole): boolean {
  return meter.quantity === reading.quantity && meter.role === reading.role
}

/** Whether a reading is of the meter that is meant without a role; so is one that no meter of the list could have given. */
export function readByMain(meters: readonly InRole[], reading: InRole): boolean {
  const main = meterFor(meters, reading.quantity, null)
  return main ? readBy(main, reading) : reading.role === undefined
}

/** In which role a step reads a quantity; null: in none. */
export function roleIn(step: Step, quantity: Quantity): string | null {
  const also = step.also.find((other) => other.quantity === quantity)
  return also ? also.role : step.role
}

/** Why nobody here reads a quantity of a step, and what to write: "" where it is not measured at all, or is. */
export function roleWords(meters: readonly InRole[], quantity: Quantity, role: string | null): Words {
  const roles = meters.filter((meter) => meter.quantity === quantity).map((meter) => meter.role ?? null)
  if (roles.length === 0 || meterFor(meters, quantity, role)) return ''
  const named = quantityWords(quantity)
  if (role !== null) return said('cannot.no-meter-in-role', { quantity: named, role })
  const written = roles.map((one) => `"role: ${one}"`)
  return said('cannot.role-unsaid', { quantity: named, roles: joined(written, 'list.or') })
}

import type { Quantity } from '../quantity/quantity.ts'
import type { ReadingRow } from '../schema/driver-rows.ts'

/** A quantity and when it may be asked for next, ms on the bench clock. */
export interface Due {
  readonly quantity: Quantity
  readonly atMs: number
}

/** Which of an instrument's quantities are wanted, and whose turn it is. */
export class Wishes {
  readonly #rows: readonly ReadingRow[]
  readonly #askedMs = new Map<Quantity, number>()
  #wanted: readonly Quantity[] = []

  /** `rows`: the quantities that the instrument reads for the bench. */
  constructor(rows: readonly ReadingRow[]) {
    this.#rows = rows
  }

  /** Most wanted first; what this instrument does not read is left to others. */
  want(wanted: readonly Quantity[]): void {
    this.#wanted = wanted.filter((quantity) => this.#rows.some((row) => row.quantity === quantity))
  }

  asked(quantity: Quantity, atMs: number): void {
    this.#askedMs.set(quantity, atMs)
  }

  /** The wanted quantity that is due first; ties go to the more wanted. Each is due its driver's interval after it was last asked for. */
  next(): Due | undefined {
    const due = this.#wanted.map((quantity) => {
      const everyMs = this.#rows.find((row) => row.quantity === quantity)?.everyMs ?? 0
      return { quantity, atMs: (this.#askedMs.get(quantity) ?? Number.NEGATIVE_INFINITY) + everyMs }
    })
    return due.sort((a, b) => a.atMs - b.atMs)[0]
  }
}

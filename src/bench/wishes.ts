import type { Quantity } from '../quantity/quantity.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'
import type { ReadingRow } from '../schema/files/driver-rows.ts'

/** A quantity, the function of its instrument that reads it, and when it may be asked for next, ms on the bench clock. */
export interface Due {
  readonly quantity: Quantity
  readonly function: string | null
  readonly atMs: number
}

/** A reading that begins sooner after a change than this counts for nothing (key-down, a modulation meter's recovery), ms. */
const CHANGE_MS = 1000
/** Asked for at no time; finite, so that two of them are equally long ago. */
const NEVER = -1e12

/**
 * Which of an instrument's quantities are wanted, and whose turn it is. A box that is several instruments stays in the function of
 * the most wanted quantity. A wanted quantity of another function is visited until it was read once since the bench was last set up
 * anew; after each change and each new wish there is one visit and no more, since a visit takes seconds and a key-down is short.
 */
export class Wishes {
  readonly #rows: readonly ReadingRow[]
  readonly #functions: DriverFile['functions']
  readonly #askedMs = new Map<Quantity, number>()
  /** Read with a number since the bench was set up anew. */
  readonly #seen = new Set<Quantity>()
  #wanted: readonly Quantity[] = []
  #mayVisit = false
  #changedMs = NEVER

  /** `rows`: the quantities that the instrument reads for the bench. */
  constructor(rows: readonly ReadingRow[], functions: DriverFile['functions'] = []) {
    this.#rows = rows
    this.#functions = functions
  }

  /** Most wanted first; what this instrument does not read is left to others. */
  want(wanted: readonly Quantity[]): void {
    const own = wanted.filter((quantity) => this.#rowOf(quantity) !== undefined)
    if (own.join() === this.#wanted.join()) return
    this.#wanted = own
    this.#mayVisit = true
  }

  /** Something was changed on the bench. `anew`: more than the key, so what was seen before may be another thing now. */
  changed(atMs: number, anew: boolean): void {
    this.#changedMs = atMs
    this.#mayVisit = true
    if (anew) this.#seen.clear()
  }

  asked(quantity: Quantity, atMs: number): void {
    this.#askedMs.set(quantity, atMs)
    if (this.#functionOf(quantity) !== this.#functionOf(this.#wanted[0])) this.#mayVisit = false
  }

  /** It was read, with a number. */
  seen(quantity: Quantity): void {
    this.#seen.add(quantity)
  }

  /** The wanted quantity that is due first; ties go to the more wanted. `standsIn`: the function that the box is in now. */
  next(standsIn: string | null = null): Due | undefined {
    const home = this.#functionOf(this.#wanted[0])
    const away = this.#wanted.filter((quantity) => this.#functionOf(quantity) !== home && !this.#seen.has(quantity))
    if (this.#mayVisit && away.length > 0) {
      const longest = away.toSorted((a, b) => this.#lastMs(a) - this.#lastMs(b))
      // What can be read without switching goes first; else what was longest not asked for.
      const visit = longest.find((quantity) => this.#functionOf(quantity) === standsIn) ?? longest[0]
      if (visit !== undefined) return this.#visit(visit, standsIn)
    }
    const here = this.#wanted.filter((quantity) => this.#functionOf(quantity) === home)
    const due = here.map((quantity) => ({ quantity, function: home, atMs: this.#dueMs(quantity) }))
    return due.sort((a, b) => a.atMs - b.atMs)[0]
  }

  /** After a change no earlier than readings count, the time that switching takes included. */
  #visit(quantity: Quantity, standsIn: string | null): Due {
    const name = this.#functionOf(quantity)
    const takesMs = name === standsIn ? 0 : (this.#functions.find((one) => one.name === name)?.takesMs ?? 0)
    const countsMs = this.#changedMs + Math.max(0, CHANGE_MS - takesMs)
    return { quantity, function: name, atMs: Math.max(this.#dueMs(quantity), countsMs) }
  }

  #dueMs(quantity: Quantity): number {
    return this.#lastMs(quantity) + (this.#rowOf(quantity)?.everyMs ?? 0)
  }

  #lastMs(quantity: Quantity): number {
    return this.#askedMs.get(quantity) ?? NEVER
  }

  #functionOf(quantity: Quantity | undefined): string | null {
    return (quantity === undefined ? undefined : this.#rowOf(quantity)?.function) ?? null
  }

  #rowOf(quantity: Quantity): ReadingRow | undefined {
    return this.#rows.find((row) => row.quantity === quantity)
  }
}

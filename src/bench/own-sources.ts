import { BenchError } from '../fault/bench-error.ts'
import type { Instrument } from '../instrument/open-instrument.ts'
import { type Source, sourceOn } from '../instrument/source.ts'
import { type Signal, SOURCES, type SourceName } from '../schema/files/sources.ts'
import type { Clock } from '../system/clock.ts'
import type { Wait } from '../transport/link.ts'

/** What is known of a source: proved off, told to be on, or nothing, which counts as on. */
export type SourceState = 'off' | 'on' | 'unknown'

/** So many signs of life in a row without an answer, and what the last one said is not known any more. */
const MISSED_AT_MOST = 2

/** What one instrument makes for the bench: the signals that it is to make, through losses of its link, and what is known of each. */
export class OwnSources {
  readonly names: readonly SourceName[]
  readonly #told: (name: SourceName, state: SourceState) => void
  readonly #wanted = new Map<SourceName, Signal>()
  readonly #states = new Map<SourceName, SourceState>()
  #opened: ReadonlyMap<SourceName, Source> | null = null
  #missed = 0

  /** `told` of each change of what is known of a source that is guarded. */
  constructor(names: readonly SourceName[], told: (name: SourceName, state: SourceState) => void) {
    this.names = names
    this.#told = told
  }

  /** One of them is a generator: it may be switched on by hand at any time. */
  get guarded(): boolean {
    return this.names.some((name) => SOURCES[name].guarded)
  }

  /** It is asked for a sign of life often: a reading is worth nothing without what it is to make. */
  get watched(): boolean {
    return this.#wanted.size > 0 || this.guarded
  }

  state(name: SourceName): SourceState {
    return this.#states.get(name) ?? 'unknown'
  }

  /** Only what was set is set again after a loss. */
  forget(name: SourceName): void {
    this.#wanted.delete(name)
  }

  /** Begins anew on a link that was just opened, whose start messages have switched everything off; what is not guarded makes its signal again. Throws what `set` throws. */
  async begin(instrument: Instrument, clock: Clock, wait: Wait): Promise<void> {
    this.#opened = new Map(this.names.map((name) => [name, sourceOn(instrument, name, clock)]))
    await this.afterStart(wait)
  }

  /** The start messages were sent. Returns what was on and is not set again: whoever measures by it has to be told. Throws what `set` throws. */
  async afterStart(wait: Wait): Promise<SourceName | null> {
    let lost: SourceName | null = null
    this.#missed = 0
    for (const name of this.names) {
      const wanted = this.#wanted.get(name) ?? null
      if (!SOURCES[name].guarded) {
        if (wanted) await this.#sourceOf(name).set(wanted, wait)
        continue
      }
      if (wanted) lost = name
      this.#wanted.delete(name)
      await this.#sourceOf(name).set(null, wait)
      this.#know(name, 'off')
    }
    return lost
  }

  /** Throws what `Source.set` throws. `may` is asked in the moment before it is set, and throws where it must not be. */
  async set(name: SourceName, signal: Signal | null, wait: Wait, may?: () => void): Promise<void> {
    may?.()
    this.#know(name, signal ? 'on' : 'unknown')
    await this.#sourceOf(name).set(signal, wait)
    if (!signal) this.#know(name, 'off')
    if (signal) this.#wanted.set(name, signal)
    else this.#wanted.delete(name)
  }

  /** The first that does not make what it was set to, as far as it can be asked; a generator that was switched on by hand is known from here on. Throws what asking throws. */
  async gone(wait: Wait): Promise<SourceName | null> {
    for (const name of this.names) {
      const wanted = this.#wanted.get(name)
      if (wanted && !(await this.#sourceOf(name).makes(wanted, wait))) return name
      if (!wanted && SOURCES[name].guarded) this.#know(name, (await this.#sourceOf(name).isOff(wait)) ? 'off' : 'on')
    }
    this.#missed = 0
    return null
  }

  /** The first that is to make something; null where nothing is wanted. */
  get makes(): SourceName | null {
    return [...this.#wanted.keys()][0] ?? null
  }

  /** A question was not answered. */
  missed(): void {
    this.#missed += 1
    if (this.#missed >= MISSED_AT_MOST) this.#knowNothing()
  }

  /** The link is lost. */
  lost(): void {
    this.#opened = null
    this.#knowNothing()
  }

  #knowNothing(): void {
    for (const name of this.names) this.#know(name, 'unknown')
  }

  #know(name: SourceName, state: SourceState): void {
    if (!SOURCES[name].guarded || this.state(name) === state) return
    this.#states.set(name, state)
    this.#told(name, state)
  }

  #sourceOf(name: SourceName): Source {
    const source = this.#opened?.get(name)
    if (!source) throw new BenchError('DRIVER_NO_SUCH_ROW', name, 'nobody makes it here')
    return source
  }
}

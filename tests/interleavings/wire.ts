import type { SimulatedInstrument } from '../../mocks/unit/instrument.ts'
import type { Clock } from '../../src/system/clock.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { BytePort } from '../../src/transport/port/byte-port.ts'
import type { Host } from './host.ts'
import { lane } from './host.ts'

/**
 * What a link can do to its bytes. cut: the connection is gone and nobody can be reached; stall: bytes wait in it; mute: bytes are
 * lost in it; late: `ms` more each way; twice: every reply comes double; garble: a quarter of what is sent has one wrong byte.
 */
export type WireFault =
  | { readonly kind: 'cut' | 'stall' | 'mute' | 'twice' | 'garble' }
  | { readonly kind: 'late'; readonly ms: number }

interface Client {
  cut(reason: string): void
}

/** The link of one instrument: one client at a time, a new one takes the place of the old. Bytes under way outlive their sender. */
export class Wire {
  readonly #unit: SimulatedInstrument
  readonly #rng: Rng
  readonly #down: (arrive: () => void) => void
  readonly #up: (arrive: () => void) => void
  #fault: WireFault | null = null
  #held: (() => void)[] = []
  #client: Client | null = null

  constructor(unit: SimulatedInstrument, base: Clock, rng: Rng) {
    this.#unit = unit
    this.#rng = rng
    const delayMs = () => (this.#fault?.kind === 'late' ? this.#fault.ms : 0)
    this.#down = lane(base, delayMs)
    this.#up = lane(base, delayMs)
  }

  /** No byte comes through. */
  get dark(): boolean {
    return this.#fault?.kind === 'cut' || this.#fault?.kind === 'stall' || this.#fault?.kind === 'mute'
  }

  /** From here on the link does this; null: it is whole again. */
  suffer(fault: WireFault | null): void {
    this.#fault = fault
    if (fault?.kind === 'cut') {
      this.#held = []
      this.#client?.cut('cable out')
    }
    if (fault?.kind === 'stall') return
    for (const pass of this.#held.splice(0)) pass()
  }

  /** A connection of a process: it closes when the process dies. */
  connect(host: Host): BytePort {
    const name = this.#unit.name
    let heard: (bytes: Buffer) => void = () => {}
    let told: (reason: Error) => void = () => {}
    let over: Error | null = null
    const end = (reason: string) => {
      if (over) return false
      over = new Error(`memory:${name}: ${reason}`)
      if (this.#client === client) this.#client = null
      return true
    }
    const client: Client = {
      cut: (reason) => {
        if (!end(reason)) return
        session?.end()
        queueMicrotask(() => host.run('wire', () => over && told(over)))
      },
    }
    const send = (bytes: string) =>
      this.#pass(this.#up, () => {
        const reply = Buffer.from(this.#fault?.kind === 'twice' ? bytes + bytes : bytes, 'latin1')
        host.run('wire', () => {
          if (!over) heard(reply)
        })
      })
    const reached = this.#fault?.kind !== 'cut'
    if (reached) this.#client?.cut('another client took over')
    const session = reached ? this.#unit.attach({ send }) : null
    if (reached) this.#client = client
    else client.cut('nobody answers')
    // What it had sent is under way still, and arrives before the end does.
    host.onDeath(() => {
      if (end('its process died')) this.#pass(this.#down, () => session?.end())
    })
    return {
      address: `memory:${name}`,
      write: async (text) => {
        if (over) throw over
        const sent = this.#fault?.kind === 'garble' && this.#rng() < GARBLED_SHARE ? this.#garbled(text) : text
        this.#pass(this.#down, () => session?.receive(sent))
      },
      onBytes: (listener) => {
        heard = listener
      },
      onGone: (listener) => {
        told = listener
      },
      close: async () => {
        told = () => {}
        if (end('closed')) this.#pass(this.#down, () => session?.end())
      },
    }
  }

  #pass(way: (arrive: () => void) => void, arrive: () => void): void {
    if (this.#fault?.kind === 'stall') this.#held.push(() => way(arrive))
    else if (!this.dark) way(arrive)
  }

  #garbled(text: string): string {
    const at = Math.floor(this.#rng() * Math.max(1, text.length - 1))
    return `${text.slice(0, at)}#${text.slice(at + 1)}`
  }
}

const GARBLED_SHARE = 0.25

import type { Clock } from '../../../src/system/clock.ts'
import type { BytePort, MemoryNet } from '../../../src/transport/port/byte-port.ts'

/** What a script answers to a question; null: nothing at all. */
export type Answer = string | null | (() => string | null)

/** An instrument at the byte boundary that answers from a table, on the test's clock, and remembers what it was told. */
export interface ScriptedInstrument {
  readonly answers: Record<string, Answer>
  /** Every message that came, with its time; of several in one line each, without the colon that leads back to the root. */
  readonly heard: { readonly text: string; readonly atMs: number }[]
  /** Time from a question to its reply, ms. */
  delayMs: number
  /** The next reply to `question` comes this late, ms; those after it as usual. */
  late(question: string, ms: number): void
  /** False: nobody answers at this address any more, and a client is cut off. */
  plug(plugged: boolean): void
  /** It resets itself while the link stays: what it was asked is lost, and so is `*ESE` unless it is kept. What else is lost is the script's. */
  restart(keepsEnable?: boolean): void
  /** Called in the moment after the next reply has left. */
  whenSaid: (() => void) | null
  /** Bytes that nobody asked for. */
  say(text: string): void
}

/** A net of scripted instruments; `*ESE`, `*ESE?`, `*ESR?`, `*IDN?`, `SYST:ERR?` and what asks for settings are known to all, the rest is the script's. */
export function scriptedNet(clock: Clock): {
  readonly net: MemoryNet
  add(name: string, identity: string, answers: Record<string, Answer>): ScriptedInstrument
} {
  const sockets = new Map<string, Socket>()
  return {
    net: { connect: (name) => (sockets.get(name) ?? new Socket(clock, {})).connect(name) },
    add: (name, identity, answers) => {
      const socket = new Socket(clock, {
        '*IDN?': identity,
        '*ESR?': '0',
        'SYST:ERR?': '0,"No error"',
        'UNIT:POW?': 'W',
        'SENS:FREQ:APER?': '+1.00E+00',
        ...answers,
      })
      sockets.set(name, socket)
      return socket
    },
  }
}

class Socket implements ScriptedInstrument {
  readonly answers: Record<string, Answer>
  readonly heard: { text: string; atMs: number }[] = []
  delayMs = 5
  whenSaid: (() => void) | null = null
  readonly #clock: Clock
  #plugged = true
  #client: { hear(text: string): void; cut(why: string): void } | null = null
  #enable = '0'
  #runs = 0
  readonly #late = new Map<string, number>()

  constructor(clock: Clock, answers: Record<string, Answer>) {
    this.#clock = clock
    this.answers = answers
  }

  plug(plugged: boolean): void {
    this.#plugged = plugged
    if (!plugged) this.#client?.cut('cable out')
  }

  late(question: string, ms: number): void {
    this.#late.set(question, ms)
  }

  restart(keepsEnable = false): void {
    this.#runs += 1
    if (!keepsEnable) this.#enable = '0'
  }

  say(text: string): void {
    this.#client?.hear(text)
  }

  connect(name: string): BytePort {
    let onBytes = (_bytes: Buffer) => {}
    let onGone = (_reason: Error) => {}
    let gone: Error | null = null
    const cut = (why: string) => {
      if (gone) return
      gone = new Error(`memory:${name}: ${why}`)
      const reason = gone
      queueMicrotask(() => onGone(reason))
    }
    const client = { hear: (text: string) => (gone ? undefined : onBytes(Buffer.from(text, 'latin1'))), cut }
    if (this.#plugged) this.#client = client
    else cut('nobody answers')
    return {
      address: `memory:${name}`,
      write: async (text) => {
        if (gone) throw gone
        for (const line of text.split('\n').slice(0, -1)) this.#take(line, client)
      },
      onBytes: (listener) => {
        onBytes = listener
      },
      onGone: (listener) => {
        onGone = listener
      },
      close: async () => {
        onGone = () => {}
        cut('closed')
      },
    }
  }

  #take(text: string, client: { hear(text: string): void }): void {
    if (text === '') return
    const units = text.split(';').map((unit, index) => (index === 0 ? unit : unit.replace(/^:/, '')))
    const replies: string[] = []
    let takesMs = this.delayMs
    for (const unit of units) {
      this.heard.push({ text: unit, atMs: this.#clock.nowMs() })
      if (unit.startsWith('*ESE ')) this.#enable = unit.slice(5)
      const answer = unit === '*ESE?' ? this.#enable : this.answers[unit]
      const reply = typeof answer === 'function' ? answer() : answer
      if (reply === null || reply === undefined) {
        if (unit.endsWith('?')) break // what it does not answer ends the message
        continue
      }
      replies.push(reply)
      takesMs = Math.max(takesMs, this.#late.get(unit) ?? 0)
      this.#late.delete(unit)
    }
    if (replies.length === 0) return
    const dueMs = this.#clock.nowMs() + takesMs
    const run = this.#runs
    void this.#clock.sleepUntil(dueMs, new AbortController().signal).then(() => {
      if (run !== this.#runs) return
      client.hear(`${replies.join(';')}\n`)
      this.whenSaid?.()
    })
  }
}

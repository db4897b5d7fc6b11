import type { Clock } from '../src/system/clock.ts'
import { sleep } from '../src/system/clock.ts'
import type { Rng } from '../src/system/rng.ts'
import { headerFits, parseUnit, splitMessage, walkTree } from './command-parser.ts'
import type { Answer, Command, Measurement } from './command-table.ts'
import type { FaultBoard } from './faults.ts'
import { nr3 } from './program-data.ts'
import { createStatus } from './status.ts'

/** The wire as the instrument sees it: bytes out, latin1. */
export interface InstrumentLine {
  send(bytes: string): void
}

/** A client on the line. */
export interface Session {
  /** Bytes from the client, latin1, in any pieces. */
  receive(bytes: string): void
  /** The client is gone: what it asked for is given up. */
  end(): void
}

/** A simulated instrument: bytes in, bytes out, whatever the link is. One session at a time; a new one replaces the old. */
export interface SimulatedInstrument {
  readonly name: string
  readonly identity: string
  attach(line: InstrumentLine): Session
  /** Off and on again: settings as after power-on, "power on" in the event register. */
  powerCycle(): void
}

/** What an instrument file brings: its identity, its table, its settings. */
export interface InstrumentDescription {
  readonly name: string
  /** Third word of the model in the identity: COUNTER, POWER METER. */
  readonly kind: string
  readonly serial: string
  readonly commands: readonly Command[]
  readonly questionable?: () => number
  /** *RST and power-on. */
  readonly reset: () => void
}

/** What every instrument needs of the world. */
export interface InstrumentSurroundings {
  readonly clock: Clock
  readonly rng: Rng
  readonly faults: FaultBoard
}

/** Time an instrument takes over a question that needs no measurement, ms; half of it is chance. */
const ANSWER_MS = 4
/** Input buffer, bytes; more without a terminator is -363 and lost. */
const LONGEST_INPUT = 1024

/** Brings a description to life. */
export function createInstrument(
  description: InstrumentDescription,
  around: InstrumentSurroundings,
): SimulatedInstrument {
  const { name } = description
  const { clock, rng, faults } = around
  const identity = `TRIMWRIGHT SIMULATED,${description.kind},${description.serial},1.0`
  const status = createStatus({
    identity,
    questionable: description.questionable ?? (() => 0),
    reset: description.reset,
  })
  const commands = [...status.commands, ...description.commands]
  const last = new Map<Measurement, readonly number[]>()
  let current: Session | null = null

  /** A command by its header as it was written; what was found once is remembered. */
  const found = new Map<string, Command | null>()
  const lookUp = (header: string): Command | null => {
    const before = found.get(header)
    if (before !== undefined) return before
    const command = commands.find(({ pattern }) => headerFits(pattern, header)) ?? null
    if (found.size < MOST_REMEMBERED) found.set(header, command)
    return command
  }

  const measure = async (meter: Measurement, fresh: boolean, signal: AbortSignal): Promise<Answer> => {
    const before = last.get(meter)
    if (!fresh && !before) return { kind: 'error', code: -230 }
    const taken = fresh || !before ? await meter.take(signal) : before
    if (faults.strikes(name, 'blank')) return { kind: 'reply', text: '' }
    if (faults.strikes(name, 'overrange'))
      return { kind: 'reply', text: taken.map(() => nr3(Number.POSITIVE_INFINITY, meter.digits)).join(',') }
    const values = before && faults.strikes(name, 'frozen value') ? before : taken
    last.set(meter, values)
    return { kind: 'reply', text: values.map((value) => nr3(value, meter.digits)).join(',') }
  }

  const execute = async (header: string, parameters: readonly string[], signal: AbortSignal): Promise<Answer> => {
    const command = lookUp(header)
    if (!command) return { kind: 'error', code: -113 }
    if (command.kind === 'measurement')
      return parameters.length > 0 ? { kind: 'error', code: -108 } : measure(command.meter, command.fresh, signal)
    if (command.kind === 'setting' && !command.pattern.common) {
      const refusal = faults.strikes(name, 'queue error')
      if (refusal) return { kind: 'error', code: refusal.code }
    }
    return command.run(parameters)
  }

  /** One program message: its replies joined by semicolons, or null. An error ends it; what was answered before is sent. */
  const perform = async (message: string, signal: AbortSignal): Promise<string | null> => {
    const units = splitMessage(message)
    if (!units.ok) {
      status.raise(units.error)
      return null
    }
    const replies: string[] = []
    let path = ''
    for (const text of units.value) {
      if (text.trim() === '') continue
      const unit = parseUnit(text)
      if (!unit.ok) {
        status.raise(unit.error, text.trim())
        break
      }
      const walked = walkTree(path, unit.value.header)
      path = walked.path
      const answer = await execute(`${walked.header}${unit.value.query ? '?' : ''}`, unit.value.parameters, signal)
      if (answer.kind === 'error') {
        status.raise(answer.code, text.trim())
        break
      }
      if (answer.kind === 'reply') replies.push(answer.text)
    }
    return replies.length > 0 ? replies.join(';') : null
  }

  const attach = (line: InstrumentLine): Session => {
    current?.end()
    const gone = new AbortController()
    const waiting: string[] = []
    let buffer = ''
    let busy = false
    const send = (bytes: string) => {
      if (!gone.signal.aborted) line.send(bytes)
    }

    const serve = async () => {
      for (let message = waiting.shift(); message !== undefined; message = waiting.shift()) {
        const reply = await perform(message, gone.signal)
        if (reply === null) continue
        await sleep(clock, ANSWER_MS * (0.5 + rng() / 2), gone.signal)
        await sendFaulty(message, reply, send, gone.signal)
      }
      // In the same breath as finding nothing more to do: a question that comes a moment later starts anew.
      busy = false
    }
    const pump = () => {
      if (busy) return
      busy = true
      // Only the end of the session interrupts a message; nobody waits for its reply any more.
      serve().catch((reason: unknown) => {
        if (!gone.signal.aborted) throw reason
      })
    }

    const session: Session = {
      receive: (bytes) => {
        buffer += bytes
        for (let at = buffer.indexOf('\n'); at >= 0; at = buffer.indexOf('\n')) {
          waiting.push(buffer.slice(0, at).replace(/\r$/, ''))
          buffer = buffer.slice(at + 1)
        }
        if (buffer.length > LONGEST_INPUT) {
          buffer = ''
          status.raise(-363)
        }
        if (waiting.length > 0) pump()
      },
      end: () => {
        gone.abort(new Error('session ended'))
        waiting.length = 0
        if (current === session) current = null
      },
    }
    current = session
    return session
  }

  const sendFaulty = async (message: string, reply: string, send: (bytes: string) => void, signal: AbortSignal) => {
    if (faults.strikes(name, 'silent')) return
    const late = faults.strikes(name, 'late')
    if (late) await sleep(clock, late.ms, signal)
    if (faults.strikes(name, 'half line')) return send(reply.slice(0, Math.ceil(reply.length / 2)))
    const echoed = faults.strikes(name, 'echo') ? `${message}\n` : ''
    const stray = faults.strikes(name, 'stray byte') ? '\xfe' : ''
    const end = faults.strikes(name, 'wrong terminator') ? '\r' : '\n'
    const whole = `${echoed}${stray}${reply}${end}`
    const bytes = faults.strikes(name, 'twice') ? whole + whole : whole
    const pieces = faults.strikes(name, 'pieces')
    if (!pieces) return send(bytes)
    for (let at = 0; at < bytes.length; at += PIECE_BYTES) {
      if (at > 0) await sleep(clock, pieces.ms, signal)
      send(bytes.slice(at, at + PIECE_BYTES))
    }
  }

  return {
    name,
    identity,
    attach,
    powerCycle: () => {
      current?.end()
      last.clear()
      description.reset()
      status.powerOn()
    },
  }
}

const PIECE_BYTES = 3
const MOST_REMEMBERED = 500

import { type Clock, sleep } from '../../src/system/clock.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { FaultBoard } from './faults.ts'

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

/** What every instrument needs of the world. */
export interface InstrumentSurroundings {
  readonly clock: Clock
  readonly rng: Rng
  readonly faults: FaultBoard
}

/** What an instrument makes of its lines. */
export interface LineService {
  readonly name: string
  readonly around: InstrumentSurroundings
  /** What ends a message and a reply. */
  readonly end: '\n' | '\r'
  /** One message: its reply, or null for none. */
  readonly perform: (message: string, signal: AbortSignal) => Promise<string | null>
  /** More came without an end than it can hold; it is lost. */
  readonly overrun: () => void
}

/** Lines in, lines out, one message after the other, with the faults of the board on each reply. A new client takes the place of the old. */
export function serveLines(service: LineService): {
  attach(line: InstrumentLine): Session
  hangUp(): void
  /** What it works on and what waits is lost; the client stays. */
  drop(): void
} {
  const { end, perform } = service
  const { clock, rng } = service.around
  let current: Session | null = null
  let forget = () => {}

  const attach = (line: InstrumentLine): Session => {
    current?.end()
    let over = false
    const waiting: string[] = []
    let buffer = ''
    /** One run through the messages that wait; ended by a reset, or with the session. */
    let work: AbortController | null = null

    const serve = async ({ signal }: AbortController) => {
      const send = (bytes: string) => {
        if (!signal.aborted) line.send(bytes)
      }
      for (let message = waiting.shift(); message !== undefined; message = waiting.shift()) {
        const reply = await perform(message, signal)
        if (reply === null) continue
        await sleep(clock, ANSWER_MS * (0.5 + rng() / 2), signal)
        await sendWithFaults(service, message, reply, send, signal)
      }
      // In the same breath as finding nothing more to do: a question that comes a moment later starts anew.
      if (!signal.aborted) work = null
    }
    const pump = () => {
      if (work) return
      const own = new AbortController()
      work = own
      // Only a reset or the end of the session interrupts a message; nobody waits for its reply any more.
      serve(own).catch((reason: unknown) => {
        if (!own.signal.aborted) throw reason
      })
    }
    const drop = (why: string) => {
      waiting.length = 0
      buffer = ''
      work?.abort(new Error(why))
      work = null
    }

    const session: Session = {
      receive: (bytes) => {
        if (over) return
        buffer += bytes
        for (let at = buffer.indexOf(end); at >= 0; at = buffer.indexOf(end)) {
          waiting.push(buffer.slice(0, at).replace(STRAY_ENDS, ''))
          buffer = buffer.slice(at + 1)
        }
        if (buffer.length > LONGEST_INPUT) {
          buffer = ''
          service.overrun()
        }
        if (waiting.length > 0) pump()
      },
      end: () => {
        drop('session ended')
        over = true
        if (current === session) current = null
      },
    }
    current = session
    forget = () => drop('it reset itself')
    return session
  }

  return { attach, hangUp: () => current?.end(), drop: () => forget() }
}

/** Sends the reply to a message as the faults of the board have it: late, in pieces, twice, half of it, none. */
async function sendWithFaults(
  { name, end, around }: LineService,
  message: string,
  reply: string,
  send: (bytes: string) => void,
  signal: AbortSignal,
): Promise<void> {
  const { clock, faults } = around
  const other = end === '\n' ? '\r' : '\n'
  if (faults.strikes(name, 'silent')) return
  const late = faults.strikes(name, 'late')
  if (late) await sleep(clock, late.ms, signal)
  if (faults.strikes(name, 'half line')) return send(reply.slice(0, Math.ceil(reply.length / 2)))
  const echoed = faults.strikes(name, 'echo') ? `${message}${end}` : ''
  const stray = faults.strikes(name, 'stray byte') ? '\xfe' : ''
  const last = faults.strikes(name, 'wrong terminator') ? other : end
  const whole = `${echoed}${stray}${reply}${last}`
  const bytes = faults.strikes(name, 'twice') ? whole + whole : whole
  const pieces = faults.strikes(name, 'pieces')
  if (!pieces) return send(bytes)
  for (let at = 0; at < bytes.length; at += PIECE_BYTES) {
    if (at > 0) await sleep(clock, pieces.ms, signal)
    send(bytes.slice(at, at + PIECE_BYTES))
  }
}

/** Time an instrument takes over a question that needs no measurement, ms; half of it is chance. */
const ANSWER_MS = 4
/** Input buffer, bytes; more without a terminator is lost. */
const LONGEST_INPUT = 1024
const PIECE_BYTES = 3
/** The other half of a CR LF. */
const STRAY_ENDS = /^\n|\r$/g

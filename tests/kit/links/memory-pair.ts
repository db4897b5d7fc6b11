import { setMaxListeners } from 'node:events'
import type { Clock } from '../../../src/system/clock.ts'
import type { BytePort, MemoryNet } from '../../../src/transport/port/byte-port.ts'

/** What the instrument does with a line: nothing (null), says something, or something worse. */
export type Act =
  | null
  | string
  | {
      readonly say: string
      /** How long it works on it, ms; what it is asked meanwhile waits. */
      readonly afterMs?: number
      /** It answers beside whatever else it works on, and what it is asked meanwhile does not wait. */
      readonly beside?: boolean
      /** What ends the reply instead of the usual end; "" leaves half a line. */
      readonly end?: string
      /** The connection goes right behind these bytes. */
      readonly thenGone?: boolean
    }

/** How the instrument behaves. `answer` sees each line; undefined leaves it to the common commands (*ESE, *CLS, *IDN?; silence for the rest). */
export interface MemoryManners {
  readonly answer?: (line: string) => Act | undefined
  readonly end?: string
  /** Replies leave in pieces of so many bytes, `pieceGapMs` apart; whole when left out. */
  readonly pieceBytes?: number
  readonly pieceGapMs?: number
  /** It takes no bytes: writes never end. */
  readonly blocked?: () => boolean
}

/** An instrument on a wire in memory, on the bench clock. */
export interface MemoryInstrument {
  readonly net: MemoryNet
  /** Every line heard, in order; "" for a bare terminator. */
  readonly heard: string[]
  connections(): number
  /** Sends text as it is, unasked. */
  say(text: string, afterMs?: number): void
  /** The plug is pulled. */
  vanish(why?: string): void
}

/** Brings an instrument to life on `clock`; one connection speaks at a time, the newest. */
export function memoryInstrument(clock: Clock, manners: MemoryManners = {}): MemoryInstrument {
  const { end = '\n', pieceBytes, pieceGapMs = 0 } = manners
  const heard: string[] = []
  const never = new AbortController().signal
  setMaxListeners(0, never)
  let connected: Line | null = null
  let connections = 0
  let enabled = '0'
  let freeMs = 0

  const common = (line: string): Act => {
    if (line.startsWith('*ESE ')) {
      enabled = line.slice(5)
      return null
    }
    if (line === '*ESE?') return enabled
    return line === '*IDN?' ? 'EXAMPLE,MEMORY,0,1' : null
  }

  const send = async (line: Line, text: string) => {
    const bytes = Buffer.from(text, 'latin1')
    const piece = pieceBytes ?? Math.max(1, bytes.length)
    for (let at = 0; at < bytes.length; at += piece) {
      if (at > 0 && pieceGapMs > 0) await clock.sleepUntil(clock.nowMs() + pieceGapMs, never)
      line.bytes(bytes.subarray(at, at + piece))
    }
  }

  const act = async (line: Line, said: string) => {
    const beganMs = Math.max(clock.nowMs(), freeMs)
    const own = manners.answer?.(said)
    const todo = own === undefined ? common(said) : own
    if (todo === null) return
    const whole = typeof todo === 'string' ? { say: todo } : todo
    const { say, afterMs = 0, beside = false, end: ownEnd = end, thenGone = false } = whole
    const readyMs = beside ? clock.nowMs() + afterMs : beganMs + afterMs
    if (!beside) freeMs = readyMs
    if (readyMs > clock.nowMs()) await clock.sleepUntil(readyMs, never)
    await send(line, say + ownEnd)
    if (thenGone) line.gone(new Error('memory instrument went away'))
  }

  const connect = (name: string): BytePort => {
    connections += 1
    let held = ''
    const line = openLine()
    connected = line
    return {
      address: `memory:${name}`,
      write: (text) => {
        const gone = line.goneBecause()
        if (gone) return Promise.reject(gone)
        if (manners.blocked?.()) return new Promise(() => {})
        const lines = (held + text).split('\n')
        held = lines.pop() ?? ''
        for (const said of lines) {
          heard.push(said)
          void act(line, said)
        }
        return Promise.resolve()
      },
      onBytes: line.onBytes,
      onGone: line.onGone,
      close: async () => line.gone(new Error('closed'), true),
    }
  }

  return {
    net: { connect },
    heard,
    connections: () => connections,
    say: (text, afterMs = 0) => {
      const line = connected
      const speak = () => {
        if (line) void send(line, text)
      }
      if (afterMs === 0) speak()
      else void clock.sleepUntil(clock.nowMs() + afterMs, never).then(speak)
    },
    vanish: (why = 'the plug is out') => connected?.gone(new Error(why)),
  }
}

interface Line {
  bytes(bytes: Buffer): void
  gone(why: Error, byOwner?: boolean): void
  goneBecause(): Error | null
  onBytes(listener: (bytes: Buffer) => void): void
  onGone(listener: (reason: Error) => void): void
}

function openLine(): Line {
  let toBytes: (bytes: Buffer) => void = () => {}
  let toGone: (reason: Error) => void = () => {}
  let reason: Error | null = null
  return {
    bytes: (bytes) => {
      if (reason === null) toBytes(bytes)
    },
    gone: (why, byOwner = false) => {
      if (reason) return
      reason = why
      if (!byOwner) toGone(why)
    },
    goneBecause: () => reason,
    onBytes: (listener) => {
      toBytes = listener
    },
    onGone: (listener) => {
      toGone = listener
    },
  }
}

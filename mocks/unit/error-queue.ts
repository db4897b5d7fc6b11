/** Texts of the error numbers that the simulated instruments raise (SCPI-1999, volume 2, chapter 21). */
export const ERROR_TEXTS: Readonly<Record<number, string>> = {
  0: 'No error',
  [-100]: 'Command error',
  [-101]: 'Invalid character',
  [-102]: 'Syntax error',
  [-103]: 'Invalid separator',
  [-104]: 'Data type error',
  [-108]: 'Parameter not allowed',
  [-109]: 'Missing parameter',
  [-111]: 'Header separator error',
  [-112]: 'Program mnemonic too long',
  [-113]: 'Undefined header',
  [-120]: 'Numeric data error',
  [-121]: 'Invalid character in number',
  [-123]: 'Exponent too large',
  [-124]: 'Too many digits',
  [-131]: 'Invalid suffix',
  [-134]: 'Suffix too long',
  [-138]: 'Suffix not allowed',
  [-141]: 'Invalid character data',
  [-151]: 'Invalid string data',
  [-200]: 'Execution error',
  [-201]: 'Invalid while in local',
  [-221]: 'Settings conflict',
  [-222]: 'Data out of range',
  [-224]: 'Illegal parameter value',
  [-230]: 'Data corrupt or stale',
  [-240]: 'Hardware error',
  [-300]: 'Device-specific error',
  [-310]: 'System error',
  [-350]: 'Queue overflow',
  [-363]: 'Input buffer overrun',
  [-400]: 'Query error',
  [-410]: 'Query INTERRUPTED',
  [-420]: 'Query UNTERMINATED',
  [-430]: 'Query DEADLOCKED',
}

/** The error queue of an instrument: first in first out, at most `depth` items, the newest replaced by -350 when full. */
export interface ErrorQueue {
  push(code: number, info?: string): void
  /** The reply to SYSTem:ERRor[:NEXT]?, which removes the item. */
  next(): string
  /** The reply to SYSTem:ERRor:ALL?, which empties the queue. */
  all(): string
  count(): number
  clear(): void
}

/** An empty queue. */
export function createErrorQueue(depth: number): ErrorQueue {
  const items: string[] = []
  const itemOf = (code: number, info = '') => {
    const text = ERROR_TEXTS[code] ?? 'Device-specific error'
    const whole = (info === '' ? text : `${text};${info}`).replaceAll('"', "'").slice(0, LONGEST_TEXT)
    return `${code},"${whole}"`
  }
  const empty = itemOf(0)
  return {
    push: (code, info) => {
      if (items.length < depth) items.push(itemOf(code, info))
      else items[depth - 1] = itemOf(-350)
    },
    next: () => items.shift() ?? empty,
    all: () => (items.length === 0 ? empty : items.splice(0).join(',')),
    count: () => items.length,
    clear: () => {
      items.length = 0
    },
  }
}

const LONGEST_TEXT = 240

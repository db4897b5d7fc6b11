import pino from 'pino'

/** What the program says to whoever reads its log. Never the only place a fault is told. */
export interface Log {
  info(facts: object, words: string): void
  warn(facts: object, words: string): void
  error(facts: object, words: string): void
}

/** JSON lines on standard error, so that standard output stays free for answers. `level`: a pino level name. */
export function openLog(name: string, level = process.env.TRIMWRIGHT_LOG ?? 'warn'): Log {
  return pino({ name, level, base: { name } }, pino.destination({ fd: 2, sync: true }))
}

/** A log that keeps silent: for tests and for runs whose output is the answer. */
export const silentLog: Log = { info: () => {}, warn: () => {}, error: () => {} }

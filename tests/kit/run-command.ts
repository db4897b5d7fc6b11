import { spawn } from 'node:child_process'
import { join } from 'node:path'

const ROOT = join(import.meta.dirname, '..', '..')

export interface Ran {
  readonly code: number | null
  readonly out: string
  readonly err: string
}

/** Runs `trimwright WORDS` as a person would and waits for its end; `endAfterMs` sends SIGTERM then. */
export function runCommand(words: readonly string[], endAfterMs?: number): Promise<Ran> {
  const child = spawn(process.execPath, ['src/trimwright.cjs', ...words], {
    cwd: ROOT,
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let out = ''
  let err = ''
  child.stdout.on('data', (text) => {
    out += text
  })
  child.stderr.on('data', (text) => {
    err += text
  })
  if (endAfterMs !== undefined) setTimeout(() => child.kill('SIGTERM'), endAfterMs).unref()
  return new Promise((resolve) => child.once('close', (code) => resolve({ code, out, err })))
}

import { spawn } from 'node:child_process'
import { join } from 'node:path'

const ROOT = join(import.meta.dirname, '..', '..', '..')

export interface Ran {
  readonly code: number | null
  readonly out: string
  readonly err: string
}

/** Runs `trimwright WORDS` as a person would and waits for its end; SIGTERM is sent as soon as `endWhen` holds for what it said so far. `env`: more of the environment. */
export function runCommand(
  words: readonly string[],
  endWhen?: (out: string) => boolean,
  env: Readonly<Record<string, string>> = {},
): Promise<Ran> {
  const child = spawn(process.execPath, ['src/trimwright.cjs', ...words], {
    cwd: ROOT,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let out = ''
  let err = ''
  child.stdout.on('data', (text) => {
    out += text
    if (endWhen?.(out)) child.kill('SIGTERM')
  })
  child.stderr.on('data', (text) => {
    err += text
  })
  return new Promise((resolve) => child.once('close', (code) => resolve({ code, out, err })))
}

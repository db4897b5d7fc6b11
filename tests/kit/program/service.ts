import { spawn } from 'node:child_process'
import { join } from 'node:path'
import type { Pace } from '../../../src/system/clock.ts'

const ROOT = join(import.meta.dirname, '..', '..', '..')

/** The program as a person starts it, in a process of its own, on the simulated bench. */
export interface ServiceProcess {
  readonly pid: number
  readonly url: string
  readonly socketUrl: string
  readonly token: string
  readonly setPage: string
  /** Where and how fast its clock runs. */
  readonly pace: Pace
  /** Real time, ms since 1970, of a reading of the service's clock. */
  realMs(clockMs: number): number
  /** What it has said on standard error. */
  said(): string
  /** SIGTERM, and resolves with the exit code. */
  close(): Promise<number | null>
}

/** Starts `serve --json` on a free port and waits until it serves. Rejects with what it said when it ends before that. */
export async function startService(more: readonly string[] = []): Promise<ServiceProcess> {
  const child = spawn(process.execPath, ['src/trimwright.cjs', 'serve', '--json', '--port', '0', ...more], {
    cwd: ROOT,
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let said = ''
  child.stderr.on('data', (text) => {
    said += text
  })
  const ended = new Promise<number | null>((resolve) => child.once('exit', resolve))
  const line = await new Promise<string>((resolve, reject) => {
    let text = ''
    child.stdout.on('data', (piece) => {
      text += piece
      if (text.includes('\n')) resolve(text)
    })
    ended.then((code) => reject(new Error(`the service ended with ${code}: ${said}`)))
  })
  const { gauge, set, pace } = JSON.parse(line)
  const page = await (await fetch(gauge)).text()
  const token = /name="trimwright-token"\s+content="([^"]+)"/.exec(page)?.[1] ?? ''
  return {
    pid: child.pid ?? 0,
    url: gauge,
    socketUrl: `${gauge.replace('http', 'ws')}live`,
    token,
    setPage: set,
    pace,
    realMs: (clockMs) => pace.originMs + clockMs / pace.times,
    said: () => said,
    close: async () => {
      child.kill('SIGTERM')
      return ended
    },
  }
}

import { execFileSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { wordsOf } from '../../fault/bench-error.ts'

/** One process, told from a later one under the same number by when it was started. */
export interface ProcessLife {
  readonly pid: number
  /** When it was started, in the system's own words; "" where the system does not say. */
  readonly start: string
}

/** The process under `pid`; null when there is none, or one that has ended and only waits to be collected. */
export function lifeOf(pid: number): ProcessLife | null {
  if (process.platform === 'linux') return lifeOnLinux(pid)
  if (!answers(pid)) return null
  return process.platform === 'win32' ? { pid, start: '' } : lifeByPs(pid)
}

/** Whether that very process is still there. */
export function lives(life: ProcessLife): boolean {
  return lifeOf(life.pid)?.start === life.start
}

/** Ends that very process by force, a stopped one too; why it cannot be done, null when it was done or nobody is there. */
export function killLife(life: ProcessLife): string | null {
  if (!lives(life)) return null
  try {
    process.kill(life.pid, 'SIGKILL')
    return null
  } catch (error) {
    return lives(life) ? wordsOf(error) : null
  }
}

/** Fields after the name, which may hold blanks and brackets: state is the first, the start in ticks since the system came up the 20th. */
function lifeOnLinux(pid: number): ProcessLife | null {
  try {
    const text = readFileSync(`/proc/${pid}/stat`, 'utf8')
    const fields = text.slice(text.lastIndexOf(')') + 2).split(' ')
    const [state = 'X'] = fields
    return 'ZXx'.includes(state) ? null : { pid, start: `${boot()} ${fields[19] ?? ''}` }
  } catch {
    return null // no such process
  }
}

/** Ticks since the system came up are the same again after it came up anew. */
function boot(): string {
  try {
    return readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim()
  } catch {
    return ''
  }
}

function lifeByPs(pid: number): ProcessLife | null {
  try {
    const text = execFileSync('ps', ['-o', 'stat=,lstart=', '-p', String(pid)], { encoding: 'utf8' }).trim()
    const [state = 'Z', ...start] = text.split(/\s+/)
    return state.startsWith('Z') ? null : { pid, start: start.join(' ') }
  } catch {
    return null // ps knows of no such process
  }
}

function answers(pid: number): boolean {
  try {
    process.kill(pid, 0)
    return true
  } catch (error) {
    return error instanceof Error && 'code' in error && error.code === 'EPERM'
  }
}

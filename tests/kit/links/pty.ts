import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { accessSync, constants } from 'node:fs'

/** Two ends of a pseudo-terminal pair, as file names; what is written to one is read from the other. */
export interface PtyPair {
  readonly ours: string
  readonly theirs: string
  /** Pulls the plug: both ends vanish. Resolves when they are gone. */
  unplug(): Promise<void>
}

/** Why no pseudo-terminal can be had here; null when it can. For `test.skipIf`, which prints it with the name. */
export const noPtyBecause: string | null = findSocat() ? null : 'socat is not installed'

/** A raw pair made by socat, ended by its process id. Throws when the names do not come within 5 s. */
export async function openPty(): Promise<PtyPair> {
  const socat = spawn('socat', ['-d', '-d', 'pty,raw,echo=0', 'pty,raw,echo=0'], {
    stdio: ['ignore', 'ignore', 'pipe'],
  })
  const [ours, theirs] = await namesOf(socat)
  const unplug = async () => {
    if (socat.exitCode !== null || socat.signalCode !== null) return
    const gone = once(socat, 'exit')
    socat.kill('SIGKILL')
    await gone
  }
  return { ours, theirs, unplug }
}

function namesOf(socat: ChildProcess): Promise<[string, string]> {
  return new Promise((resolve, reject) => {
    let said = ''
    const late = setTimeout(() => {
      socat.kill('SIGKILL')
      reject(new Error(`socat named no pair within 5 s: ${said}`))
    }, 5000)
    socat.once('error', reject)
    socat.stderr?.on('data', (chunk: Buffer) => {
      said += chunk.toString('latin1')
      const [ours, theirs] = Array.from(said.matchAll(/PTY is (\S+)\n/g), (found) => found[1])
      if (ours === undefined || theirs === undefined || !said.includes('starting data transfer')) return
      clearTimeout(late)
      resolve([ours, theirs])
    })
  })
}

function findSocat(): boolean {
  return (process.env.PATH ?? '').split(':').some((folder) => {
    try {
      accessSync(`${folder}/socat`, constants.X_OK)
      return true
    } catch {
      return false // not in this folder
    }
  })
}

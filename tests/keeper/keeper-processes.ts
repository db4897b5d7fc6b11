import { readdirSync, readFileSync } from 'node:fs'

/** A keeper or standby that is there now. */
export interface KeeperProcess {
  readonly pid: number
  readonly role: 'keeper' | 'standby'
}

/**
 * Keepers and standbys of the supply at `address`, found by their arguments: what was started by whom does not matter, what is there
 * does. Read from /proc, since asking `ps` would stop this process, and with it the simulated supply, for a tenth of a second.
 */
export function keeperProcesses(address: string): readonly KeeperProcess[] {
  return readdirSync('/proc').flatMap((name): readonly KeeperProcess[] => {
    if (!/^\d+$/.test(name)) return []
    const args = argumentsOf(name)
    if (!args.includes('keeper-main.cjs') || !args.includes(`"address":"${address}"`)) return []
    return [{ pid: Number(name), role: args.includes('"keeperPid"') ? 'standby' : 'keeper' }]
  })
}

/** "" for a process that has ended, also while it waits to be collected. */
function argumentsOf(pid: string): string {
  try {
    return readFileSync(`/proc/${pid}/cmdline`, 'utf8')
  } catch {
    return ''
  }
}

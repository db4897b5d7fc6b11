import { createHash, randomBytes } from 'node:crypto'
import { linkSync, readFileSync, renameSync, unlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { BenchError } from '../../fault/bench-error.ts'
import { LeaseHolder } from '../../schema/messages/standby-message.ts'
import { readAddress } from '../../transport/port/address.ts'
import { said } from '../../words/said/said.ts'
import { lifeOf, lives } from './process-life.ts'

/** The right to hold a supply. */
export interface Lease {
  /** Still this process's own. */
  isOurs(): boolean
  /** Gives it back; one that is not ours any more is left alone. */
  giveBack(): void
}

/** The lease was taken, or somebody alive holds it. */
export type Taking = { readonly lease: Lease } | { readonly heldBy: LeaseHolder }

/** The lease file of a supply. The same supply has the same file under every name of its port. */
export function leasePath(folder: string, address: string): string {
  return join(folder, `${createHash('sha256').update(readAddress(address).place()).digest('hex').slice(0, 16)}.lease`)
}

/** Who holds the lease and is alive; null when it is free. */
export function holderOf(path: string): LeaseHolder | null {
  const found = written(path)
  return found?.holder && lives(found.holder) ? found.holder : null
}

/** Takes the lease for this process where it is free: never given, given back, or its holder is gone. Throws what the disk throws. */
export function takeLease(path: string, about: { readonly role: LeaseHolder['role']; readonly who: string }): Taking {
  const life = lifeOf(process.pid) ?? { pid: process.pid, start: '' }
  const own: LeaseHolder = { ...life, ...about }
  const text = `${JSON.stringify(own)}\n`
  const mine = aside(path)
  writeFileSync(mine, text, { mode: 0o600 })
  try {
    for (let tries = 0; tries < MOST_TRIES; tries++) {
      if (placed(mine, path)) return { lease: leaseOn(path, text) }
      const holder = holderOf(path)
      if (holder) return { heldBy: holder }
      clear(path)
    }
    throw new BenchError('KEEPER_UNREADABLE', about.who, said('keeper.lease-contended', { path }))
  } finally {
    remove(mine)
  }
}

const MOST_TRIES = 20

function leaseOn(path: string, text: string): Lease {
  const isOurs = () => written(path)?.text === text
  return {
    isOurs,
    giveBack: () => {
      if (isOurs()) remove(path)
    },
  }
}

/** Takes a dead holder's lease away. Another may have done so and taken it meanwhile: a living holder's is put back. */
function clear(path: string): void {
  const old = aside(path)
  try {
    renameSync(path, old)
  } catch {
    return // cleared by another
  }
  if (holderOf(old)) placed(old, path)
  remove(old)
}

function written(path: string): { readonly text: string; readonly holder: LeaseHolder | null } | null {
  try {
    const text = readFileSync(path, 'utf8')
    return { text, holder: holderIn(text) }
  } catch {
    return null // nobody holds it
  }
}

function holderIn(text: string): LeaseHolder | null {
  try {
    return LeaseHolder.safeParse(JSON.parse(text)).data ?? null
  } catch {
    return null // cut short by a power cut: whoever wrote it is gone
  }
}

/** In place whole or not at all: whoever reads a lease reads all of it. */
function placed(file: string, path: string): boolean {
  try {
    linkSync(file, path)
    return true
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'EEXIST') return false
    throw error
  }
}

function aside(path: string): string {
  return `${path}.${process.pid}-${randomBytes(4).toString('hex')}`
}

function remove(path: string): void {
  try {
    unlinkSync(path)
  } catch {
    // gone already
  }
}

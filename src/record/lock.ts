import { randomBytes } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { link, unlink, writeFile } from 'node:fs/promises'
import { BenchError } from '../fault/bench-error.ts'
import { said } from '../words/said/said.ts'

/** Lock files that this process holds. */
const held = new Set<string>()

/**
 * Keeps two services from writing one journal: FILE.lock with the number of the process, beside it. One left by a process that
 * is gone is taken over. Throws RECORD_IN_USE. Resolves to what gives it back, which never throws.
 */
export async function lockFile(file: string): Promise<() => Promise<void>> {
  const lock = `${file}.lock`
  if (held.has(lock)) throw inUse(file, lock, process.pid)
  held.add(lock)
  try {
    await take(file, lock)
  } catch (error) {
    held.delete(lock)
    throw error
  }
  return async () => {
    await unlink(lock).catch(() => {}) // gone already: nobody is locked out
    held.delete(lock)
  }
}

/** Written whole beside it, then put in place in one go, so that nobody reads a lock without its number. */
async function take(file: string, lock: string): Promise<void> {
  const mine = `${lock}.${process.pid}-${randomBytes(4).toString('hex')}`
  await writeFile(mine, `${process.pid}\n`, { mode: 0o600 })
  try {
    if (await placed(mine, lock)) return
    const holder = holderOf(lock)
    if (holder !== null && holder !== process.pid && isAlive(holder)) throw inUse(file, lock, holder)
    await unlink(lock).catch(() => {}) // another took it away first: the next line says who has it
    if (!(await placed(mine, lock))) throw inUse(file, lock, holderOf(lock) ?? 0)
  } finally {
    await unlink(mine).catch(() => {}) // put in place under its other name
  }
}

async function placed(mine: string, lock: string): Promise<boolean> {
  try {
    await link(mine, lock)
    return true
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'EEXIST') return false
    throw error
  }
}

function holderOf(lock: string): number | null {
  try {
    const pid = Number.parseInt(readFileSync(lock, 'utf8'), 10)
    return Number.isInteger(pid) && pid > 0 ? pid : null
  } catch {
    return null
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0)
    return true
  } catch (error) {
    return error instanceof Error && 'code' in error && error.code === 'EPERM'
  }
}

function inUse(file: string, lock: string, pid: number): BenchError {
  return new BenchError('RECORD_IN_USE', file, said('record.in-use', { pid, lock }))
}

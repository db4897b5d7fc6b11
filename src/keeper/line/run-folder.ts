import { randomBytes } from 'node:crypto'
import { lstatSync, mkdirSync } from 'node:fs'
import { tmpdir, userInfo } from 'node:os'
import { join } from 'node:path'
import { BenchError, wordsOf } from '../../fault/bench-error.ts'
import { said, type Words } from '../../words/said/said.ts'

/** Where all Trimwright processes of this user keep leases and sockets, unless told otherwise. */
export function usualRunFolder(): string {
  const { uid, username } = userInfo()
  return join(tmpdir(), `trimwright-${uid >= 0 ? uid : username}`)
}

/** Makes the folder, for this user alone. Throws KEEPER_REFUSED where somebody else owns it or may write to it. */
export function openRunFolder(folder: string): string {
  const refuse = (happened: Words, cause?: unknown) => new BenchError('KEEPER_REFUSED', folder, happened, cause)
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 })
  } catch (error) {
    throw refuse(said('keeper.run-folder-not-made', { why: wordsOf(error) }), error)
  }
  if (process.platform === 'win32') return folder
  const { uid, mode } = lstatSync(folder)
  if (uid !== userInfo().uid) throw refuse(said('keeper.run-folder-foreign'))
  if ((mode & 0o077) !== 0) throw refuse(said('keeper.run-folder-open'))
  return folder
}

/** A new address for a socket between keeper and standby; short, since systems allow some hundred characters. */
export function newSocket(folder: string): string {
  const name = randomBytes(6).toString('hex')
  return process.platform === 'win32' ? `\\\\.\\pipe\\trimwright-${name}` : join(folder, `${name}.sock`)
}

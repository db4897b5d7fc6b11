import { readlinkSync } from 'node:fs'
import { mkdtemp, open } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

/** What a process asked of its disk, in the order in which the disk was done: "write", "sync", "truncate"; per file name. */
export interface WatchedDisk {
  /** Of one file; a folder is a file here too. */
  did(file: string): readonly string[]
  /** Bytes that were written or cut off and that no finished sync covers: a power cut may undo them. */
  unsafe(file: string): boolean
  /** The next sync of any file fails with EIO and has done nothing. */
  failSync(): void
  /** The same of the next time that a file is cut. */
  failTruncate(): void
  /** Everything goes on as before. */
  release(): void
}

type Call = (...words: unknown[]) => Promise<unknown>
const WATCHED = { write: 'write', writeFile: 'write', truncate: 'truncate', datasync: 'sync', sync: 'sync' } as const
const NAMES = ['write', 'writeFile', 'truncate', 'datasync', 'sync'] as const

/** Stands between this process and its open files, at the methods of Node's own file handle: each still does what it does. */
export async function watchDisk(): Promise<WatchedDisk> {
  const probe = await open(join(await mkdtemp(join(tmpdir(), 'disk-')), 'probe'), 'w')
  const handles = Object.getPrototypeOf(probe) as Record<keyof typeof WATCHED, Call> // Node exports no class
  await probe.close()
  const all: { readonly file: string; readonly what: string }[] = []
  const unsynced = new Set<string>()
  const failing = new Set<string>()
  const before = NAMES.map((name) => [name, handles[name]] as const)
  for (const [name, usual] of before) {
    const what = WATCHED[name]
    handles[name] = async function (this: { readonly fd: number }, ...words) {
      const file = readlinkSync(`/proc/self/fd/${this.fd}`)
      if (what !== 'sync') unsynced.add(file)
      if (failing.delete(what)) throw Object.assign(new Error(`EIO: i/o error, ${name}`), { code: 'EIO' })
      const answer = await usual.apply(this, words)
      all.push({ file, what })
      if (what === 'sync') unsynced.delete(file)
      return answer
    }
  }
  return {
    did: (file) => all.flatMap((one) => (one.file === file ? [one.what] : [])),
    unsafe: (file) => unsynced.has(file),
    failSync: () => void failing.add('sync'),
    failTruncate: () => void failing.add('truncate'),
    release: () => Object.assign(handles, Object.fromEntries(before)),
  }
}

import { existsSync } from 'node:fs'
import { open, rename } from 'node:fs/promises'
import { dirname } from 'node:path'
import { CompactSign } from 'jose'
import { BenchError, wordsOf } from '../fault/bench-error.ts'
import type { SignedRecord } from '../schema/messages/live-frame.ts'
import { journalsIn, syncFolder } from './journal.ts'
import { type SigningKey, signingKey } from './key.ts'
import { readJournal } from './read-journal.ts'
import { recordOf } from './record-of.ts'

/** Media type in the JWS header. */
const TYPE = 'alignment-record+json'

/** A record as a compact JWS (RFC 7515) with EdDSA (RFC 8037); the public key stands in its header. */
export async function signPayload(payload: Uint8Array, key: SigningKey): Promise<string> {
  const { kty, crv, x } = key.publicKey.export({ format: 'jwk' })
  return new CompactSign(payload)
    .setProtectedHeader({
      alg: 'EdDSA',
      typ: TYPE,
      kid: key.fingerprint,
      jwk: { kty: kty ?? '', crv: crv ?? '', x: typeof x === 'string' ? x : '' },
    })
    .sign(key.privateKey)
}

/**
 * Makes the signed record of a journal beside it, from what is on disk; the same journal and key give the same bytes. Throws what reading
 * and the key throw, RECORD_WRITE_FAILED.
 */
export async function signJournal(journalFile: string, keyFolder: string): Promise<SignedRecord> {
  const key = signingKey(keyFolder)
  const payload = recordOf(readJournal(journalFile))
  const signed = await signPayload(new TextEncoder().encode(JSON.stringify(payload)), key)
  const record = recordFileOf(journalFile)
  try {
    await writeWhole(record, signed)
  } catch (error) {
    throw new BenchError('RECORD_WRITE_FAILED', record, wordsOf(error), error)
  }
  return { record, fingerprint: key.fingerprint }
}

/** A closed job whose record was not made, because the program ended or the key was refused between the two; made now, or why not. */
export interface LeftOver {
  readonly journal: string
  readonly signed: SignedRecord | null
  readonly why: string
}

/** Makes the records that are missing below FOLDER/jobs: of journals that are closed and have none beside them. Never throws. */
export async function signLeftOver(folder: string): Promise<readonly LeftOver[]> {
  const found: LeftOver[] = []
  for (const journal of await journalsIn(folder)) {
    if (existsSync(recordFileOf(journal))) continue
    try {
      if (readJournal(journal).lines.at(-1)?.kind !== 'closed') continue
      found.push({ journal, signed: await signJournal(journal, folder), why: '' })
    } catch (error) {
      found.push({ journal, signed: null, why: wordsOf(error) })
    }
  }
  return found
}

function recordFileOf(journalFile: string): string {
  return journalFile.replace(/\.journal$/, '.jws')
}

/** Beside it first, then in its place: a crash leaves a whole record or none. */
async function writeWhole(file: string, text: string): Promise<void> {
  const beside = `${file}.new`
  const handle = await open(beside, 'w', 0o644)
  try {
    await handle.writeFile(text)
    await handle.sync()
  } finally {
    await handle.close()
  }
  await rename(beside, file)
  await syncFolder(dirname(file))
}

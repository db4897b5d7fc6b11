import { createPrivateKey, createPublicKey, generateKeyPairSync, type KeyObject } from 'node:crypto'
import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readFileSync,
  renameSync,
  statSync,
  writeFileSync,
  writeSync,
} from 'node:fs'
import { join } from 'node:path'
import { BenchError, wordsOf } from '../fault/bench-error.ts'
import { said } from '../words/said/said.ts'
import { sha256 } from './chain.ts'

/** Who signs: the private key stays on this computer, the public one goes into every record. */
export interface SigningKey {
  readonly privateKey: KeyObject
  readonly publicKey: KeyObject
  /** Four groups of four: the first 64 bits of the SHA-256 of the 32 public bytes, for comparing by eye. */
  readonly fingerprint: string
}

/** The private key in the key folder: PKCS#8 PEM, its owner's alone. */
export const PRIVATE_FILE = 'signing-key.pem'
/** The public key beside it, to be given away: SPKI PEM. */
export const PUBLIC_FILE = 'signing-key.pub.pem'

/**
 * The key of this bench, made on first use: Ed25519 (RFC 8032), PKCS#8 PEM, readable by its owner alone. Throws RECORD_KEY_OPEN for a
 * file that others may read, RECORD_KEY_KNOWN for a published test key, RECORD_KEY_UNREADABLE, RECORD_WRITE_FAILED where none can be made.
 */
export function signingKey(folder: string): SigningKey {
  const file = join(folder, PRIVATE_FILE)
  const mode = modeOf(file)
  if (mode === undefined) makeKey(folder, file)
  // Windows has no such rights to ask for
  else if (process.platform !== 'win32' && (mode & 0o077) !== 0)
    throw new BenchError(
      'RECORD_KEY_OPEN',
      file,
      said('record.key-others-may-read', { mode: (mode & 0o777).toString(8) }),
    )
  const key = readKey(file)
  writePublic(folder, key.publicKey)
  return key
}

/** A public key from a PEM file. Throws RECORD_KEY_UNREADABLE. */
export function readPublicKey(file: string): KeyObject {
  try {
    const key = createPublicKey(readFileSync(file))
    if (key.asymmetricKeyType !== 'ed25519') throw otherKind(file, key)
    return key
  } catch (error) {
    if (error instanceof BenchError) throw error
    throw new BenchError('RECORD_KEY_UNREADABLE', file, wordsOf(error), error)
  }
}

/** The 32 public bytes. */
export function publicBytes(key: KeyObject): Buffer {
  const { x } = key.export({ format: 'jwk' })
  return Buffer.from(typeof x === 'string' ? x : '', 'base64url')
}

/** Four groups of four hex digits: the first 64 bits of the SHA-256 of the 32 public bytes. */
export function fingerprintOf(key: KeyObject): string {
  const digits = sha256(publicBytes(key)).slice(0, 16).toUpperCase()
  return (digits.match(/.{4}/g) ?? []).join('-')
}

function modeOf(file: string): number | undefined {
  try {
    return statSync(file).mode
  } catch {
    return undefined // not there, or not to be reached: then none can be made there either, and that is said
  }
}

function otherKind(file: string, { asymmetricKeyType }: KeyObject): BenchError {
  const kind = String(asymmetricKeyType)
  return new BenchError('RECORD_KEY_UNREADABLE', file, said('record.key-of-another-kind', { kind }))
}

function readKey(file: string): SigningKey {
  try {
    const privateKey = createPrivateKey(readFileSync(file))
    if (privateKey.asymmetricKeyType !== 'ed25519') throw otherKind(file, privateKey)
    const publicKey = createPublicKey(privateKey)
    if (isPublished(publicKey)) throw new BenchError('RECORD_KEY_KNOWN', file, said('record.key-published'))
    return { privateKey, publicKey, fingerprint: fingerprintOf(publicKey) }
  } catch (error) {
    if (error instanceof BenchError) throw error
    throw new BenchError('RECORD_KEY_UNREADABLE', file, wordsOf(error), error)
  }
}

/** Beside it first, then in its place: a crash leaves a whole key or none. Where two programs make one at once, one of the two stays. */
function makeKey(folder: string, file: string): void {
  const beside = `${file}.${process.pid}`
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 })
    const { privateKey } = generateKeyPairSync('ed25519')
    const descriptor = openSync(beside, 'w', 0o600)
    try {
      writeSync(descriptor, privateKey.export({ format: 'pem', type: 'pkcs8' }).toString())
      fsyncSync(descriptor)
    } finally {
      closeSync(descriptor)
    }
    renameSync(beside, file)
  } catch (error) {
    throw new BenchError('RECORD_WRITE_FAILED', file, wordsOf(error), error)
  }
}

/** Written again where it is missing or another's: it can always be made from the private one. */
function writePublic(folder: string, publicKey: KeyObject): void {
  const file = join(folder, PUBLIC_FILE)
  const pem = publicKey.export({ format: 'pem', type: 'spki' }).toString()
  try {
    if (!existsSync(file) || readFileSync(file, 'utf8') !== pem) writeFileSync(file, pem)
  } catch (error) {
    throw new BenchError('RECORD_WRITE_FAILED', file, wordsOf(error), error)
  }
}

/** Public halves of the published test keys: RFC 8032 7.1 tests 1, 2, 3, 1024 and SHA(abc); RFC 8037 A.2 is test 1. */
const PUBLISHED: ReadonlySet<string> = new Set([
  'd75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a',
  '3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c',
  'fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025',
  '278117fc144c72340f67d0f2316e8386ceffbf2b2428c9c51fef7c597f1d426e',
  'ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf',
])

/** Whether anybody can sign with this key, because its private half was printed. */
export function isPublished(publicKey: KeyObject): boolean {
  return PUBLISHED.has(publicBytes(publicKey).toString('hex'))
}

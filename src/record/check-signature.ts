import { createPublicKey, type KeyObject, verify } from 'node:crypto'
import { decodeProtectedHeader } from 'jose'
import { publicBytes } from './key.ts'

/** A signature that was looked at. `bad`: why not, in words. */
export type SignatureCheck =
  | { readonly good: true; readonly payload: Buffer; readonly key: KeyObject }
  | { readonly good: false; readonly bad: string }

/** Order of the base point, RFC 8032 5.1: S has to lie below it, or a second signature could be made from a first. */
const L = 2n ** 252n + 27742317777372353535851937790883648493n
/** The field's prime. */
const P = 2n ** 255n - 19n
const BASE64URL = /^[A-Za-z0-9_-]+$/

/** Checks a compact JWS with EdDSA over Ed25519, by the key in its header or by `given`. Never throws. */
export function checkSignature(jws: string, given: KeyObject | null): SignatureCheck {
  const parts = jws.trim().split('.')
  const [head, body, signature] = parts
  if (parts.length !== 3 || !parts.every((part) => BASE64URL.test(part)) || !head || !body || !signature)
    return { good: false, bad: 'it is not a compact JWS: three parts of base64url with points between' }
  // the last digit of a part holds bits that belong to no byte: set, the same signature would be another file
  if (!parts.every((part) => Buffer.from(part, 'base64url').toString('base64url') === part))
    return { good: false, bad: 'a part of it is not in its only right form (bits left over are not zero)' }
  try {
    const header = decodeProtectedHeader(jws.trim())
    if (header.alg !== 'EdDSA' && header.alg !== 'Ed25519')
      return { good: false, bad: `its algorithm is ${String(header.alg)}, not EdDSA` }
    if (header.crit) return { good: false, bad: 'it asks for extensions that nobody here knows (crit)' }
    const key = given ?? keyIn(header.jwk)
    if (!key) return { good: false, bad: 'there is no Ed25519 key in its header; give one with --key' }
    const raw = Buffer.from(signature, 'base64url')
    const because = wrongEd25519(raw, publicBytes(key))
    if (because !== '') return { good: false, bad: because }
    const good = verify(null, Buffer.from(`${head}.${body}`, 'ascii'), key, raw)
    if (!good) return { good: false, bad: 'the signature does not belong to these bytes and this key' }
    return { good: true, payload: Buffer.from(body, 'base64url'), key }
  } catch (error) {
    return { good: false, bad: error instanceof Error ? error.message : String(error) }
  }
}

/** What RFC 8032 5.1.7 refuses before any curve is touched, and keys of small order, which sign everything; "" when nothing. */
export function wrongEd25519(signature: Uint8Array, key: Uint8Array): string {
  if (signature.length !== 64) return `the signature has ${signature.length} bytes, not 64`
  if (key.length !== 32) return `the key has ${key.length} bytes, not 32`
  if (numberOf(signature.subarray(32)) >= L) return 'the signature is not in its only right form (S is too large)'
  for (const [what, bytes] of [
    ['key', key],
    ['signature', signature.subarray(0, 32)],
  ] as const) {
    const y = numberOf(bytes) & (2n ** 255n - 1n)
    if (y >= P) return `the ${what} is not in its only right form (y is too large)`
    if (SMALL_ORDER.has(y)) return `the ${what} is a point of small order, which would fit any text`
  }
  return ''
}

function keyIn(jwk: unknown): KeyObject | null {
  if (typeof jwk !== 'object' || jwk === null) return null
  const { kty, crv, x }: Record<string, unknown> = { ...jwk }
  if (kty !== 'OKP' || crv !== 'Ed25519' || typeof x !== 'string') return null
  return createPublicKey({ format: 'jwk', key: { kty, crv, x } })
}

function numberOf(littleEndian: Uint8Array): bigint {
  return BigInt(`0x${Buffer.from(littleEndian).reverse().toString('hex') || '0'}`)
}

/** y of the eight points of small order: 0, 1, -1, and the two of order 8. */
const SMALL_ORDER: ReadonlySet<bigint> = new Set([
  0n,
  1n,
  P - 1n,
  2707385501144840649318225287225658788936804267575313519463743609750303402022n,
  55188659117513257062467267217118295137698188065244968500265048394206261417927n,
])

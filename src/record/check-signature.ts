import { createPublicKey, type KeyObject, verify } from 'node:crypto'
import { decodeProtectedHeader } from 'jose'
import { type Said, said, type Words } from '../words/said/said.ts'
import { publicBytes } from './key.ts'

/** A signature that was looked at. `jws`: whether it has the form of one at all; `bad`: why not, in words. */
export type SignatureCheck =
  | { readonly good: true; readonly payload: Buffer; readonly key: KeyObject }
  | { readonly good: false; readonly jws: boolean; readonly bad: Words }

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
    return { good: false, jws: false, bad: said('record.signature-no-jws') }
  // the last digit of a part holds bits that belong to no byte: set, the same signature would be another file
  if (!parts.every((part) => Buffer.from(part, 'base64url').toString('base64url') === part))
    return bad(said('record.signature-bits-left'))
  try {
    const header = decodeProtectedHeader(jws.trim())
    if (header.alg !== 'EdDSA' && header.alg !== 'Ed25519')
      return bad(said('record.signature-algorithm', { algorithm: String(header.alg) }))
    if (header.crit) return bad(said('record.signature-crit'))
    const key = given ?? keyIn(header.jwk)
    if (!key) return bad(said('record.signature-no-key'))
    const raw = Buffer.from(signature, 'base64url')
    const because = wrongEd25519(raw, publicBytes(key))
    if (because !== null) return bad(because)
    const good = verify(null, Buffer.from(`${head}.${body}`, 'ascii'), key, raw)
    if (!good) return bad(said('record.signature-other'))
    return { good: true, payload: Buffer.from(body, 'base64url'), key }
  } catch (error) {
    return bad(error instanceof Error ? error.message : String(error))
  }
}

function bad(why: Words): SignatureCheck {
  return { good: false, jws: true, bad: why }
}

/** What RFC 8032 5.1.7 refuses before any curve is touched, and keys of small order, which sign everything; null when nothing. */
export function wrongEd25519(signature: Uint8Array, key: Uint8Array): Said | null {
  if (signature.length !== 64) return said('record.signature-length', { bytes: signature.length })
  if (key.length !== 32) return said('record.signature-key-length', { bytes: key.length })
  if (numberOf(signature.subarray(32)) >= L) return said('record.signature-s-form')
  const [a, r] = [key, signature.subarray(0, 32)].map((bytes) => numberOf(bytes) & (2n ** 255n - 1n))
  if (a === undefined || a >= P) return said('record.signature-key-form')
  if (SMALL_ORDER.has(a)) return said('record.signature-key-small')
  if (r === undefined || r >= P) return said('record.signature-r-form')
  return SMALL_ORDER.has(r) ? said('record.signature-r-small') : null
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

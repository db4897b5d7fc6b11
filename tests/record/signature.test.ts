import { createPrivateKey, createPublicKey, type KeyObject, sign, verify } from 'node:crypto'
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { checkSignature, wrongEd25519 as wrongEd25519In } from '../../src/record/check-signature.ts'
import { fingerprintOf, PRIVATE_FILE, PUBLIC_FILE, readPublicKey, signingKey } from '../../src/record/key.ts'
import { signPayload } from '../../src/record/sign.ts'
import { said } from '../../src/words/said/said.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'

interface Vector {
  readonly public_key: string
  readonly message: string
  readonly signature: string
}
/** RFC 8032 7.1 (five vectors) and 19 signatures that must be refused; source and marks stand in the file. */
const reference: {
  readonly vectors: readonly (Vector & { readonly name: string; readonly secret_key: string })[]
  readonly must_reject: readonly (Vector & { readonly tcId: number; readonly flag: string; readonly comment: string })[]
} = JSON.parse(readFileSync(join(import.meta.dirname, '..', 'reference', 'ed25519_rfc8032.json'), 'utf8'))

const bytes = (hex: string) => Buffer.from(hex, 'hex')
const publicKey = (hex: string): KeyObject =>
  createPublicKey({ format: 'jwk', key: { kty: 'OKP', crv: 'Ed25519', x: bytes(hex).toString('base64url') } })
const privateKey = (hex: string, pub: string): KeyObject =>
  createPrivateKey({
    format: 'jwk',
    key: { kty: 'OKP', crv: 'Ed25519', d: bytes(hex).toString('base64url'), x: bytes(pub).toString('base64url') },
  })

const wrongEd25519 = (signature: Uint8Array, key: Uint8Array) => sentence(wrongEd25519In(signature, key) ?? '')

/** What checkSignature does with bytes that are no JWS. */
const accepts = ({ public_key, message, signature }: Vector): boolean => {
  if (wrongEd25519(bytes(signature), bytes(public_key)) !== '') return false
  try {
    return verify(null, bytes(message), publicKey(public_key), bytes(signature))
  } catch {
    return false
  }
}

describe('Ed25519, RFC 8032 7.1', () => {
  test.each(reference.vectors.map((one) => [one.name, one] as const))(
    '%s signs to the published bytes and verifies',
    (_, one) => {
      expect(sign(null, bytes(one.message), privateKey(one.secret_key, one.public_key)).toString('hex')).toBe(
        one.signature,
      )
      expect(accepts(one)).toBe(true)
    },
  )

  test('there are 19 that must be refused', () => expect(reference.must_reject).toHaveLength(19))
  test.each(reference.must_reject.map((one) => [one.tcId, one.comment, one] as const))(
    'case %d is refused: %s',
    (_, __, one) => {
      expect(accepts(one)).toBe(false)
    },
  )

  test.each([
    ['0000000000000000000000000000000000000000000000000000000000000000', 'order 4'],
    ['0100000000000000000000000000000000000000000000000000000000000000', 'order 1'],
    ['ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f', 'order 2'],
    ['26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05', 'order 8'],
    ['c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a', 'order 8'],
    ['c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac03fa', 'order 8, other sign'],
    ['edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f', 'y = p, not its only form'],
  ])('a key of %s (%s) is refused: it would sign anything', (hex) => {
    const [first] = reference.vectors
    if (!first) throw new TypeError('no vectors')
    expect(wrongEd25519(bytes(first.signature), bytes(hex))).toMatch(/small order|only right form/)
  })
})

test('a key or a signature of another length is refused, with the length it has', () => {
  const [first] = reference.vectors
  if (!first) throw new TypeError('no vectors')
  const key = bytes(first.public_key)
  const signature = bytes(first.signature)
  expect(wrongEd25519(signature, key)).toBe('')
  expect(wrongEd25519(signature, key.subarray(1))).toBe('the key has 31 bytes, not 32')
  expect(wrongEd25519(signature, Buffer.concat([key, Buffer.from([0])]))).toBe('the key has 33 bytes, not 32')
  expect(wrongEd25519(signature.subarray(1), key)).toBe('the signature has 63 bytes, not 64')
  expect(wrongEd25519(Buffer.concat([signature, Buffer.from([0])]), key)).toBe('the signature has 65 bytes, not 64')
})

test('a key in the header counts only as what it says it is: OKP, Ed25519, with its x as text', () => {
  const [first] = reference.vectors
  if (!first) throw new TypeError('no vectors')
  const x = bytes(first.public_key).toString('base64url')
  const signedWith = (jwk: unknown) => {
    const head = Buffer.from(JSON.stringify({ alg: 'EdDSA', jwk })).toString('base64url')
    const body = Buffer.from('{}').toString('base64url')
    const raw = sign(null, Buffer.from(`${head}.${body}`), privateKey(first.secret_key, first.public_key))
    return checkSignature(`${head}.${body}.${raw.toString('base64url')}`, null)
  }
  const none = { good: false, jws: true, bad: said('record.signature-no-key') }
  expect(signedWith({ kty: 'OKP', crv: 'Ed25519', x })).toMatchObject({ good: true })
  expect(signedWith({ kty: 'EC', crv: 'Ed25519', x })).toEqual(none)
  expect(signedWith({ kty: 'OKP', crv: 'X25519', x })).toEqual(none)
  expect(signedWith({ kty: 'OKP', crv: 'Ed25519', x: 7 })).toEqual(none)
  expect(signedWith(undefined)).toEqual(none)
  expect(signedWith(null)).toEqual(none)
})

test('the algorithm may be called by its newer name (RFC 9864); any other is not read', () => {
  const [first] = reference.vectors
  if (!first) throw new TypeError('no vectors')
  const signedAs = (alg: string) => {
    const head = Buffer.from(JSON.stringify({ alg })).toString('base64url')
    const body = Buffer.from('{}').toString('base64url')
    const raw = sign(null, Buffer.from(`${head}.${body}`), privateKey(first.secret_key, first.public_key))
    return checkSignature(`${head}.${body}.${raw.toString('base64url')}`, publicKey(first.public_key)).good
  }
  expect(['EdDSA', 'Ed25519', 'Ed448', 'ES256'].map(signedAs)).toEqual([true, true, false, false])
})

test('S as large as the order of the base point, or larger, is refused before any curve is touched', () => {
  const [first] = reference.vectors
  if (!first) throw new TypeError('no vectors')
  const order = 'edd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010'
  const below = 'ecd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010'
  const withS = (s: string) => wrongEd25519(bytes(`${first.signature.slice(0, 64)}${s}`), bytes(first.public_key))
  expect(withS(order)).toMatch(/S is too large/)
  expect(withS(below)).toBe('')
})

describe('JWS with EdDSA, RFC 8037', () => {
  /** RFC 8037 A.4, from MEMORY; the key is RFC 8032 TEST 1 (A.1), so that a wrong memory would not verify. */
  const A4 =
    'eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc.hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg'
  const test1 = reference.vectors[0]
  if (!test1) throw new TypeError('no vectors')

  test('the example of A.4 verifies with the key of A.1', () => {
    const checked = checkSignature(A4, publicKey(test1.public_key))
    expect(checked.good && checked.payload.toString()).toBe('Example of Ed25519 signing')
  })

  test('without a key in its header one has to be given', () => {
    expect(checkSignature(A4, null)).toEqual({
      good: false,
      jws: true,
      bad: said('record.signature-no-key'),
    })
  })

  test.each([
    ['a changed payload', A4.replace('RXhh', 'RXhi'), /does not belong to these bytes/],
    ['two parts', A4.split('.').slice(0, 2).join('.'), /not a compact JWS/],
    ['no text at all', '', /not a compact JWS/],
    ['another algorithm', `${Buffer.from('{"alg":"none"}').toString('base64url')}.e30.AAAA`, /its algorithm is none/],
    [
      'an extension',
      `${Buffer.from('{"alg":"EdDSA","crit":["b64"],"b64":false}').toString('base64url')}.e30.AAAA`,
      /crit/,
    ],
    // 64 bytes fill 85 digits and 2 bits: "g" and "h" at the end decode alike
    ['a last digit with bits left over', A4.replace(/g$/, 'h'), /not in its only right form \(bits left over/],
    ['a short signature', `${A4.split('.').slice(0, 2).join('.')}.AAAA`, /has 3 bytes, not 64/],
  ])('%s is refused in words', (_, jws, words) => {
    const checked = checkSignature(jws, publicKey(test1.public_key))
    expect(checked.good ? '' : sentence(checked.bad)).toMatch(words)
  })
})

describe('the key of this bench', () => {
  const folder = () => mkdtempSync(join(tmpdir(), 'key-'))

  test('is made on first use, for its owner alone, and is the same afterwards', async () => {
    const at = folder()
    const made = signingKey(at)
    expect(statSync(join(at, PRIVATE_FILE)).mode & 0o777).toBe(0o600)
    expect(signingKey(at).fingerprint).toBe(made.fingerprint)
    expect(made.fingerprint).toMatch(/^([0-9A-F]{4}-){3}[0-9A-F]{4}$/)
    expect(fingerprintOf(readPublicKey(join(at, PUBLIC_FILE)))).toBe(made.fingerprint)
    const checked = checkSignature(await signPayload(Buffer.from('{}'), made), null)
    expect(checked.good && checked.payload.toString()).toBe('{}')
  })

  test('that others may read is refused: RECORD_KEY_OPEN', () => {
    const at = folder()
    signingKey(at)
    writeFileSync(join(at, 'copy'), readFileSync(join(at, PRIVATE_FILE)), { mode: 0o644 })
    const open = folder()
    writeFileSync(join(open, PRIVATE_FILE), readFileSync(join(at, 'copy')), { mode: 0o644 })
    expect(() => signingKey(open)).toThrow(/others may read it \(mode 644\).*\[RECORD_KEY_OPEN\]/)
  })

  test.each(reference.vectors.map((one) => [one.name, one] as const))(
    'that is the published one of %s is refused: RECORD_KEY_KNOWN',
    (_, one) => {
      const at = folder()
      const pem = privateKey(one.secret_key, one.public_key).export({ format: 'pem', type: 'pkcs8' })
      writeFileSync(join(at, PRIVATE_FILE), pem, { mode: 0o600 })
      expect(() => signingKey(at)).toThrow(/published test key.*\[RECORD_KEY_KNOWN\]/)
    },
  )

  test('has its public half written again when that was lost', () => {
    const at = folder()
    const { fingerprint } = signingKey(at)
    rmSync(join(at, PUBLIC_FILE))
    signingKey(at)
    expect(fingerprintOf(readPublicKey(join(at, PUBLIC_FILE)))).toBe(fingerprint)
    expect(readdirSync(at).sort()).toEqual([PRIVATE_FILE, PUBLIC_FILE])
  })

  test('that cannot be written is said: RECORD_WRITE_FAILED', () => {
    const file = join(folder(), 'file')
    writeFileSync(file, '')
    expect(() => signingKey(join(file, 'below'))).toThrow(/signing-key\.pem: .*\[RECORD_WRITE_FAILED\]/)
  })

  test('that is no key is refused: RECORD_KEY_UNREADABLE', () => {
    const at = folder()
    writeFileSync(join(at, PRIVATE_FILE), 'hello', { mode: 0o600 })
    expect(() => signingKey(at)).toThrow(/\[RECORD_KEY_UNREADABLE\]/)
    writeFileSync(join(at, PUBLIC_FILE), 'hello')
    expect(() => readPublicKey(join(at, PUBLIC_FILE))).toThrow(/\[RECORD_KEY_UNREADABLE\]/)
  })
})

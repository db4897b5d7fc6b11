import { generateKeyPairSync } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { recordDecoder } from '../../../src/commands/record-decode.ts'
import { fingerprintOf } from '../../../src/record/key.ts'
import { upgradedPayload } from '../../../src/record/older-values.ts'
import { signPayload } from '../../../src/record/sign.ts'
import { type Verified, verifyRecord } from '../../../src/record/verify-record.ts'
import { type KeptValue, RecordPayload } from '../../../src/schema/kept/record.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'

const FOLDER = join(import.meta.dirname, '..', '..', 'reference', 'records')

/** What an earlier commit signed, as today's code reads it: a whole job without running one. A copy, to be changed at will. */
export function keptPayload(name = 'a2df3db-whole'): RecordPayload {
  const [, body = ''] = gunzipSync(readFileSync(join(FOLDER, `${name}.jws.gz`)))
    .toString('utf8')
    .split('.')
  return RecordPayload.parse(upgradedPayload(JSON.parse(Buffer.from(body, 'base64url').toString('utf8'))))
}

/** The value of that number. */
export function numbered({ values }: RecordPayload, number: number): KeptValue {
  const value = values.find((one) => one.number === number)
  if (!value) throw new TypeError(`no value ${number}`)
  return value
}

const { privateKey, publicKey } = generateKeyPairSync('ed25519')
const key = { privateKey, publicKey, fingerprint: fingerprintOf(publicKey) }
const decode = recordDecoder()

/** What was found of a record, as a person reads it. */
export type VerifiedInWords = Omit<Verified, 'words'> & { readonly words: readonly string[] }

/** A record looked at, and what was found put into words; the payload as it is. */
export function verifiedInWords(...about: Parameters<typeof verifyRecord>): VerifiedInWords {
  const { words, ...found } = verifyRecord(...about)
  return { ...found, words: words.map((one) => sentence(one)) }
}

/** Signed by somebody who holds a key, and looked at: only what it says of itself can be wrong. */
export async function verifiedAs(payload: RecordPayload): Promise<VerifiedInWords> {
  return verifiedInWords(await signPayload(Buffer.from(JSON.stringify(payload)), key), { key: null, decode })
}

import { generateKeyPairSync } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { describe, expect, test } from 'vitest'
import { recordDecoder } from '../../src/commands/record-decode.ts'
import { sha256 } from '../../src/record/chain.ts'
import { fingerprintOf } from '../../src/record/key.ts'
import { parseJournal } from '../../src/record/read-journal.ts'
import { recordOf } from '../../src/record/record-of.ts'
import { signPayload } from '../../src/record/sign.ts'
import { verifiedInWords } from '../kit/job/kept-record.ts'

/** Records made by earlier commits of this program; how is in the README beside them. Never made anew: they are what shops have on disk. */
const FOLDER = join(import.meta.dirname, '..', 'reference', 'records')
const read = (name: string) => gunzipSync(readFileSync(join(FOLDER, name)))
const names = readdirSync(FOLDER)
const records = names.filter((name) => name.endsWith('.jws.gz'))
const journals = names.filter((name) => name.endsWith('.journal.gz'))

const decode = recordDecoder()
const verified = (jws: string) => verifiedInWords(jws, { key: null, decode })

test('records of four commits are kept, and journals of each', () => {
  for (const commit of ['217c31d', '3ba6a6e', '9568691', 'a2df3db']) {
    expect(records.filter((name) => name.startsWith(commit)).length).toBeGreaterThanOrEqual(4)
    expect(journals.filter((name) => name.startsWith(commit)).length).toBeGreaterThanOrEqual(1)
  }
})

describe('every record of an earlier commit', () => {
  test.each(records)('%s verifies', (name) => {
    const { answer, words, payload } = verified(read(name).toString('utf8'))
    expect(words.slice(0, 5).join('\n')).toMatch(/^Intact, signed by .*\n\d+ values and verdicts worked out again/)
    expect(answer).toBe('good')
    expect(payload?.values.length).toBeGreaterThanOrEqual(12)
  })

  test.each(journals)('%s is read and folds to what was signed then', (name) => {
    const journal = parseJournal(read(name), name)
    const { payload } = verified(read(name.replace('.journal.', '.jws.')).toString('utf8'))
    expect(recordOf(journal)).toEqual(payload)
  })
})

/** A record with its payload changed and signed again: the signature holds, so only working it out again can tell. */
async function changed(name: string, change: (payload: Changed) => void): Promise<string> {
  const [, body = ''] = read(name).toString('utf8').split('.')
  const payload = JSON.parse(Buffer.from(body, 'base64url').toString('utf8'))
  change(payload)
  return signPayload(new TextEncoder().encode(JSON.stringify(payload)), key)
}

interface Changed {
  readonly header: { readonly drivers: { text: string; sha256: string }[] }
  readonly values: {
    value: number
    uncertainty: number
    spread: number
    verdict: string
    evidence: { readings: { raw: string; value: number }[]; algorithms?: Record<string, number> }
  }[]
}

const { privateKey, publicKey } = generateKeyPairSync('ed25519')
const key = { privateKey, publicKey, fingerprint: fingerprintOf(publicKey) }

/** The last value of a record that was read by a meter, not typed. */
function readValue({ values }: Changed): Changed['values'][number] {
  const found = values.findLast(({ evidence }) => evidence.readings.length > 3)
  if (!found) throw new TypeError('no value was read')
  return found
}

describe('what was changed is refused, in a record of any time', () => {
  test.each(records)('%s: a bit of the file', (name) => {
    const jws = read(name).toString('utf8')
    const at = Math.floor(jws.length / 2)
    const bent = `${jws.slice(0, at)}${jws[at] === 'A' ? 'B' : 'A'}${jws.slice(at + 1)}`
    expect(verified(bent).answer).not.toBe('good')
  })

  test.each(records)('%s: its own values signed by another key are good', async (name) => {
    expect(verified(await changed(name, () => {})).answer).toBe('good')
  })

  const changes: Readonly<Record<string, (payload: Changed) => void>> = {
    'a value by a hundredth of a percent': (payload) => {
      readValue(payload).value *= 1.0001
    },
    'an uncertainty': (payload) => {
      readValue(payload).uncertainty *= 0.9
    },
    'a spread': (payload) => {
      readValue(payload).spread *= 0.9
    },
    'a verdict': (payload) => {
      readValue(payload).verdict = 'low'
    },
    'a reading left out': (payload) => {
      readValue(payload).evidence.readings.splice(-2, 1)
    },
    'a raw reply': (payload) => {
      const [first] = readValue(payload).evidence.readings
      if (first) first.raw = first.raw.replace(/\d/, (digit) => String((Number(digit) + 1) % 10))
    },
  }
  const cases = records.flatMap((name) => Object.keys(changes).map((what) => ({ name, what })))
  test.each(cases)('$name: $what', async ({ name, what }) => {
    const { answer, words } = verified(await changed(name, changes[what] ?? (() => {})))
    expect(answer).toBe('not')
    expect(words[1]).toBe('But it does not agree with itself:')
  })
})

describe('a driver in a record', () => {
  const withDriver = (edit: (text: string) => string) =>
    changed('a2df3db-typed.jws.gz', ({ header }) => {
      for (const driver of header.drivers) {
        driver.text = edit(driver.text)
        driver.sha256 = sha256(driver.text)
      }
    })

  test('that a rule made since would refuse as a file: its replies are read all the same', async () => {
    let supplies = 0
    const jws = await withDriver((text) => {
      if (!/^supply: yes$/m.test(text)) return text
      supplies += 1
      return `${text}\nstart: ["INST:NSEL 1"]\n`
    })
    expect(supplies).toBe(1)
    expect(verified(jws).words.slice(1, 2)).toEqual([expect.stringMatching(/ worked out again /)])
  })

  test('with keys that are not known here: the same', async () => {
    const jws = await withDriver((text) => `${text}\nsmells of: ozone\n`)
    expect(verified(jws).answer).toBe('good')
  })

  test('that is no YAML: said of each value, nothing thrown', async () => {
    const { answer, words } = verified(await withDriver(() => 'a: [1'))
    expect(answer).toBe('not')
    expect(words[2]).toMatch(/^value 1 \(.*\): the reply ".*" is no number by its driver$/)
  })
})

describe('versions', () => {
  test('a value that no version gives is told by the latest of them', async () => {
    const jws = await changed('3ba6a6e-jump.jws.gz', (payload) => {
      readValue(payload).value += 1
    })
    expect(verified(jws).words[2]).toMatch(/^value \d+ \(.*\): value comes to .*, the record says /)
  })

  test('a line across a jump: version 0 of settling gives it, version 1 does not, and a record that names 1 is refused', async () => {
    const named = (settling: number) =>
      changed('3ba6a6e-jump.jws.gz', ({ values }) => {
        for (const { evidence } of values)
          evidence.algorithms = { settling, drifting: 0, uncertainty: 1, acceptance: 1 }
      })
    expect(verified(await named(0)).answer).toBe('good')
    const { answer, words } = verified(await named(1))
    expect(answer).toBe('not')
    expect(words.filter((line) => /^value (18|36) /.test(line)).length).toBeGreaterThan(0)
  })

  test('a version that is not known yet is said in words; the record is neither good nor broken', async () => {
    const jws = await changed('a2df3db-short.jws.gz', ({ values }) => {
      for (const { evidence } of values.slice(0, 1))
        evidence.algorithms = { settling: 99, drifting: 1, uncertainty: 1, acceptance: 1 }
    })
    const { answer, words, payload } = verified(jws)
    expect(answer).toBe('unreadable')
    expect(payload).not.toBeNull()
    expect(words.slice(1)).toEqual([
      'These values were worked out by a newer program than this one: use a newer Trimwright to check them.',
      expect.stringMatching(/^value 1 \(.*\): its settling is version 99, known here are those up to \d+$/),
    ])
  })

  test('an algorithm that is not known yet is said in words, a missing one too', async () => {
    const jws = await changed('a2df3db-short.jws.gz', ({ values }) => {
      for (const { evidence } of values.slice(0, 1))
        evidence.algorithms = { settling: 1, drifting: 1, acceptance: 1, weather: 1 }
    })
    const { answer, words } = verified(jws)
    expect(answer).toBe('unreadable')
    expect(words.slice(2).join('\n')).toMatch(
      /: no version of its uncertainty is named\n.*: "weather" is not known here$/,
    )
  })

  test('a newer version beside a value that is wrong: it does not agree with itself', async () => {
    const jws = await changed('a2df3db-short.jws.gz', (payload) => {
      for (const { evidence } of payload.values.slice(0, 1))
        evidence.algorithms = { settling: 99, drifting: 1, uncertainty: 1, acceptance: 1 }
      readValue(payload).value *= 1.01
    })
    expect(verified(jws).answer).toBe('not')
  })

  test('an auditor is told by which versions it was worked out', () => {
    expect(verified(read('a2df3db-short.jws.gz').toString('utf8')).words).toContain(
      'All captured before versions were named.',
    )
    expect(verified(read('217c31d-short.jws.gz').toString('utf8')).words).toContain(
      'All captured by settling 0, drifting 0, uncertainty 0, acceptance 0.',
    )
  })
})

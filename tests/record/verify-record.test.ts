import { createPrivateKey, createPublicKey } from 'node:crypto'
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { recordDecoder } from '../../src/commands/record-decode.ts'
import { checkSignature } from '../../src/record/check-signature.ts'
import { signingKey } from '../../src/record/key.ts'
import { readJournal } from '../../src/record/read-journal.ts'
import { recordOf } from '../../src/record/record-of.ts'
import { reportPage } from '../../src/record/report.ts'
import { reportRows, resultSentence, verdictWords } from '../../src/record/report-rows.ts'
import { signLeftOver, signPayload } from '../../src/record/sign.ts'
import { RecordPayload } from '../../src/schema/kept/record.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { WHOLE_SHEET } from '../kit/job/job-bench.ts'
import { dataFolder } from '../kit/job/journal-kit.ts'
import { verifiedInWords } from '../kit/job/kept-record.ts'
import { OPENSSL_GOOD, opensslSays } from '../kit/program/openssl.ts'

/** RFC 8032 7.1; source and marks stand in the file. */
const reference: { readonly vectors: readonly { readonly secret_key: string; readonly public_key: string }[] } =
  JSON.parse(readFileSync(join(import.meta.dirname, '..', 'reference', 'ed25519_rfc8032.json'), 'utf8'))
const folder = dataFolder()
const { outcome } = await runFast({ procedure: WHOLE_SHEET, seed: 5, warm: true, bands: [], recordIn: folder })
const jws = readFileSync(outcome.record, 'utf8')
const decode = recordDecoder()
const whole = verifiedInWords(jws, { key: null, decode })
if (!whole.payload) throw new TypeError(whole.words.join('; '))
const { payload } = whole

/** The record with something changed, signed again by its own key: who holds the key can lie, but not in the figures. */
async function changed(change: (payload: RecordPayload) => void): Promise<readonly string[]> {
  const copy = structuredClone(payload)
  change(copy)
  const again = await signPayload(Buffer.from(JSON.stringify(copy)), signingKey(folder))
  const { answer, words } = verifiedInWords(again, { key: null, decode })
  return [answer, ...words]
}

/** The first value of a quantity. */
const firstOf = (from: RecordPayload, quantity: string, pass = 'left') => {
  const value = from.values.find((one) => one.quantity === quantity && one.pass === pass)
  if (!value) throw new TypeError(`no ${quantity}`)
  return value
}

describe('a record of the whole sheet', () => {
  test('is good: every value and verdict comes out of its raw replies again', () => {
    expect(whole.answer).toBe('good')
    expect(whole.words.join('\n')).toMatch(
      /^Intact, signed by .*\n\d\d values and verdicts worked out again from \d+ raw replies: the same\./,
    )
    expect(whole.words).toContain('SIMULATED: no radio and no instrument was there.')
    expect(whole.words).toContain('Not covered: receive side.')
  })

  test('holds what the job printed, and what was read as found and as left of the same four steps', () => {
    expect(payload.values.map(({ number, digits }) => [number, digits])).toEqual(
      outcome.captured.map(({ number, digits }) => [number, digits]),
    )
    const of = (pass: string) => new Set(payload.values.filter((one) => one.pass === pass).map(({ step }) => step))
    expect(of('found')).toEqual(of('left'))
    expect(of('found').size).toBe(4)
  })

  test('is the fold of the journal that lies beside it', () => {
    expect(recordOf(readJournal(outcome.record.replace('.jws', '.journal')))).toEqual(payload)
  })

  test('carries settings, answers, instruments with their state on the day, and key-down seconds', () => {
    expect(payload.settings.find(({ name }) => name === 'time-out timer')).toMatchObject({
      found: '60 s',
      left: '60 s',
    })
    expect(payload.answers.map(({ question }) => question).join('; ')).toMatch(
      /Load on the aerial socket.*PW fully open.*Tool out, hands off/,
    )
    expect(payload.header.instruments.map(({ name, due }) => `${name} ${due}`)).toContain('power in date')
    expect(payload.keyDownS).toBeCloseTo(outcome.keyDownS, 6)
  })

  test('names no customer and says what it is not', () => {
    expect(payload.sentence).toMatch(/^Shows who recorded these readings.*Not a certificate/)
    expect(Object.keys(payload.header)).not.toContain('customer')
  })
})

describe('what does not agree with itself is not good, signed or not', () => {
  test.each<[string, (payload: RecordPayload) => void, RegExp]>([
    [
      'a value',
      (p) => void Object.assign(firstOf(p, 'RF power'), { value: firstOf(p, 'RF power').value + 0.01 }),
      /RF power\): value comes to .*, the record says/,
    ],
    [
      'the band it was held against, wider than the sheet says',
      (p) => {
        const { evidence } = firstOf(p, 'RF power')
        if (evidence.goal.kind === 'band') Object.assign(evidence.goal, { low: 0.1 })
      },
      /RF power\): the sheet says .* \.\. .*, it was held against 0\.1 \.\. /,
    ],
    [
      'a step that the sheet does not have',
      (p) => void Object.assign(firstOf(p, 'RF power'), { step: 'power-of-mine' }),
      /RF power\): the sheet in the record has no such reading/,
    ],
    ['its digits', (p) => void Object.assign(firstOf(p, 'RF power'), { digits: '3.99' }), /digits comes to/],
    [
      'its verdict',
      (p) => void Object.assign(firstOf(p, 'RF power'), { verdict: 'high' }),
      /verdict comes to "inside"/,
    ],
    ['its doubt', (p) => void Object.assign(firstOf(p, 'RF power'), { uncertainty: 0.001 }), /uncertainty comes to/],
    [
      'a raw reply',
      (p) => {
        const [reading] = firstOf(p, 'frequency').evidence.readings
        if (reading) reading.raw = '+2.7206000000E+07'
      },
      /the reply "\+2\.7206000000E\+07" says 27206000, the record/,
    ],
    [
      'a reply that is no number',
      (p) => {
        const [reading] = firstOf(p, 'frequency').evidence.readings
        if (reading) reading.raw = '9.91E+37'
      },
      /the reply "9\.91E\+37" is no number by its driver/,
    ],
    ['a reading taken away', (p) => void firstOf(p, 'FM deviation').evidence.readings.splice(-1, 1), /comes to/],
    [
      'the band, wider than it was',
      (p) => {
        const { evidence } = firstOf(p, 'RF power', 'found')
        if (evidence.goal.kind === 'band') evidence.goal.low = 1
      },
      /band comes to|verdict comes to/,
    ],
    [
      'the path loss',
      (p) => void Object.assign(firstOf(p, 'RF power').evidence.facts, { pathLossDb: 30.2 }),
      /comes to/,
    ],
    ['the driver', (p) => void p.header.drivers.splice(0, 9), /its driver "[a-z-]+" is not in the record/],
    [
      'the text of the procedure',
      (p) => void Object.assign(p.header.procedure, { text: p.header.procedure.text.replace('3.3', '3.1') }),
      /the text of brackwater-27m-transmit\.yaml is not the one whose SHA-256 stands beside it/,
    ],
    [
      'a driver of later',
      (p) => void Object.assign(p.header.drivers[0] ?? {}, { text: `${p.header.drivers[0]?.text}# later\n` }),
      /the text of [a-z-]+\.yaml is not the one whose SHA-256/,
    ],
    [
      'which value is the last',
      (p) => void Object.assign(firstOf(p, 'RF power'), { latest: false }),
      /value \d+ \(.*\): is the latest of its kind/,
    ],
    [
      'a result of a step',
      (p) => {
        const step = p.steps.find(({ step: id, pass }) => id === 'power' && pass === 'work')
        if (step) step.state = 'out of band'
      },
      /its values say "done", the record "out of band"/,
    ],
  ])('%s', async (_, change, words) => {
    const [answer, ...said] = await changed(change)
    expect(answer).toBe('not')
    expect(said.join('\n')).toMatch(words)
  })

  test('any one byte of the file changed: never good', () => {
    fc.assert(
      fc.property(fc.nat(jws.length - 1), fc.integer({ min: 33, max: 126 }), (at, code) => {
        const bent = `${jws.slice(0, at)}${String.fromCharCode(code)}${jws.slice(at + 1)}`
        return bent === jws || verifiedInWords(bent, { key: null, decode }).answer !== 'good'
      }),
      { numRuns: 300 },
    )
    for (const last of 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_') {
      const bent = `${jws.slice(0, -1)}${last}`
      expect(verifiedInWords(bent, { key: null, decode }).answer === 'good').toBe(bent === jws)
    }
  })

  test('signed with a published test key: not intact, whatever it says', async () => {
    const [one] = reference.vectors
    const [d, x] = [one?.secret_key, one?.public_key].map((hex) => Buffer.from(hex ?? '', 'hex').toString('base64url'))
    const jwk = { kty: 'OKP', crv: 'Ed25519', d: d ?? '', x: x ?? '' }
    const privateKey = createPrivateKey({ format: 'jwk', key: jwk })
    const known = { privateKey, publicKey: createPublicKey(privateKey), fingerprint: 'anything' }
    const signed = await signPayload(Buffer.from(JSON.stringify(payload)), known)
    const { answer, words } = verifiedInWords(signed, { key: null, decode })
    expect([answer, ...words].join(' ')).toMatch(/^not Not intact: .* is a published test key/)
  })

  test('the key of somebody else: not intact', () => {
    const { publicKey } = signingKey(dataFolder())
    expect(verifiedInWords(jws, { key: publicKey, decode }).words[0]).toMatch(
      /^Not intact: the signature does not belong/,
    )
  })

  test('the right key given: good, and says which was used', () => {
    const { publicKey } = signingKey(folder)
    expect(verifiedInWords(jws, { key: publicKey, decode }).words[0]).toMatch(/\(the key you gave\)/)
  })

  test('signed, but no record: cannot be read', async () => {
    const other = await signPayload(Buffer.from('{"format":2}'), signingKey(folder))
    expect(verifiedInWords(other, { key: null, decode })).toMatchObject({ answer: 'unreadable' })
  })

  test('the payload is the bytes that were signed', () => {
    const checked = checkSignature(jws, null)
    expect(checked.good && RecordPayload.parse(JSON.parse(checked.payload.toString()))).toEqual(payload)
  })
})

describe('the report', () => {
  const page = reportPage(payload, whole.fingerprint, '0'.repeat(64))

  test('says the result first, in one sentence', () => {
    expect(sentence(resultSentence(payload))).toMatch(
      /^Aligned and tested: \d+ final readings, every one inside its band; 2 left out\.$/,
    )
    expect(page.indexOf('class="result"')).toBeLessThan(page.indexOf('<h2>'))
  })

  test('puts as found and as left side by side, with the change and a doubt smaller than that of either', () => {
    const power = reportRows(payload).twice.find(
      ({ title, found }) => title === 'Power at the normal voltage' && found?.unit === 'W',
    )
    expect(power?.change?.by).toMatch(/^\+\d\.\d\d W$/)
    expect(power?.change?.doubt).toMatch(/^0\.0\d W$/)
    const doubt = Number.parseFloat(power?.change?.doubt ?? '')
    expect(doubt).toBeLessThan((power?.left?.uncertainty ?? 0) / 2)
  })

  test('has neither script nor outside address, and is marked on every page when simulated', () => {
    expect(page).not.toMatch(/<script|https?:|<link|<img|url\(/)
    expect(page.indexOf('SIMULATED')).toBeLessThan(page.indexOf('</thead>'))
  })

  test('never calls the set calibrated, and carries the fingerprint', () => {
    expect(page.replace(/Not a certificate of calibration or conformity/g, '')).not.toMatch(/calibrat|certified/i)
    expect(page).toContain(whole.fingerprint)
  })

  test('makes what people wrote harmless', () => {
    const copy = structuredClone(payload)
    copy.header.complaint = '<img src=x onerror=alert(1)> "it hums"'
    expect(reportPage(copy, '', '')).toContain('&lt;img src=x onerror=alert(1)&gt; &quot;it hums&quot;')
  })

  test('lists what was read again with its earlier value, and says what the step was aligned to', () => {
    const copy = structuredClone(payload)
    const power = firstOf(copy, 'RF power')
    copy.values.push({ ...power, number: copy.values.length + 1, digits: '3.71', latest: true })
    power.latest = false
    const again = reportPage(copy, '', '')
    expect(again).toMatch(
      /<h2>Read again<\/h2>.*as left: earlier 3\.\d\d W \(inside[^)]*; within the rule limit[^)]*\)/,
    )
    expect(again).toMatch(/3\.71 W.*aligned to 2\.\d+ V|aligned to 2\.\d+ V.*3\.71 W/s)
    copy.values = copy.values.filter(({ latest }) => latest)
    expect(reportPage(copy, '', '').includes('<h2>Read again')).toBe(false)
  })

  test.each([
    ['out and clear', 'RULE LIMIT EXCEEDED'],
    ['out but touching', 'RULE LIMIT EXCEEDED, but by less than the uncertainty'],
    ['in but touching', 'within the rule limit, but closer to it than the uncertainty'],
    ['in and clear', 'within the rule limit'],
  ] as const)('a value that is %s of the rule limit reads as such, never as its opposite', (limit, words) => {
    const said = sentence(verdictWords({ ...firstOf(payload, 'RF power'), limit }))
    expect(said.split('; ').at(-1)).toBe(words)
    expect(said).not.toMatch(/passed/i)
  })

  test('a set on which nothing was turned: no adjustment made', () => {
    const copy = structuredClone(payload)
    for (const step of copy.steps) if (step.pass === 'work') step.state = 'left out'
    expect(sentence(resultSentence(copy))).toMatch(/^Tested, no adjustment made: /)
  })

  test('the sentence counts what was left out and what was not done, and is silent where nothing was', () => {
    const copy = structuredClone(payload)
    for (const step of copy.steps) step.state = 'done'
    expect(sentence(resultSentence(copy))).toMatch(/every one inside its band\.$/)
    const [first, second] = copy.steps
    if (!first || !second) throw new TypeError('no steps')
    first.state = 'to do'
    expect(sentence(resultSentence(copy))).toMatch(/every one inside its band; 1 not done\.$/)
    second.state = 'left out'
    expect(sentence(resultSentence(copy))).toMatch(/every one inside its band; 1 left out, 1 not done\.$/)
    const last = copy.values.findLast(({ latest, pass }) => latest && pass !== 'found')
    if (!last) throw new TypeError('no final value')
    last.accepted = false
    expect(sentence(resultSentence(copy))).toContain(`final readings, 1 outside: ${last.title}; 1 left out`)
  })

  const simple = { decision: 'simple acceptance' } as const
  const guarded = { decision: 'guarded acceptance' } as const
  const four = { decision: 'four answers' } as const
  test.each([
    [simple, 'inside', 'in and clear', true, 'inside'],
    [simple, 'inside', 'in but touching', true, 'inside, doubt touches the edge'],
    [simple, 'low', 'out but touching', false, 'OUTSIDE, too low'],
    [simple, 'high', 'out and clear', false, 'OUTSIDE, too high'],
    [guarded, 'inside', 'in but touching', false, 'inside, doubt touches the edge: NO PASS'],
    [guarded, 'high', 'out but touching', false, 'OUTSIDE, too high'],
    [four, 'inside', 'in and clear', true, 'in and clear'],
    [four, 'inside', 'in but touching', true, 'in but touching'],
    [four, 'low', 'out but touching', false, 'OUT BUT TOUCHING, too low'],
    [four, 'high', 'out and clear', false, 'OUT AND CLEAR, too high'],
    [simple, 'unread', null, false, 'unread'],
    [simple, 'inside', null, true, 'peak'],
  ] as const)('by %j a value %s, %s reads: %s, %s', (by, verdict, answer, accepted, words) => {
    const value = firstOf(payload, 'RF power')
    const evidence = { ...value.evidence, ...by }
    const said = verdictWords({ ...value, evidence, verdict, answer, accepted, limit: null })
    expect(sentence(said)).toBe(words)
  })
})

test('openssl alone verifies it, by the recipe of the README', () => {
  expect(opensslSays(jws, folder)).toContain(OPENSSL_GOOD)
  const bent = `${jws.slice(0, 2000)}${jws[2000] === 'A' ? 'B' : 'A'}${jws.slice(2001)}`
  expect(opensslSays(bent, folder)).toContain('Signature Verification Failure')
})

describe('a closed job without a record', () => {
  const journal = outcome.record.replace('.jws', '.journal')
  const copyOf = (lines: number) => {
    const at = dataFolder()
    mkdirSync(join(at, 'jobs'))
    const text = readFileSync(journal, 'utf8').split('\n').slice(0, lines).join('\n')
    writeFileSync(join(at, 'jobs', 'one.journal'), `${text}\n`)
    return at
  }
  const all = readJournal(journal).lines.length

  test('has it made the next time, and once only', async () => {
    const at = copyOf(all)
    const [made, ...more] = await signLeftOver(at)
    expect(more).toEqual([])
    expect(made?.why).toBe('')
    const record = readFileSync(join(at, 'jobs', 'one.jws'), 'utf8')
    expect(verifiedInWords(record, { key: null, decode })).toMatchObject({ answer: 'good', payload })
    expect(await signLeftOver(at)).toEqual([])
    expect(readdirSync(join(at, 'jobs'))).toEqual(['one.journal', 'one.jws'])
  })

  test('says why where the key is refused, and a job that is open is left alone', async () => {
    const at = copyOf(all)
    writeFileSync(join(at, 'signing-key.pem'), 'hello', { mode: 0o600 })
    expect((await signLeftOver(at))[0]).toMatchObject({
      signed: null,
      why: expect.stringMatching(/RECORD_KEY_UNREADABLE/),
    })
    expect(await signLeftOver(copyOf(all - 1))).toEqual([])
  })
})

test('a journal beside the record is in its folder', () => {
  expect(outcome.record.startsWith(join(folder, 'jobs'))).toBe(true)
})

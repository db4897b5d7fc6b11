import { generateKeyPairSync } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { recordDecoder } from '../../src/commands/record-decode.ts'
import { NEWEST } from '../../src/core/reading/algorithms.ts'
import { workedOut } from '../../src/core/reading/evidence.ts'
import { fingerprintOf } from '../../src/record/key.ts'
import { reportPage } from '../../src/record/report.ts'
import { signPayload } from '../../src/record/sign.ts'
import { HOME } from '../../src/recording/home.ts'
import type { KeptReading } from '../../src/schema/kept/evidence.ts'
import type { RecordPayload } from '../../src/schema/kept/record.ts'
import { dataFolder } from '../kit/job/journal-kit.ts'
import { verifiedInWords } from '../kit/job/kept-record.ts'

const decode = recordDecoder()
const { outcome } = await runFast({
  procedure: join(HOME, 'procedures', 'brackwater-27m-transmit-short.yaml'),
  benchFile: join(HOME, 'mocks', 'benches', 'no-socket.yaml'),
  // of this set one reading of each current began before the key came up and fell with it
  seed: 25,
  warm: true,
  bands: [],
  recordIn: dataFolder(),
})
const whole = verifiedInWords(readFileSync(outcome.record, 'utf8'), { key: null, decode })
if (!whole.payload) throw new TypeError(whole.words.join('; '))
const { payload } = whole

const { privateKey, publicKey } = generateKeyPairSync('ed25519')
const key = { privateKey, publicKey, fingerprint: fingerprintOf(publicKey) }
async function verified(payload: RecordPayload) {
  return verifiedInWords(await signPayload(Buffer.from(JSON.stringify(payload)), key), { key: null, decode })
}

describe('current read beside a power that a person types with the key up', () => {
  const currents = payload.values.filter(({ quantity }) => quantity === 'DC current')

  test('is in the record, which is good and names its versions', () => {
    expect(whole.answer).toBe('good')
    expect(currents).toHaveLength(2)
    for (const { evidence } of payload.values) expect(evidence.algorithms).toEqual(NEWEST)
    expect(whole.words).toContain('All captured by settling 2, drifting 1, uncertainty 1, acceptance 1.')
  })

  test.each(currents.map((one) => [one.title, one] as const))(
    '%s: no reading in it fell with the key, the newest neither',
    (_, { value, evidence }) => {
      for (const reading of evidence.readings.slice(-5)) expect(Math.abs(reading.value / value - 1)).toBeLessThan(0.02)
      expect(evidence.readings.every(({ spike }) => spike === undefined)).toBe(true)
    },
  )
})

/** The record with a spike put among the readings of its first settled voltage, every figure worked out with it. */
function withSpike(): { readonly payload: RecordPayload; readonly number: number; readonly at: number } {
  const copy = structuredClone(payload)
  const value = copy.values.find(
    ({ quantity, label, latest }) => quantity === 'DC voltage' && label === 'settled' && latest,
  )
  if (!value) throw new TypeError('no settled voltage')
  const { readings } = value.evidence
  const at = readings.length - 2
  const [before, after] = [readings[at - 1], readings[at]]
  if (!before || !after) throw new TypeError('too few readings')
  const arrivedMs = (before.arrivedMs + after.arrivedMs) / 2
  const spike: KeptReading = {
    ...before,
    raw: '+9.0000E+00',
    value: 9,
    arrivedMs,
    beganMs: before.arrivedMs,
    spike: true,
  }
  const evidence = { ...value.evidence, readings: readings.toSpliced(at, 0, spike), replaced: 1 }
  const { figures } = workedOut(evidence)
  Object.assign(value, figures, { evidence })
  return { payload: copy, number: value.number, at }
}

describe('a spike in a record', () => {
  const spiked = withSpike()
  const marked = () => {
    const copy = structuredClone(spiked.payload)
    const value = copy.values.find(({ number }) => number === spiked.number)
    if (!value) throw new TypeError('gone')
    return { copy, evidence: value.evidence }
  }

  test('is named to whoever verifies it, and printed beside the value', async () => {
    const { answer, words } = await verified(spiked.payload)
    expect(answer).toBe('good')
    expect(words.join('\n')).toMatch(/\nSpikes, not counted, in value \d+ \(.*\): "\+9\.0000E\+00"\.\n/)
    expect(reportPage(spiked.payload, '', '')).toMatch(/settled, spike not counted: 9\.000 V</)
  })

  test('its mark taken away: refused', async () => {
    const { copy, evidence } = marked()
    delete evidence.readings[spiked.at]?.spike
    const { answer, words } = await verified(copy)
    expect(answer).toBe('not')
    expect(words[2]).toMatch(/the reply "\+9\.0000E\+00" is a spike, the record says no spike$/)
  })

  test('a reading marked that is none: refused', async () => {
    const { copy, evidence } = marked()
    const [first] = evidence.readings
    if (first) first.spike = true
    const { answer, words } = await verified(copy)
    expect(answer).toBe('not')
    expect(words[2]).toMatch(/ is no spike, the record says a spike$/)
  })

  test('their number changed: refused', async () => {
    const { copy, evidence } = marked()
    evidence.replaced = 2
    expect((await verified(copy)).words[2]).toMatch(/: spikes come to 1, the record says 2$/)
  })
})

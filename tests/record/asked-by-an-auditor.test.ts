import { describe, expect, test } from 'vitest'
import { KEPT_AS_IT_IS, READ_AGAIN } from '../../src/core/job/job-entries.ts'
import { workedOut } from '../../src/core/reading/evidence.ts'
import { sha256 } from '../../src/record/chain.ts'
import type { RecordPayload } from '../../src/schema/kept/record.ts'
import { keptPayload, numbered, verifiedAs } from '../kit/job/kept-record.ts'

const plain = (await verifiedAs(keptPayload())).words.slice(1)

/** What is said of a record that is still good, and was not said of it before the change. */
async function saidOf(change: (payload: RecordPayload) => void, name?: string): Promise<readonly string[]> {
  const payload = keptPayload(name)
  const before = name === undefined ? plain : (await verifiedAs(payload)).words.slice(1)
  change(payload)
  const { answer, words } = await verifiedAs(payload)
  expect(words.slice(2).join('\n')).not.toMatch(/comes to|says/)
  expect(answer).toBe('good')
  return words.slice(1).filter((one) => !before.includes(one))
}

/** The holder of the key may change the sheet too: with its hash it is another sheet. */
function otherSheet({ header }: RecordPayload, from: RegExp, to: string): void {
  expect(header.procedure.text).toMatch(from)
  header.procedure.text = header.procedure.text.replace(from, to)
  header.procedure.sha256 = sha256(header.procedure.text)
}

describe('what an auditor would ask about is said of a good record, and only where it is so', () => {
  test('a record in which nothing of it is so says how much was worked out, by which versions, and its own sentence', async () => {
    const payload = keptPayload()
    payload.header.simulated = false
    payload.header.notCovered = []
    const { words } = await verifiedAs(payload)
    expect(words).toHaveLength(4)
    const readings = payload.values.reduce((sum, { evidence }) => sum + evidence.readings.length, 0)
    expect(words[1]?.match(/\d+/g)).toEqual([String(payload.values.length), String(readings)])
    expect(words.at(-1)).toBe(payload.sentence)
  })

  test('a simulated bench, and what the job does not cover', async () => {
    const payload = keptPayload()
    payload.header.simulated = false
    payload.header.notCovered = []
    const fewer = (await verifiedAs(payload)).words
    const gone = plain.filter((one) => !fewer.includes(one))
    expect(gone).toHaveLength(2)
    expect(gone[1]).toContain('receive side')
  })

  test('steps that were left out, with the reason, and those that were not done', async () => {
    const said = await saidOf(({ steps }) => {
      for (const step of steps) {
        if (step.step === 'voice') Object.assign(step, { state: 'left out', reason: 'no microphone' })
        if (step.step === 'residual') step.state = 'to do'
      }
    })
    expect(said).toHaveLength(2)
    expect(said[0]).toContain('(no microphone)')
    expect(said[1]).not.toContain('no microphone')
  })

  test('as-found readings that stand from an earlier job', async () => {
    const said = await saidOf(({ header }) => {
      const earlier = { job: '20250101-080000-T1-abcd', at: '2025-01-01T08:00:00.000Z', head: '0'.repeat(64) }
      header.continues = earlier
    })
    expect(said).toHaveLength(1)
    expect(said[0]).toMatch(/20250101-080000-T1-abcd.*2025-01-01T08:00:00\.000Z/)
  })

  test('an instrument whose calibration was overdue on that day, and no other', async () => {
    const said = await saidOf(({ header }) => {
      for (const one of header.instruments) if (one.name === 'counter') one.due = 'overdue'
    })
    expect(said).toHaveLength(1)
    expect(said[0]).toContain('counter')
    expect(said[0]).not.toContain('power')
  })

  test('a question that was answered by keeping the value as it is; any other answer is none', async () => {
    const said = await saidOf((payload) => {
      const [at] = payload.answers.map((one) => one.at)
      payload.answers.push({ at: at ?? '', question: 'The tone is missing', answer: KEPT_AS_IT_IS })
      payload.answers.push({ at: at ?? '', question: 'The channel is another', answer: READ_AGAIN })
    })
    expect(said).toHaveLength(1)
    expect(said[0]).toContain('The tone is missing')
    expect(said[0]).not.toContain('another')
  })

  test('values that a person typed, each title once', async () => {
    const { words } = await verifiedAs(keptPayload('a2df3db-typed'))
    const typed = keptPayload('a2df3db-typed').values.filter(({ label }) => label === 'typed')
    const titles = [...new Set(typed.map(({ title }) => title))]
    const [said = '', ...more] = words.filter((one) => one.endsWith(`: ${titles.join('; ')}.`))
    expect(more).toEqual([])
    expect(said).not.toBe('')
    expect(plain.some((one) => one.startsWith(said.split(':')[0] ?? '?'))).toBe(false)
  })

  test('by which versions, how many of each, where they are not all alike', async () => {
    const payload = keptPayload()
    const named = { settling: 1, drifting: 1, uncertainty: 1, acceptance: 1 }
    for (const number of [1, 3]) numbered(payload, number).evidence.algorithms = named
    const { answer, words } = await verifiedAs(payload)
    expect(answer).toBe('good')
    expect(words.slice(2, 4).map((one) => one.split(' ')[0])).toEqual(['2', String(payload.values.length - 2)])
    expect(words[2]).toMatch(/settling 1/)
    expect(plain[1]?.split(' ')[0]).not.toMatch(/\d/)
  })

  test('a step that is out of band as left, by its title', async () => {
    const said = await saidOf((payload) => {
      // a narrower band on the sheet, and everything worked out by it
      otherSheet(payload, /1\.60 \.\. 1\.95 kHz/g, '1.60 .. 1.70 kHz')
      for (const value of payload.values.filter(({ step }) => step === 'deviation')) {
        const { goal } = value.evidence
        if (goal.kind === 'band' && goal.high === 1950) Object.assign(goal, { high: 1700 })
      }
      rejudge(payload, 'deviation')
    })
    expect(said.some((one) => one.includes(numbered(keptPayload(), 40).title))).toBe(true)
  })
})

/** Verdicts and states of one step anew, from the goals that now stand in it. */
function rejudge(payload: RecordPayload, step: string): void {
  for (const value of payload.values.filter((one) => one.step === step)) {
    const { figures } = workedOut(value.evidence)
    if (figures) Object.assign(value, figures)
  }
  for (const one of payload.steps.filter((so) => so.step === step && so.pass !== 'found')) {
    const here = payload.values.filter((value) => value.step === step && value.pass === one.pass && value.latest)
    one.state = here.every(({ accepted }) => accepted) ? 'done' : 'out of band'
  }
}

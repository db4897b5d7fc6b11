import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'
import { afterAll, describe, expect, test, vi } from 'vitest'
import { openFastBench } from '../../src/commands/job/fast-bench.ts'
import { job } from '../../src/commands/job/job.ts'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { exitOf } from '../../src/commands/job/job-outcome.ts'
import { recordDecoder } from '../../src/commands/record-decode.ts'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import { reportPage } from '../../src/record/report.ts'
import { wrongGoals } from '../../src/record/wrong-goals.ts'
import { readYamlText } from '../../src/schema/door/yaml-door.ts'
import { DriverFile } from '../../src/schema/files/driver-file.ts'
import type { FromPage } from '../../src/schema/messages/live-frame.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { sentence, worded } from '../../src/words/sentence/sentence.ts'
import { verifiedInWords } from '../kit/job/kept-record.ts'

vi.setConfig({ testTimeout: 60_000 })

const SHEET = 'tests/kit/three-steps.yaml'
const NO_TRIP = 'mocks/benches/no-trip.yaml'
const REASON = 'supply without an over-voltage trip, no crowbar in the bench file: not above 13.80 V'

const folder = mkdtempSync(join(tmpdir(), 'trimwright-no-trip-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

/** The bench without a trip, with an external crowbar beside it. */
function crowbarAt(volts: string, tried = '2025-11-02'): string {
  const file = join(folder, `crowbar-${volts}.yaml`)
  const limits = 'limits: { voltage: 16.5 V, current: 4 A },'
  const text = readFileSync(NO_TRIP, 'utf8')
  expect(text).toContain(limits)
  writeFileSync(file, text.replace(limits, `${limits}\n      crowbar: { trips at: ${volts}, tried: ${tried} },`))
  return file
}

async function wholeJob(benchFile: string) {
  const cautions: string[] = []
  let highestVolts = 0
  const { outcome } = await runFast({
    procedure: SHEET,
    benchFile,
    seed: null,
    warm: true,
    bands: [],
    recordIn: mkdtempSync(join(folder, 'data-')),
    onCaution: (words) => cautions.push(sentence(words)),
    onFrame: ({ supply }) => {
      highestVolts = Math.max(highestVolts, supply.terminalVolts ?? 0)
    },
  })
  const verified = verifiedInWords(readFileSync(outcome.record, 'utf8'), { key: null, decode: recordDecoder() })
  const { payload } = verified
  if (!payload) throw new TypeError(verified.words.join(' '))
  const states = Object.fromEntries(payload.steps.map(({ step, state, reason }) => [step, [state, sentence(reason)]]))
  return { outcome, cautions, highestVolts, verified, payload, states, page: reportPage(payload, 'F', 'S') }
}

describe('a whole job on a supply without an over-voltage trip', async () => {
  const { outcome, cautions, highestVolts, verified, payload, states, page } = await wholeJob(NO_TRIP)

  test('what lies above normal is left out in words, the rest is done, and the exit is 1: not all of the sheet was done', () => {
    expect(states).toEqual({
      'control-voltage': ['done', ''],
      power: ['left out', REASON],
      'power-normal': ['done', ''],
    })
    expect(outcome.steps.find(({ state }) => state === 'left out')?.reason).toBe(REASON)
    expect(exitOf(outcome)).toBe(1)
  })

  test('the supply was never above 13.80 V by more than its meter reads wrong', () => {
    expect(highestVolts).toBeGreaterThan(13.7)
    expect(highestVolts).toBeLessThan(13.85)
  })

  test('said before Begin, on the card, in the record and in its report', () => {
    expect(cautions).toEqual([
      expect.stringMatching(/^The supply has no over-voltage trip: it is not taken above 13\.80 V/),
    ])
    expect(payload.answers.map(({ question }) => sentence(question))).toContain(cautions[0])
    expect(payload.header).toMatchObject({
      supplyTrip: 'none',
      notCovered: ['supply above 13.80 V (no over-voltage trip, no crowbar)'],
    })
    expect(page).toContain(
      '<p class="small">Over-voltage: the supply has no trip of its own, and no crowbar was named.</p>',
    )
    expect(page).toContain(`<li>power Power at the extreme voltage: ${REASON}</li>`)
    expect(page).toContain('<li>supply above 13.80 V (no over-voltage trip, no crowbar): not part of this job</li>')
  })

  test('its record verifies, with a driver that extends another', () => {
    expect(verified.answer).toBe('good')
    expect(verified.words.join(' ')).toContain(`Left out: Power at the extreme voltage (${REASON}).`)
    const kept = payload.header.drivers.find(({ id }) => id === 'supply-plain-scpi')
    const read = readYamlText(kept?.text ?? '', 'kept.yaml', DriverFile)
    expect(read).toEqual(loadDriver('drivers', 'supply-plain-scpi'))
    expect(read.settings.map(({ name }) => name)).toEqual(['DC voltage', 'DC current', 'output'])
    expect([read.manual, read.states.map(({ name }) => name)]).toEqual([
      expect.stringContaining('SCPI'),
      ['regulation'],
    ])
  })
})

describe('the same with an external crowbar in the bench file', async () => {
  const { outcome, cautions, highestVolts, verified, payload, states, page } = await wholeJob(crowbarAt('16.2 V'))

  test('every step is done, at 15.6 V too', () => {
    expect(Object.values(states)).toEqual([
      ['done', ''],
      ['done', ''],
      ['done', ''],
    ])
    expect(exitOf(outcome)).toBe(0)
    expect(highestVolts).toBeGreaterThan(15.5)
  })

  test('which crowbar it was, and when it was tried, stands in record and report and is said before Begin', () => {
    expect(verified.answer).toBe('good')
    expect(payload.header).toMatchObject({ supplyTrip: { crowbarVolts: 16.2, tried: '2025-11-02' }, notCovered: [] })
    expect(page).toContain('external crowbar at 16.20 V, tried on 2025-11-02.')
    expect(cautions).toEqual([
      'The supply has no over-voltage trip of its own: the external crowbar trips at 16.20 V and was tried on 2025-11-02. Look that it is connected.',
    ])
  })
})

test('a record that says none and has a value from above normal does not agree with itself', async () => {
  const { payload } = await wholeJob(crowbarAt('16.2 V'))
  expect(wrongGoals(payload)).toEqual([])
  const bent = { ...payload, header: { ...payload.header, supplyTrip: 'none' as const } }
  expect(worded(wrongGoals(bent))).toEqual([
    expect.stringMatching(/Power at the extreme voltage, RF power\): read above the normal voltage, and the head/),
  ])
})

test('a crowbar that trips in use: what lies above normal is left out', async () => {
  const { states, cautions } = await wholeJob(crowbarAt('15 V', '2024-12-31'))
  expect(states.power).toEqual([
    'left out',
    'external crowbar trips at 15.00 V, wanted above 16.00 V and at most 16.50 V: supply not above 13.80 V',
  ])
  expect(cautions).toHaveLength(2)
  expect(cautions[1]).toMatch(/tried on 2024-12-31, more than 12 months ago: try it again/)
})

test('a crowbar that trips at the normal voltage: no job is begun, with the cure', async () => {
  await expect(wholeJob(crowbarAt('13.8 V'))).rejects.toThrow(
    /trips at 13\.80 V, and the normal voltage is 13\.80 V: set the crowbar above 16\.00 V and at most 16\.50 V, try it/,
  )
})

test.each([
  [NO_TRIP, 1, 'supply to 13.8 V, without an over-voltage trip'],
  [crowbarAt('16.3 V'), 1, 'supply to 13.8 V, trip at 16.3 V'],
  ['mocks/benches/separate.yaml', 0, 'supply to 13.8 V, trip at 16.5 V'],
])('%s: the page is told %s cautions for the sheet, and by hand: %s', async (benchFile, count, words) => {
  const clock = virtualClock()
  const [cautions, answer] = await clock.runUntil(
    (async () => {
      const fast = await openFastBench({ procedure: SHEET, benchFile, seed: null, warm: true }, clock)
      try {
        const [sheet] = fast.session.welcome().procedures
        const said = await fast.session.request({ kind: 'supply on', id: 'on', procedure: basename(SHEET) })
        return [sheet?.supplyCautions, said] as const
      } finally {
        await fast.close()
      }
    })(),
  )
  expect(cautions).toHaveLength(count)
  expect(answer).toEqual({ ok: true, words })
})

test('the command says it before the job, and its table names what was left out', async () => {
  const out: string[] = []
  const err: string[] = []
  const exit = await job.run(
    { hand: true, fast: true, bench: NO_TRIP },
    [SHEET],
    { out: (line) => out.push(line), err: (line) => err.push(line) },
    new AbortController().signal,
  )
  expect(exit).toBe(1)
  expect(err.filter((line) => line.startsWith('caution'))).toHaveLength(1)
  expect(out.join('\n')).toMatch(new RegExp(`Power at the extreme voltage +left out: ${REASON}`))
})

describe('a job begun on another supply, opened again', async () => {
  const data = mkdtempSync(join(folder, 'reopen-'))
  const clock = virtualClock()
  /** Opens a bench, asks, and leaves it. */
  const visit = (benchFile: string, ...asked: readonly FromPage[]) =>
    clock.runUntil(
      (async () => {
        const fast = await openFastBench({ procedure: SHEET, benchFile, seed: null, warm: true, recordIn: data }, clock)
        try {
          const answers = []
          for (const one of asked) answers.push(await fast.session.request(one))
          const states = Object.fromEntries(
            fast.session.latest().steps.map(({ id, state, result }) => [id, [state, sentence(result)]]),
          )
          return { answers, states, job: fast.session.latest().job }
        } finally {
          await fast.close()
        }
      })(),
    )
  const begin = async (benchFile: string) => {
    const { job: begun } = await visit(benchFile, {
      kind: 'start job',
      id: 'start',
      procedure: basename(SHEET),
      serial: 'T-1',
      bands: [],
    })
    return begun?.id ?? ''
  }
  const closed = async (benchFile: string, id: string) => {
    const {
      answers,
      states,
      job: last,
    } = await visit(benchFile, { kind: 'reopen job', id: 'again', job: id }, { kind: 'close job', id: 'close' })
    const { payload, answer } = verifiedInWords(readFileSync(last?.record ?? '', 'utf8'), {
      key: null,
      decode: recordDecoder(),
    })
    return { answers, states, payload, answer }
  }

  test('begun with a trip, now without: left out from here on, and record and journal say so', async () => {
    const id = await begin('mocks/benches/separate.yaml')
    const { states, payload, answer } = await visit(NO_TRIP, { kind: 'reopen job', id: 'again', job: id }).then(
      async ({ states }) => ({ ...(await closed(NO_TRIP, id)), states }),
    )
    expect(states.power).toEqual(['left out', REASON])
    expect(answer).toBe('good')
    expect(payload?.header.supplyTrip).toBe('own')
    expect(worded(payload?.steps.find(({ step }) => step === 'power'))).toMatchObject({
      state: 'left out',
      reason: REASON,
    })
    expect(payload?.events.filter(({ what }) => what === 'supply trip').map(({ words }) => sentence(words))).toContain(
      'the job was begun with: Over-voltage: the trip of the supply itself. Now: Over-voltage: the supply has no trip of its own, and no crowbar was named.',
    )
  })

  test('begun without a trip, now with one: what its head left out stays left out', async () => {
    const id = await begin(NO_TRIP)
    const { states } = await visit('mocks/benches/separate.yaml', { kind: 'reopen job', id: 'again', job: id })
    expect(states.power).toEqual(['left out', REASON])
    const { payload, answer } = await closed('mocks/benches/separate.yaml', id)
    expect(answer).toBe('good')
    expect(payload?.header.supplyTrip).toBe('none')
    expect(worded(payload?.steps.find(({ step }) => step === 'power'))).toMatchObject({ state: 'left out' })
  })
})

test('a head from before this was written down is read, and says nothing of it', async () => {
  const { JobHeader } = await import('../../src/schema/kept/record.ts')
  const { headerOf } = await import('../kit/job/journal-kit.ts')
  const { supplyTrip: _, ...older } = headerOf()
  expect(JobHeader.parse(older).supplyTrip).toBeNull()
})

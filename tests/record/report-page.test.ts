import { describe, expect, test } from 'vitest'
import { CAUTION_SEEN, KEPT_AS_IT_IS, READ_AGAIN } from '../../src/core/job/job-entries.ts'
import { reportPage } from '../../src/record/report.ts'
import { conditionsOf, readAgain, reportRows } from '../../src/record/report-rows.ts'
import type { RecordPayload } from '../../src/schema/kept/record.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { keptPayload, numbered } from '../kit/job/kept-record.ts'

/** A cell as it is read: its lines, without marks. */
type Cell = readonly string[]

const plain = (html: string) =>
  html
    .replace(/<[^>]+>/g, '')
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&#39;', "'")
    .replaceAll('&amp;', '&')
    .trim()

/** The tables of a page in their order: heads, and the cells of each row. */
function tablesIn(page: string): readonly { readonly heads: readonly string[]; readonly rows: readonly Cell[][] }[] {
  return [...page.matchAll(/<table class="rows"><thead><tr>(.*?)<\/tr><\/thead><tbody>(.*?)<\/tbody>/gs)].map(
    ([, head = '', body = '']) => ({
      heads: [...head.matchAll(/<th>(.*?)<\/th>/gs)].map(([, cell = '']) => plain(cell)),
      rows: [...body.matchAll(/<tr>(.*?)<\/tr>/gs)].map(([, row = '']) =>
        [...row.matchAll(/<td[^>]*>(.*?)<\/td>/gs)].map(([, cell = '']) => cell.split('<br>').map(plain)),
      ),
    }),
  )
}

/** The items of each list in their order. */
function listsIn(page: string): readonly (readonly string[])[] {
  return [...page.matchAll(/<ul>(.*?)<\/ul>/gs)].map(([, items = '']) =>
    [...items.matchAll(/<li>(.*?)<\/li>/gs)].map(([, item = '']) => plain(item)),
  )
}

function pageOf(change: (payload: RecordPayload) => void = () => {}): string {
  const payload = keptPayload()
  change(payload)
  return reportPage(payload, 'AAAA-BBBB-CCCC-DDDD', 'f'.repeat(64))
}

const page = pageOf()
const [twice, aligned, settings, instruments] = tablesIn(page)

describe('as found and as left', () => {
  const rows = twice?.rows ?? []

  test('five quantities, each with both values and their doubts, as they were captured', () => {
    const values = rows.map(([, , found, left]) => [found?.[0], left?.[0]])
    expect(values).toEqual([
      ['2.560 V', '2.395 V'],
      ['27.205234 MHz', '27.205025 MHz'],
      ['1.70 W', '3.64 W'],
      ['975 mA', '1.216 A'],
      ['2.16 kHz', '1.78 kHz'],
    ])
    for (const [, , found, left] of rows)
      for (const cell of [found, left]) expect(cell?.[1]).toMatch(/^± [\d.]+ \w+, settled$/)
  })

  test('the doubt of a value is that of the record, in the digits of its meter', () => {
    const payload = keptPayload()
    const printed = (row: number, column: number) => Number.parseFloat(rows[row]?.[column]?.[1]?.slice(2) ?? '')
    expect(printed(2, 2)).toBeCloseTo(numbered(payload, 7).uncertainty, 2)
    expect(printed(0, 3)).toBeCloseTo(1000 * numbered(payload, 36).uncertainty, 0)
  })

  test('the change is the difference of the two as they were before they were rounded, with its sign and its own doubt', () => {
    expect(rows.map(([, , , , change]) => change?.[0])).toEqual([
      '−166 mV',
      '−209 Hz',
      '+1.95 W',
      '+241 mA',
      '−0.38 kHz',
    ])
    for (const [, , , , change] of rows) expect(change?.[1]).toMatch(/^± [\d.]+ \w+$/)
  })

  test('what a step ended with while it was aligned stands below what was left; nothing where it was not', () => {
    expect(rows.map(([, , , left]) => left?.[2]?.match(/[\d.]+ \w+$/)?.[0])).toEqual([
      '2.394 V',
      '27.205003 MHz',
      '3.62 W',
      '1.214 A',
      '1.79 kHz',
    ])
    expect(rows.every(([, , found]) => found?.length === 2)).toBe(true)
  })

  test('the band is that of the sheet, and the verdict that of what was left', () => {
    expect(rows.map(([, , , , , band]) => band?.[0])).toEqual([
      '2.200 .. 2.600 V',
      '27.205000 MHz ± 150 Hz',
      '3.30 .. 4.00 W',
      '1.000 .. 1.450 A',
      '1.60 .. 1.95 kHz',
    ])
    // as found four of the five were outside
    expect(rows.some((row) => /OUTSIDE/.test(row[6]?.[0] ?? ''))).toBe(false)
  })

  test('read as found alone: its band stands there, and neither change nor verdict', () => {
    const once = pageOf((payload) => {
      payload.values = payload.values.filter(({ pass, step }) => pass !== 'left' || step !== 'deviation')
    })
    const row = tablesIn(once)[0]?.rows.at(-1) ?? []
    expect(row[2]?.[0]).toBe('2.16 kHz')
    expect(row[3]).toHaveLength(1)
    expect(row[4]).toEqual([''])
    expect(row[5]).toEqual(['1.60 .. 1.95 kHz'])
    expect(row[6]?.[0]).not.toMatch(/inside|OUTSIDE/)
  })

  test('no change at all is one of +0', () => {
    const payload = keptPayload()
    numbered(payload, 38).value = numbered(payload, 7).value
    expect(reportRows(payload).twice[2]?.change?.by).toMatch(/^\+0\.00/)
  })

  test('a value that drifts says how fast it went', () => {
    const drifts = tablesIn(
      pageOf((payload) => Object.assign(numbered(payload, 36), { label: 'drifting', slope: 0.011 })),
    )
    expect(drifts[0]?.rows[0]?.[3]?.[1]).toMatch(/11\.?\d* mV\/s/)
  })

  test('a change is not told between two meters, two drivers or two paths', () => {
    for (const change of [{ instrument: 'another' }, { driver: 'another' }, { pathLossDb: 3 }]) {
      const payload = keptPayload()
      Object.assign(numbered(payload, 38).evidence.facts, change)
      const changes = reportRows(payload).twice.map((row) => row.change === null)
      expect(changes).toEqual([false, false, true, false, false])
    }
  })

  test('neither read as found nor as left: no such table, the values are among those read while aligning', () => {
    const work = pageOf((payload) => {
      payload.values = payload.values.filter(({ pass }) => pass === 'work')
    })
    const [first, ...more] = tablesIn(work)
    expect(more).toHaveLength(2)
    expect(first?.heads).toHaveLength(5)
    expect(first?.rows).toHaveLength(
      new Set(
        keptPayload()
          .values.filter(({ pass, latest }) => pass === 'work' && latest)
          .map(({ step, title, quantity }) => `${step} ${title} ${quantity}`),
      ).size,
    )
  })
})

describe('read while aligning', () => {
  const rows = aligned?.rows ?? []

  test('each quantity once, in the order of the sheet, with its value, doubt, band and verdict', () => {
    expect(rows).toHaveLength(25)
    expect(rows[0]?.[2]?.[0]).toBe('301 mA')
    expect(rows[0]?.[3]).toEqual(['250 .. 400 mA'])
    expect(rows.at(-1)?.[2]?.[0]).toBe('85.4 %')
    for (const row of rows) expect(row[2]?.[1]).toMatch(/^± [\d.]+ [\w%]+, (settled|short|highest|peaked)$/)
    expect(rows.every((row) => row.length === 5 && row[4]?.[0] !== '')).toBe(true)
  })

  test('under which conditions: volts at the plug as measured, channel as seen, tone, receive or transmit and its mode', () => {
    const below = new Map(rows.map((row) => [row[2]?.[0], row[1]?.[1] ?? '']))
    const { conditions } = numbered(keptPayload(), 16).evidence
    expect(below.get('3.83 W')).toContain(`${conditions.plugVolts?.toFixed(2)} V`)
    expect(below.get('301 mA')).toContain('receive')
    expect(below.get('3.83 W')).toMatch(/transmit (FM|AM)/)
    expect(below.get('1.37 kHz')).toMatch(/tone \S+/)
    expect(below.get('3.83 W')).not.toMatch(/tone/)
    expect(below.get('3.83 W')).toMatch(/\b20\b/)
    const elsewhere = keptPayload()
    const conditions16 = () =>
      conditionsOf(numbered(elsewhere, 16))
        .map((one) => sentence(one))
        .join(', ')
    numbered(elsewhere, 16).evidence.conditions.channelSeen = 19
    expect(conditions16()).toMatch(/\b19\b/)
    expect(conditions16()).not.toMatch(/\b20\b/)
    Object.assign(numbered(elsewhere, 16).evidence.conditions, { channelWanted: null, plugVolts: null })
    expect(conditions16()).not.toMatch(/\d/)
  })

  test('nothing read while aligning: no such table', () => {
    const none = pageOf((payload) => {
      payload.values = payload.values.filter(({ pass }) => pass !== 'work')
    })
    expect(tablesIn(none).map(({ heads }) => heads.length)).toEqual([7, 4, 5])
  })
})

describe('settings and instruments', () => {
  test('each setting as found, for the job and as left, with the reason where it is not what it was', () => {
    expect(settings?.rows.map((row) => row.map(([text]) => text))).toContainEqual([
      'time-out timer',
      '60 s',
      '60 s',
      '60 s',
    ])
    const [, , changed] = tablesIn(
      pageOf((payload) => {
        const [first] = payload.settings
        if (first) Object.assign(first, { left: 'uk', reason: 'asked for' })
      }),
    )
    expect(changed?.rows[0]?.[3]).toEqual(['uk: asked for'])
    expect(tablesIn(pageOf((payload) => void payload.settings.splice(0)))).toHaveLength(3)
  })

  test('each instrument with what it answered, its certificate and its state on that day', () => {
    const { header } = keptPayload()
    expect(instruments?.rows.map(([name]) => name?.[0])).toEqual(header.instruments.map(({ name }) => name))
    expect(instruments?.rows.map((row) => row[1]?.[0])).toEqual(header.instruments.map(({ identity }) => identity))
    expect(instruments?.rows.map((row) => row.at(-1)?.[0])).toEqual(header.instruments.map(({ due }) => due))
  })

  test('one that a person reads, and one that did not answer, are told apart', () => {
    const [, , , changed] = tablesIn(
      pageOf(({ header }) => {
        Object.assign(header.instruments[0] ?? {}, { typed: true })
        Object.assign(header.instruments[1] ?? {}, { identity: '', calibrationDue: null })
      }),
    )
    const said = changed?.rows.map((row) => row[1]?.[0]) ?? []
    expect(new Set(said.slice(0, 3)).size).toBe(3)
    expect(said[1]).not.toBe('')
    expect(changed?.rows[1]?.[3]).toEqual([''])
  })
})

describe('what else stands on it', () => {
  test('left out and not done, by row, each with its reason and its pass where that is not the aligning', () => {
    const [left] = listsIn(
      pageOf((payload) => {
        for (const step of payload.steps) {
          if (step.step === 'voice') Object.assign(step, { state: 'left out', reason: 'no microphone' })
          if (step.step === 'deviation' && step.pass === 'left') step.state = 'to do'
          if (step.step === 'residual') step.state = 'to do'
        }
      }),
    )
    expect(left).toHaveLength(4)
    expect(left?.[0]).toContain('receive side')
    expect(left?.[1]).toMatch(/no microphone$/)
    expect(left?.[2]).not.toMatch(/\(as /)
    expect(left?.[3]).toMatch(/\(as left\)/)
  })

  test('nothing left out and everything covered: no such list', () => {
    const lists = listsIn(pageOf(({ header }) => void header.notCovered.splice(0)))
    expect(lists).toHaveLength(listsIn(page).length - 1)
  })

  test('the key-down seconds, whole; what was asked and answered; marks; and events, each with its minute', () => {
    const events = listsIn(
      pageOf((payload) => {
        payload.keyDownS = 123.6
        payload.header.bands = ['cept', 'uk']
        payload.marks = [
          { number: 1, at: '2026-01-05T08:09:10.000Z', title: 'Power', reading: '3.83 W', words: 'lead moved' },
          { number: 2, at: '2026-01-05T08:11:10.000Z', title: 'Tone', reading: '', words: '' },
        ]
        payload.answers = [{ at: payload.openedAt, question: 'Load on the socket', answer: 'done' }]
        payload.events = [{ at: '2026-01-05T09:59:59.999Z', what: 'power', words: 'link lost' }]
      }),
    ).at(-1)
    expect(events).toHaveLength(6)
    expect(events?.[0]).toContain('cept, uk')
    expect(events?.[1]).toContain('124 s')
    expect(events?.[2]).toContain('Load on the socket')
    expect(events?.[3]).toMatch(/^2026-01-05 08:09 UTC .*Power, 3\.83 W: lead moved$/)
    expect(events?.[4]).toMatch(/^2026-01-05 08:11 UTC .*Tone: \S/)
    expect(events?.[5]).toBe('2026-01-05 09:59 UTC power: link lost')
  })

  test('without bands in use none are named', () => {
    expect(listsIn(page).at(-1)?.[0]).toMatch(/\d s/)
  })

  test('a caution that was seen, a question that was answered and a thing that was done read differently', () => {
    const read = (answer: string) =>
      listsIn(
        pageOf((payload) => {
          payload.answers = [{ at: payload.openedAt, question: 'THIS', answer }]
        }),
      )
        .at(-1)
        ?.find((words) => words.includes('THIS'))
    const said = [read(CAUTION_SEEN), read('done'), read(KEPT_AS_IT_IS), read(READ_AGAIN)]
    const before = said.map((words) => words?.split('THIS')[0])
    expect(new Set(before).size).toBe(3)
    expect(before[2]).toBe(before[3])
    expect(said.map((words) => words?.split('THIS')[1])).toEqual([
      '',
      '.',
      expect.stringContaining(KEPT_AS_IT_IS),
      expect.stringContaining(READ_AGAIN),
    ])
  })

  test('serial, complaint, intake, the earlier job and the supply trip: each only where it is there', () => {
    const bare = pageOf(({ header }) => Object.assign(header, { serial: '' }))
    const full = pageOf(({ header }) =>
      Object.assign(header, {
        complaint: 'it hums',
        intake: { chassis: 'floating', speaker: 'one side to chassis', tampered: '' },
        continues: { job: '20250101-080000-T1-abcd', at: '2025-01-01T08:00:00.000Z', head: '0'.repeat(64) },
        supplyTrip: 'none',
      }),
    )
    const paragraphs = (html: string) => [...html.matchAll(/<p[ >].*?<\/p>/gs)].length
    expect(paragraphs(bare)).toBe(paragraphs(page))
    expect(paragraphs(full)).toBe(paragraphs(page) + 4)
    expect(full).toContain('“it hums”')
    expect(full).toMatch(/chassis floating, speaker one side to chassis, [^“]*</)
    expect(full).toMatch(/20250101-080000-T1-abcd.*2025-01-01 08:00 UTC/)
    const touched = pageOf(({ header }) =>
      Object.assign(header, { intake: { chassis: 'floating', speaker: 'bridged', tampered: 'wax broken' } }),
    )
    expect(touched).toContain('“wax broken”')
    expect(page).toContain(keptPayload().header.serial)
  })

  test('the rule card with its date and source, or that none was chosen', () => {
    const { ruleCard } = keptPayload().header
    expect(ruleCard).not.toBeNull()
    expect(page).toContain(ruleCard?.date)
    const without = pageOf(({ header }) => Object.assign(header, { ruleCard: null }))
    expect(without).not.toContain(ruleCard?.title)
  })

  test('is marked as simulated only where it was', () => {
    expect(page.match(/class="simulated"/g)).toHaveLength(1)
    expect(pageOf(({ header }) => Object.assign(header, { simulated: false }))).not.toContain('class="simulated"')
  })

  test('SHA-256 of file and journal, lines, key and procedure', () => {
    const { journal, header } = keptPayload()
    for (const text of [
      'f'.repeat(64),
      journal.head,
      `${journal.lines} lines`,
      header.procedure.sha256,
      header.program,
    ])
      expect(page).toContain(text)
    expect(page.match(/AAAA-BBBB-CCCC-DDDD/g)).toHaveLength(2)
  })
})

describe('what was read again', () => {
  test('the earlier value, as found, while aligning or as left, and whether it was taken back', () => {
    const payload = keptPayload()
    for (const number of [5, 16, 38]) numbered(payload, number).latest = false
    numbered(payload, 16).takenBack = true
    const words = readAgain(payload).map((one) => sentence(one))
    expect(words).toHaveLength(3)
    for (const [at, digits] of ['2.560 V', '3.83 W', '3.64 W'].entries()) expect(words[at]).toContain(digits)
    expect(words.map((one) => /taken back/.test(one))).toEqual([false, true, false])
    expect(words.map((one) => /as (found|left)/.exec(one)?.[1])).toEqual(['found', undefined, 'left'])
  })
})

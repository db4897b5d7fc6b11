import { readFileSync } from 'node:fs'
import { expect, test } from 'vitest'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { recordDecoder } from '../../src/commands/record-decode.ts'
import { reportPage } from '../../src/record/report.ts'
import { PROCEDURE } from '../kit/job/job-bench.ts'
import { dataFolder } from '../kit/job/journal-kit.ts'
import { verifiedInWords } from '../kit/job/kept-record.ts'

test('a capture taken back, a mark with its words and the cautions seen: all in the signed record, which is good, and in its report', async () => {
  const done = new Set<string>()
  const { outcome } = await runFast({
    procedure: PROCEDURE,
    seed: 4,
    warm: true,
    bands: [],
    recordIn: dataFolder(),
    onFrame: ({ captured, marks, offers }, request) => {
      const once = (id: string, when: boolean, ask: () => void) => {
        if (!when || done.has(id)) return
        done.add(id)
        ask()
      }
      once('back', captured.length === 2 && offers.includes('take back'), () =>
        request({ kind: 'take back', id: 'back' }),
      )
      once('mark', captured.length === 4, () => request({ kind: 'mark', id: 'mark' }))
      once('say', marks.length === 1, () => request({ kind: 'explain', id: 'say', mark: 1, words: 'the prod slipped' }))
    },
  })
  const { answer, payload, fingerprint, words } = verifiedInWords(readFileSync(outcome.record, 'utf8'), {
    key: null,
    decode: recordDecoder(),
  })
  expect(words.join('\n')).toMatch(/^Intact/)
  expect(answer).toBe('good')
  if (!payload) throw new TypeError('no payload')
  const back = payload.values.filter(({ takenBack }) => takenBack)
  expect(back).toMatchObject([{ number: 2, latest: false }])
  const again = payload.values.find((one) => one.number !== 2 && one.title === back[0]?.title && one.latest)
  expect(again?.number).toBeGreaterThan(2)
  expect(payload.marks).toMatchObject([{ number: 1, words: 'the prod slipped' }])
  const seen = payload.answers.filter(({ answer: is }) => is === 'caution seen').map(({ question }) => question)
  expect(seen.length).toBeGreaterThan(1)
  expect(new Set(seen).size).toBe(seen.length)
  const page = reportPage(payload, fingerprint, '')
  expect(page).toMatch(/taken back \d/)
  expect(page).toMatch(/marked at .*: the prod slipped/)
  expect(page).toContain('Caution seen: ')
})

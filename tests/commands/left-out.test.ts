import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { exitOf, printOutcome } from '../../src/commands/job/job-outcome.ts'
import { report } from '../../src/commands/report.ts'
import { verify } from '../../src/commands/verify.ts'
import type { LiveFrame } from '../../src/schema/messages/live-frame.ts'
import { worded } from '../../src/words/sentence/sentence.ts'
import { finishedOf } from '../../web/view/view-finished.ts'
import { dataFolder } from '../kit/job/journal-kit.ts'

const folder = dataFolder()
const HEAD = readFileSync(join(import.meta.dirname, '..', 'kit', 'two-steps.yaml'), 'utf8').split('steps:')[0] ?? ''
const BANDS =
  'bands: { cept: { plan: cept-40, use: yes }, low: { plan: de-80, channels: 41 .. 80, use: ask }, sea: { plan: marine-vhf, use: ask } }'
const step = (id: string, channel: string, more = '') =>
  `  - { id: ${id}, title: Volts ${id}, ${channel}, where: { prod: T1, series: 100 kohm, common: earth strip ES }, measure: DC voltage, target: 1 .. 4 V${more} }\n`

function procedure(steps: string): string {
  const file = join(folder, 'channels.yaml')
  writeFileSync(file, `${HEAD.replace(/bands: .*/, BANDS)}steps:\n${steps}`)
  return file
}

async function done(steps: string, bands: readonly string[] = []) {
  const frames: LiveFrame[] = []
  const run = await runFast({
    procedure: procedure(steps),
    seed: 3,
    warm: true,
    bands,
    recordIn: folder,
    onFrame: (frame) => frames.push(frame),
  })
  return { outcome: run.outcome, frames }
}

async function said(command: typeof report | typeof verify, words: readonly string[]) {
  const out: string[] = []
  const output = { out: (line: string) => out.push(line), err: (line: string) => out.push(line) }
  await command.run({}, words, output, new AbortController().signal)
  return out.join('\n')
}

describe('a row whose channel no chosen band has', () => {
  const WHY = 'channel 60 is in none of the bands in use; there are 1 to 40 (cept)'

  test('is named on the page, the command line, in record and report, and the job ends 1', async () => {
    const { outcome, frames } = await done(step('mid', 'channel: 20') + step('low', 'channel: 60'))
    expect(exitOf(outcome)).toBe(1)
    expect(outcome.steps).toMatchObject([
      { state: 'done', wanting: false },
      { state: 'left out', reason: WHY, wanting: true },
    ])
    const lines: string[] = []
    printOutcome(outcome, { out: (line) => lines.push(line), err: () => {} }, false)
    expect(lines.join('\n')).toContain(`left out: ${WHY}`)

    expect(worded(frames[0]?.events)).toMatchObject([{ what: 'note', words: `low Volts low is left out: ${WHY}` }])
    const last = frames.findLast(({ mode }) => mode === 'job')
    expect(worded(last?.steps[1])).toMatchObject({ state: 'left out', result: WHY })
    expect(last && finishedOf(worded(last)).leftOut).toEqual([`low Volts low: ${WHY}`])

    expect(await said(verify, [outcome.record])).toContain(`Left out: Volts low (${WHY})`)
    const page = await said(report, [outcome.record])
    expect(readFileSync(page, 'utf8')).toContain(`Volts low: ${WHY}`)
  })

  test('is done, and the job ends 0, once its band is chosen', async () => {
    const { outcome } = await done(step('low', 'channel: 60'), ['low'])
    expect(outcome.steps).toMatchObject([{ wanting: false }])
    expect(outcome.steps[0]?.reason).toBe('')
  })

  test('what the sheet itself leaves out is no want: the job ends 0', async () => {
    const { outcome } = await done(step('mid', 'channel: 20') + step('low', 'channel: 60', ', leave out: not today'))
    expect(exitOf(outcome)).toBe(0)
  })
})

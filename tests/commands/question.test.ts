import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import type { SimulatedSet } from '../../mocks/plant/simulated-set.ts'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { recordDecoder } from '../../src/commands/record-decode.ts'
import { report } from '../../src/commands/report.ts'
import { verifyRecord } from '../../src/record/verify-record.ts'
import type { LiveFrame } from '../../src/schema/messages/live-frame.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { WHOLE_SHEET } from '../kit/job/job-bench.ts'
import { dataFolder } from '../kit/job/journal-kit.ts'

const folder = dataFolder()
const [HEAD = '', ...STEPS] = readFileSync(WHOLE_SHEET, 'utf8').split(/\n(?= {2}- id: )/)
const KEPT = ['first-key', 'as-found', 'control-voltage', 'control-low', 'power-normal', 'deviation', 'am-carrier']
/** The rows of the whole sheet in which something can be forgotten. */
const procedure = join(folder, 'rows.yaml')
writeFileSync(
  procedure,
  [HEAD, ...STEPS.filter((row) => KEPT.some((id) => row.startsWith(`  - id: ${id}\n`)))]
    .join('\n')
    .replace(/read: \[.*\]/, 'read: [control-voltage, power-normal, deviation]')
    .replace(/, disturbs: \[.*\]/g, ''),
)

/** What is pulled or turned behind the hand's back, once each, when its moment is first shown. */
const SLIPS: readonly { at(frame: LiveFrame): boolean; do(set: SimulatedSet): void }[] = [
  {
    at: ({ state, step }) => state === 'key now' && step?.id === 'power-normal' && step.pass === 'found',
    do: (set) => set.mode('AM'),
  },
  {
    at: ({ state, step }) => state === 'key now' && step?.id === 'deviation' && step.pass === 'found',
    do: (set) => set.microphone('nothing'),
  },
  {
    at: ({ state, step }) => state === 'hold-off' && step?.id === 'control-low',
    do: (set) => set.channel(20),
  },
]

const asked: string[] = []
const left = [...SLIPS]
let hands: SimulatedSet | null = null
const { outcome } = await runFast({
  procedure,
  seed: 5,
  warm: true,
  bands: [],
  recordIn: folder,
  onWorld: ({ set }) => {
    hands = set
  },
  onFrame: (frame) => {
    const at = left.findIndex((slip) => slip.at(frame))
    if (hands && at >= 0) left.splice(at, 1)[0]?.do(hands)
    const words = `${frame.step?.id} ${frame.step?.pass}: ${sentence(frame.guide.words)} ${sentence(frame.because)}`
    if (frame.state === 'question' && asked.at(-1) !== words) asked.push(words)
  },
})
const kept = (step: string, pass: string) =>
  outcome.captured.filter((one) => one.step === step && one.pass === pass).map(({ value }) => value)

describe('a job in which three things were forgotten', () => {
  test('each is asked about once, with what the step wants and the likely cause', () => {
    expect(left).toEqual([])
    expect(asked).toEqual([
      expect.stringMatching(/^power-normal found: Is the set in FM\? \d\.\d\d W, the step expects 3\.30 \.\. 4\.00 W$/),
      expect.stringMatching(
        /^deviation found: Is the oscillator lead in\? Is the set in FM\? 0\.0\d kHz, the step expects 1\.60 \.\. 1\.95 kHz$/,
      ),
      expect.stringMatching(
        /^control-low work: Is the set on channel 1\? 2\.\d+ V, the step expects 1\.\d+ \.\. 1\.\d+ V; it is as on channel 20$/,
      ),
    ])
  })

  test('each was put right and read again: only true values are kept', () => {
    expect(kept('power-normal', 'found')).toEqual([expect.closeTo(2.6, 0), expect.closeTo(1.1, 0)])
    expect(kept('deviation', 'found')).toHaveLength(1)
    expect(kept('deviation', 'found')[0]).toBeGreaterThan(1000)
    expect(kept('control-low', 'work')).toHaveLength(1)
    expect(kept('control-low', 'work')[0]).toBeLessThan(2)
    expect(outcome.steps.map(({ state }) => state)).not.toContain('to do')
  })

  test('the answers stand in the record, which is good, and in the report', async () => {
    const text = readFileSync(outcome.record, 'utf8')
    const { answer, payload } = verifyRecord(text, { key: null, decode: recordDecoder() })
    expect(answer).toBe('good')
    const again = payload?.answers
      .filter((one) => one.answer === 'read again')
      .map(({ question }) => sentence(question))
    expect(again).toEqual([
      expect.stringContaining('Is the set in FM? Power at the normal voltage: '),
      expect.stringContaining('Is the oscillator lead in?'),
      expect.stringContaining('Is the set on channel 1?'),
    ])
    const out: string[] = []
    const output = { out: (line: string) => out.push(line), err: () => {} }
    await report.run({}, [outcome.record], output, new AbortController().signal)
    const page = readFileSync(out[0] ?? '', 'utf8')
    expect(page).toMatch(/<li>Asked: Is the oscillator lead in\? [^<]* kHz\. Answer: read again\.<\/li>/)
  })
})

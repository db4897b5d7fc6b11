import { expect, test } from 'vitest'
import { BenchError } from '../../../src/fault/bench-error.ts'
import { readYamlText } from '../../../src/schema/door/yaml-door.ts'
import { readKeyPlan } from '../../../src/schema/files/key-plan.ts'
import { Procedure } from '../../../src/schema/files/procedure-file.ts'

/** What takes a hundredth of this today; before, minutes. */
const SOON_MS = 3000

/** Processor time, so that a busy machine changes nothing. */
function msOf(work: () => void): number {
  const before = process.cpuUsage()
  work()
  const { user, system } = process.cpuUsage(before)
  return (user + system) / 1000
}

test('a way of keying with thousands of blanks is refused at once', () => {
  for (const text of [
    `unmodulated, 15 s${' '.repeat(7500)}then${' '.repeat(7500)}x`,
    `unmodulated,${' then'.repeat(3000)}`,
    `tone${' '.repeat(15_000)}at`,
    `tone ${' at '.repeat(4000)}`,
  ])
    expect(msOf(() => expect(readKeyPlan(text).ok).toBe(false))).toBeLessThan(SOON_MS)
})

test('a way of keying is read with more than one blank between its words, as people type', () => {
  expect(readKeyPlan('tone  1 kHz   at 30 mV,  15 s then  45 s rest')).toEqual({
    ok: true,
    value: { tone: { hz: 1000, volts: 0.03 }, budget: { atMostS: 15, restS: 45 } },
  })
})

test('twenty thousand wrong keys are refused at once, the first hundred of them by name', () => {
  const keys = Array.from({ length: 20_000 }, (_, at) => `wrong${at}: a`).join('\n')
  let said: unknown
  const ms = msOf(() => {
    try {
      readYamlText(`format: 1\nprocedure: x\n${keys}\n`, 'p.yaml', Procedure)
    } catch (error) {
      said = error
    }
  })
  expect(ms).toBeLessThan(SOON_MS)
  expect(said).toBeInstanceOf(BenchError)
  expect(String(said)).toMatch(/^BenchError: p\.yaml: 20002 mistakes/)
  expect(String(said)).toMatch(/and 19902 more/)
})

test('one key as long as the file is refused at once', () => {
  const ms = msOf(() => expect(() => readYamlText(`${'a'.repeat(1000)}: 1\n`, 'p.yaml', Procedure)).toThrow(/mistake/))
  expect(ms).toBeLessThan(SOON_MS)
})

import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import type { MeterFacts } from '../../../src/schema/kept/reading.ts'
import { JobBench, METERS, quietMeter } from '../../kit/job/job-bench.ts'

const TWO_STEPS = join(import.meta.dirname, '..', '..', 'kit', 'two-steps.yaml')
const POINT = quietMeter('DC voltage', { instrument: 'point', inputOhms: 10e6 })
const PLUG = quietMeter('DC voltage', { instrument: 'plug', role: 'plug' })
const OTHERS = METERS.filter(({ quantity }) => quantity !== 'DC voltage')

/** The control voltage, with `role` beside its quantity, on a bench with these voltmeters. */
function atControlVoltage(role: string | null, voltmeters: readonly MeterFacts[]) {
  const file = join(mkdtempSync(join(tmpdir(), 'trimwright-roles-')), 'roles.yaml')
  const text = readFileSync(TWO_STEPS, 'utf8')
  const beside = role === null ? '' : `    role: ${role}\n`
  writeFileSync(file, text.replace('    measure: DC voltage\n', `    measure: DC voltage\n${beside}`))
  const bench = new JobBench([...voltmeters, ...OTHERS], { procedure: file })
  bench.showsAt.set('point', 2.4)
  bench.showsAt.set('plug', 13.6)
  bench.begin('control-voltage')
  bench.run(3)
  return bench
}

const lastOf = ({ job }: JobBench) => job.open.measured[0]?.live.last?.value

test.each([
  ['without a role the meter that has none', null, 'point', 2.4],
  ['with a role the one that has it', 'plug', 'plug', 13.6],
] as const)('of two voltmeters a step reads %s, and never the other', (_what, role, instrument, volts) => {
  for (const voltmeters of [
    [POINT, PLUG],
    [PLUG, POINT],
  ]) {
    const bench = atControlVoltage(role, voltmeters)
    const [measured] = bench.job.open.measured
    expect(measured?.rule.facts.instrument).toBe(instrument)
    expect(lastOf(bench)).toBeCloseTo(volts, 0)
    expect(measured?.live.kept.length).toBeGreaterThan(2)
    expect(measured?.live.kept.every(({ value }) => Math.abs((value ?? 0) - volts) < 0.2)).toBe(true)
  }
})

test('the only meter of a quantity serves a step that names no role, whatever its own', () => {
  expect(lastOf(atControlVoltage(null, [PLUG]))).toBeCloseTo(13.6, 1)
})

test('a role that no meter has, and several roles of which none is said: the refusal says what to write', () => {
  const refusal = (bench: JobBench) => bench.ask({ kind: 'ready' }).words
  expect(refusal(atControlVoltage('terminals', [POINT, PLUG]))).toContain(
    'no meter reads DC voltage in the role "terminals": write "role: terminals" beside it in the bench file',
  )
  const point = { ...POINT, role: 'point' }
  expect(refusal(atControlVoltage(null, [point, PLUG]))).toContain(
    'several meters read DC voltage here: write beside the step which it means, "role: point" or "role: plug"',
  )
})

test('a counter for audio is not taken for the one that sees the channel', () => {
  const audio = quietMeter('frequency', { instrument: 'audio', role: 'audio' })
  const bench = new JobBench([POINT, audio, ...OTHERS], { procedure: TWO_STEPS })
  bench.showsAt.set('frequency meter', 27.205e6)
  bench.showsAt.set('audio', 27.185e6)
  bench.shows.set('RF power', 3.65)
  bench.begin('power')
  bench.key(true)
  bench.run(4)
  expect(bench.job.seen.frequency?.instrument).toBe('frequency meter')
  expect(bench.frame().captured.length + (bench.job.open.measured[0]?.live.kept.length ?? 0)).toBeGreaterThan(3)
})

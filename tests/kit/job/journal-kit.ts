import { mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { sha256 } from '../../../src/record/chain.ts'
import type { JobHeader } from '../../../src/schema/kept/record.ts'

export const WALL = { wallTime: () => '2026-01-05T08:00:00.000Z' }
export const dataFolder = () => mkdtempSync(join(tmpdir(), 'jobs-'))

/** The head of a job that measures nothing, for tests of the file itself. */
export function headerOf(job = '20260105-080000-T1-abcd'): JobHeader {
  const file = { file: 'x.yaml', sha256: sha256(''), text: '' }
  return {
    format: 1,
    job,
    program: 'trimwright test',
    simulated: true,
    serial: 'T-1',
    complaint: '',
    intake: null,
    procedure: { title: 'Test', ...file },
    covers: '',
    notCovered: [],
    bench: { name: 'Test bench', ...file },
    drivers: [],
    instruments: [],
    supplyTrip: 'own',
    ruleCard: null,
    bands: [],
    continues: null,
    decisionRule: 'simple acceptance',
    steps: [],
  }
}

import { mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { seededRng } from '../../src/system/rng.ts'
import { killAgainAndAgain } from '../kit/job/killed-job.ts'
import type { Figure } from './figure.ts'

const KILLS = 100

/** record.killed: values called captured that were lost, over 100 kills of the service of a paced job. */
export async function killedJobFigures(): Promise<readonly Figure[]> {
  const { said, lost, bad, ended } = await killAgainAndAgain({
    kills: KILLS,
    folder: mkdtempSync(join(tmpdir(), 'figures-')),
    procedure: 'procedures/brackwater-27m-transmit-short.yaml',
    fromS: 1,
    toS: 16,
    rng: seededRng(17),
  })
  const against = `${said} values that the page called captured, over ${KILLS} kills (SIGKILL) of the service of a job at ten times life, each opened again where it stood; ${bad.length} of the ${KILLS} records made after them not good; ${ended} jobs ended; none may be lost${lost.length > 0 ? `: ${lost.join('; ')}` : ''}`
  return [
    {
      name: 'record.killed',
      ours: lost.length + bad.length,
      reference: said,
      ratio: lost.length / said,
      unit: 'values',
      against,
    },
  ]
}

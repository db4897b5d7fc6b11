import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test, vi } from 'vitest'
import { runCommand } from '../kit/program/run-command.ts'

vi.setConfig({ testTimeout: 60_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-rollcall-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

describe('rollcall --bench FILE: only what the file names stands there, and each says who it is', () => {
  test.each([
    ['one-box', ['testset SIM0007 SIM-7', 'volts SIM0004 SIM-4', 'supply SIM0005 SIM-5']],
    [
      'no-socket',
      [
        'counter SIM0001 SIM-1',
        'wattmeter typed SIM-9',
        'deviation typed SIM-10',
        'volts SIM0004 SIM-4',
        'supply SIM0005 SIM-5',
        'oscillator SIM0006 null',
      ],
    ],
    [
      'older',
      [
        'counter SIM0001 SIM-1',
        'wattmeter  SIM-8', // what it answers to "I" has no fields
        'modmeter SIM0003 SIM-3',
        'volts SIM0004 SIM-4',
        'supply SIM0005 SIM-5',
        'oscillator SIM0006 null',
      ],
    ],
  ])('%s', async (kind, expected) => {
    const words = ['rollcall', '--json', '--bench', `mocks/benches/${kind}.yaml`, '--data', folder]
    const { code, out, err } = await runCommand(words)
    expect(code, err).toBe(0)
    const { simulated, instruments } = JSON.parse(out)
    expect(simulated).toBe(true)
    const said = instruments.map(
      (one: { name: string; serial: string; typed: boolean; certificate: string | null }) =>
        `${one.name} ${one.typed ? 'typed' : one.serial} ${one.certificate}`,
    )
    expect(said).toEqual(expected)
  })
})

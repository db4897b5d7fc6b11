import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test, vi } from 'vitest'
import { runCommand } from '../kit/run-command.ts'

vi.setConfig({ testTimeout: 240_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-job-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const whole = ['job', 'procedures/brackwater-27m-transmit.yaml', '--hand', '--json', '--data', folder]

interface Kept {
  readonly row: string
  readonly verdict: string
  readonly latest: boolean
}

function latestVerdicts(out: string): readonly string[] {
  const { captured }: { captured: readonly Kept[] } = JSON.parse(out)
  return captured.filter((one) => one.latest).map((one) => `${one.row} ${one.verdict}`)
}

const IN_BAND = [
  'A2 inside',
  'A2 inside',
  'A5 inside',
  'A8 inside',
  'A9 to A11 inside',
  'A12 inside',
  'A12 inside',
  'A13 inside',
  'A13 inside',
  'A17 inside',
]

test('the whole transmit sheet by the hand on the fake clock ends with 0, every step in band', async () => {
  const { code, out, err } = await runCommand([...whole, '--fast'])
  expect(err).toBe('')
  expect(latestVerdicts(out)).toEqual(IN_BAND)
  expect(code).toBe(0)
})

test('--json says of every value: count, mean, spread, window and label', async () => {
  const { out } = await runCommand(['job', 'tests/kit/two-steps.yaml', '--hand', '--fast', '--json'])
  for (const one of JSON.parse(out).captured) {
    expect(one.count).toBeGreaterThanOrEqual(3)
    expect(Number.isFinite(one.mean) && Number.isFinite(one.spread) && one.windowS > 0).toBe(true)
    expect(['settled', 'short', 'peaked']).toContain(one.label)
  }
})

test('the whole sheet paced, over real sockets, a pseudo-terminal, a keeper process and a WebSocket, ends with 0', async () => {
  const { code, out } = await runCommand([...whole, '--pace', '10'])
  expect(latestVerdicts(out)).toEqual(IN_BAND)
  expect(code).toBe(0)
})

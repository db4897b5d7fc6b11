import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test, vi } from 'vitest'
import type { SimulatedBench } from '../../mocks/simulated-bench.ts'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { exitOf } from '../../src/commands/job/job-outcome.ts'
import { OPENSSL_GOOD, opensslSays } from '../kit/program/openssl.ts'
import { runCommand } from '../kit/program/run-command.ts'

vi.setConfig({ testTimeout: 400_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-job-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const whole = ['job', 'procedures/brackwater-27m-transmit.yaml', '--hand', '--json', '--data', folder]

interface Outcome {
  readonly captured: readonly {
    readonly row: string
    readonly pass: string
    readonly verdict: string
    readonly latest: boolean
  }[]
  readonly steps: readonly {
    readonly row: string
    readonly pass: string
    readonly state: string
    readonly reason: string
  }[]
  readonly record: string
}

/** Rows of the sheet whose final values all lie in band, in the order of the file, without what was read as found. */
function rowsInBand({ captured }: Outcome): readonly string[] {
  const final = captured.filter(({ latest, pass }) => latest && pass !== 'found')
  const rows = [...new Set(final.map(({ row, pass }) => `${row} ${pass}`))]
  return rows.filter((row) => final.every((one) => `${one.row} ${one.pass}` !== row || one.verdict === 'inside'))
}

const ROWS = [
  ...[
    'A1',
    'first key',
    'A2',
    'A5',
    'A6',
    'A7',
    'A8',
    'A9 to A11',
    'A12',
    'A13',
    'A14',
    'A15',
    'A16',
    'A17',
    'A17b',
    'A18',
    'A19',
  ].map((row) => `${row} work`),
  ...['A5', 'A8', 'A13', 'A17'].map((row) => `${row} left`),
].sort()
const AM = ['A20', 'A21']

/** The record of a job is good, by the program's own word. */
async function verified({ record }: Outcome): Promise<void> {
  const { code, out } = await runCommand(['verify', record])
  expect(out).toMatch(/^Intact, signed by /)
  expect(code).toBe(0)
  expect(opensslSays(readFileSync(record, 'utf8'), folder)).toContain(OPENSSL_GOOD)
}

test('the whole transmit sheet by the hand on the fake clock: every row in band, AM left out, the record good, exit 0', async () => {
  const { code, out, err } = await runCommand([...whole, '--fast'])
  expect(err).toBe('')
  const outcome: Outcome = JSON.parse(out)
  expect(rowsInBand(outcome).toSorted()).toEqual(ROWS)
  expect(
    outcome.steps.filter(({ state }) => state === 'left out').map(({ row, reason }) => `${row} ${reason}`),
  ).toEqual(AM.map((row) => `${row} not allowed here`))
  await verified(outcome)
  expect(code).toBe(0)
})

/** A coil that is knocked after it was peaked: 0.6 of a turn leaves channel 1 at 2.6 W (the simulated set as it arrives). */
const KNOCK = { adjuster: 'OK', turns: -0.6 } as const

test('with a rule card that allows AM, carrier and depth are set too; a weak band end has the peak looked for again, and what it moved is read again', async () => {
  let world: SimulatedBench | null = null
  let knocked = false
  const { outcome } = await runFast({
    procedure: 'procedures/brackwater-27m-transmit.yaml',
    benchFile: 'mocks/benches/separate.yaml',
    seed: null,
    warm: true,
    bands: [],
    rules: 'procedures/rules/training-fm-am.yaml',
    recordIn: join(folder, 'weak end'), // what earlier jobs learned would lead this one another way
    onWorld: (one) => {
      world = one
    },
    onFrame: ({ step }) => {
      if (knocked || step?.row !== 'A14') return
      knocked = true
      world?.set.turn(KNOCK.adjuster, KNOCK.turns)
    },
  })
  expect(rowsInBand(outcome).toSorted()).toEqual([...ROWS, ...AM.map((row) => `${row} work`)].sort())
  const first = outcome.captured.filter(({ pass, latest }) => pass === 'work' && !latest)
  expect(first).toContainEqual(expect.objectContaining({ row: 'A14', verdict: 'low' }))
  expect([...new Set(first.map(({ row }) => row))]).toEqual(expect.arrayContaining(['A9 to A11', 'A12', 'A13', 'A14']))
  expect(exitOf(outcome)).toBe(0)
})

test('the same seed is the same job to the last digit, however fast the disk is', async () => {
  const once = async (name: string) => {
    const words = [
      'tests/kit/two-steps.yaml',
      '--hand',
      '--fast',
      '--json',
      '--seed',
      '5',
      '--data',
      join(folder, name),
    ]
    const { captured, steps } = JSON.parse((await runCommand(['job', ...words])).out)
    return { captured, steps }
  }
  const first = await once('first')
  expect(first.captured.length).toBeGreaterThan(1)
  expect(await once('second')).toEqual(first)
})

test('--json says of every value: count, mean, spread, window and label', async () => {
  const { out } = await runCommand(['job', 'tests/kit/two-steps.yaml', '--hand', '--fast', '--json'])
  for (const one of JSON.parse(out).captured) {
    expect(one.count).toBeGreaterThanOrEqual(3)
    expect(Number.isFinite(one.mean) && Number.isFinite(one.spread) && one.windowS > 0).toBe(true)
    expect(['settled', 'short', 'peaked']).toContain(one.label)
  }
})

test('the adjusting steps paced, over real sockets, a pseudo-terminal, a keeper process, a WebSocket and a journal on disk, end with 0', async () => {
  const { code, out } = await runCommand(
    [...whole, '--pace', '10'].map((word) => word.replace('transmit.yaml', 'transmit-short.yaml')),
  )
  const outcome: Outcome = JSON.parse(out)
  expect(rowsInBand(outcome)).toEqual(['A2', 'A5', 'A8', 'A9 to A11', 'A12', 'A13', 'A17'].map((row) => `${row} work`))
  await verified(outcome)
  expect(code).toBe(0)
})

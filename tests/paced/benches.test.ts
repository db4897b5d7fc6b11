import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test, vi } from 'vitest'
import { OPENSSL_GOOD, opensslSays } from '../kit/program/openssl.ts'
import { runCommand } from '../kit/program/run-command.ts'

vi.setConfig({ testTimeout: 120_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-benches-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

interface Outcome {
  readonly captured: readonly {
    readonly quantity: string
    readonly label: string
    readonly pass: string
    readonly verdict: string
    readonly latest: boolean
  }[]
  readonly record: string
}

/** The same procedure file on another bench, by the hand; its record has to be good. */
async function wholeSheetOn(bench: string): Promise<Outcome['captured']> {
  const words = ['job', 'procedures/brackwater-27m-transmit.yaml', '--hand', '--fast', '--json', '--data', folder]
  const { code, out } = await runCommand([...words, '--bench', `mocks/benches/${bench}.yaml`])
  expect(code).toBe(0)
  const { captured, record }: Outcome = JSON.parse(out)
  expect((await runCommand(['verify', record])).code).toBe(0)
  expect(opensslSays(readFileSync(record, 'utf8'), folder)).toContain(OPENSSL_GOOD)
  const final = captured.filter(({ latest, pass }) => latest && pass !== 'found')
  expect(final.filter(({ verdict }) => verdict !== 'inside')).toEqual([])
  return captured
}

test('on a bench whose power and deviation are read by a person: every such value is marked typed, the others are not', async () => {
  const captured = await wholeSheetOn('no-socket')
  const typed = new Set(captured.filter(({ label }) => label === 'typed').map(({ quantity }) => quantity))
  expect(typed).toEqual(new Set(['RF power', 'FM deviation']))
  const measured = captured.filter(({ quantity }) => quantity === 'frequency' || quantity === 'DC voltage')
  expect(measured.every(({ label }) => label === 'settled' || label === 'short')).toBe(true)
})

test('on a bench whose counter, power meter and modulation meter are one box, one function at a time', async () => {
  const captured = await wholeSheetOn('one-box')
  expect(new Set(captured.map(({ quantity }) => quantity))).toEqual(
    new Set(['DC current', 'RF power', 'DC voltage', 'frequency', 'FM deviation']),
  )
})

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test } from 'vitest'
import type { Command } from '../../src/commands/command.ts'
import { job } from '../../src/commands/job/job.ts'
import { look } from '../../src/commands/look.ts'
import { rollcall } from '../../src/commands/rollcall.ts'
import { runCommand } from '../../src/commands/run-command.ts'
import { serve } from '../../src/commands/serve.ts'

const folder = mkdtempSync(join(tmpdir(), 'trimwright-ended-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

/** A real supply at an address where nobody is: the keeper's process is not even started once the signal is there. */
const bench = join(folder, 'bench.yaml')
writeFileSync(
  bench,
  `bench: Nobody there
instruments:
  supply: { driver: supply-scpi, at: "tcp://127.0.0.1:9", limits: { voltage: 16.5 V, current: 4 A } }
`,
)

async function ended(command: Command, words: readonly string[], more: Record<string, string | boolean> = {}) {
  const said: string[] = []
  const output = { out: (line: string) => said.push(line), err: (line: string) => said.push(line) }
  const signal = AbortSignal.abort(new Error('ended by SIGTERM'))
  const exit = await runCommand(command, { bench, data: folder, port: '0', ...more }, words, output, signal)
  return { exit, said }
}

test('a service ended while it is still opening has ended in order', async () => {
  expect(await ended(serve, [])).toEqual({ exit: 0, said: [] })
})

test('so has a stream of readings', async () => {
  expect(await ended(look, ['DC voltage'], { stream: true })).toEqual({ exit: 0, said: [] })
})

test.each([
  ['look', look, ['DC voltage']],
  ['rollcall', rollcall, []],
  ['job', job, ['procedures/brackwater-27m-transmit-short.yaml']],
] as const)('%s could not be asked, and says why', async (_, command, words) => {
  expect(await ended(command, words)).toEqual({ exit: 2, said: ['ended by SIGTERM'] })
})

test('another error is told as it is, ended or not', async () => {
  const mistake = new TypeError('a mistake')
  const broken: Command = { ...rollcall, goesOn: () => true, run: () => Promise.reject(mistake) }
  await expect(ended(broken, [])).rejects.toBe(mistake)
})

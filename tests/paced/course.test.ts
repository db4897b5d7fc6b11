import { mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test, vi } from 'vitest'
import { runCommand } from '../kit/program/run-command.ts'

vi.setConfig({ testTimeout: 120_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-paced-course-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

test('a job over sockets and a pseudo-terminal, with a keeper process and a journal on disk, run again: each frame as it was, each captured value to the last digit', async () => {
  const words = ['job', 'tests/kit/two-steps.yaml', '--hand', '--pace', '10', '--json', '--data', folder]
  const { code, out, err } = await runCommand([...words, '--course', join(folder, 'whole')])
  expect([0, 1], err).toContain(code) // whether a hand at ten times life, on a busy machine, gets it right is tried elsewhere
  const { captured, record } = JSON.parse(out)
  const [course = ''] = readdirSync(join(folder, 'whole'))
  const journal = record.replace('.jws', '.journal')
  const again = await runCommand(['replay', join(folder, 'whole', course), '--json', '--journal', journal])
  const told = JSON.parse(again.out)
  expect(told).toMatchObject({ differences: [], stopped: '', ends: 'the service ended' })
  expect(told.journal).toMatchObject({ captured: captured.length, difference: '' })
  expect(told.captured.map(({ value }: { value: number }) => value)).toEqual(
    captured.map(({ value }: { value: number }) => value),
  )
  expect(told.frames).toBeGreaterThan(200)
  expect(told.states.map(({ state }: { state: string }) => state)).toContain('read step')
  expect(again.code).toBe(0)
})

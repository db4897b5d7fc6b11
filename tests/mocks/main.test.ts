import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { afterEach, expect, test } from 'vitest'
import { BENCHES } from '../../mocks/simulated-bench.ts'

const children: ChildProcess[] = []
afterEach(() => {
  for (const child of children.splice(0)) child.kill('SIGKILL')
})

async function start(...options: readonly string[]): Promise<{ child: ChildProcess; lines: string[] }> {
  const child = spawn(process.execPath, ['--import', 'tsx', 'mocks/main.ts', ...options], {
    stdio: ['pipe', 'pipe', 'inherit'],
  })
  children.push(child)
  let text = ''
  await new Promise<void>((resolve, reject) => {
    child.once('exit', (code) => reject(new Error(`ended with ${code}: ${text}`)))
    child.stdout?.on('data', (bytes: Buffer) => {
      text += bytes.toString()
      if (/^(ready|\{"ready":true\})$/m.test(text)) resolve()
    })
  })
  return { child, lines: text.trim().split('\n') }
}

test('the process prints every instrument, the set page and ready, and ends with 0 on SIGTERM', async () => {
  const { child, lines } = await start('--seed', '3', '--pace', '5')
  expect(lines.map((line) => line.split(' ')[0])).toEqual([...BENCHES.separate.instruments, 'set', 'ready'])
  for (const line of lines.slice(0, -1))
    expect(line).toMatch(/^\w+ (tcp:\/\/127\.0\.0\.1:\d+|serial:\/\S+\?baud=9600|http:\/\/127\.0\.0\.1:\d+\/set)$/)
  const page = lines.find((line) => line.startsWith('set '))?.slice(4) ?? ''
  expect((await fetch(page)).status).toBe(200)
  child.kill('SIGTERM')
  expect(await once(child, 'exit')).toEqual([0, null])
})

test('only what is asked for stands there', async () => {
  const { child, lines } = await start('--instruments', 'testset,supply,nobody', '--displays', 'RF power')
  expect(lines.map((line) => line.split(' ')[0])).toEqual(['testset', 'supply', 'set', 'ready'])
  child.stdin?.end()
  expect(await once(child, 'exit')).toEqual([0, null])
})

test('the process ends with 0 when its parent closes standard input; --json prints objects', async () => {
  const { child, lines } = await start('--json')
  expect(lines.map((line): unknown => JSON.parse(line))).toContainEqual({ ready: true })
  child.stdin?.end()
  expect(await once(child, 'exit')).toEqual([0, null])
})

test('Ctrl-C, which reaches parent and child alike, leaves a child running until its parent lets go', async () => {
  const { child } = await start()
  child.kill('SIGINT')
  await new Promise((resolve) => setTimeout(resolve, 300))
  expect(child.exitCode).toBeNull()
  expect(child.signalCode).toBeNull()
  child.stdin?.end()
  expect(await once(child, 'exit')).toEqual([0, null])
})

test('a seed that is no number is refused in words', async () => {
  const child = spawn(process.execPath, ['--import', 'tsx', 'mocks/main.ts', '--seed', 'x'], {
    stdio: ['pipe', 'ignore', 'pipe'],
  })
  children.push(child)
  let said = ''
  child.stderr.on('data', (bytes: Buffer) => {
    said += bytes.toString()
  })
  expect(await once(child, 'close')).toEqual([1, null])
  expect(said).toContain('--seed wants a number, not x')
})

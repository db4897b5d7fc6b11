import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, expect, test } from 'vitest'
import { holderOf, leasePath, takeLease } from '../../../src/keeper/line/lease.ts'
import { killLife, lifeOf, lives } from '../../../src/keeper/line/process-life.ts'
import { openRunFolder } from '../../../src/keeper/line/run-folder.ts'

const ABOUT = { role: 'keeper', who: 'supply (x at tcp://127.0.0.1:5025)' } as const
const folders: string[] = []
afterEach(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true })
})

function folder(): string {
  const path = mkdtempSync(join(tmpdir(), 'lease-'))
  folders.push(path)
  return openRunFolder(path)
}

test('is taken once, and again after it was given back; nothing else is left in the folder', () => {
  const path = leasePath(folder(), 'tcp://127.0.0.1:5025')
  const first = takeLease(path, ABOUT)
  if (!('lease' in first)) throw new Error('held')
  expect(first.lease.isOurs()).toBe(true)
  expect(takeLease(path, ABOUT)).toEqual({ heldBy: { ...lifeOf(process.pid), ...ABOUT } })
  expect(readdirSync(folders[0] ?? '')).toHaveLength(1)
  first.lease.giveBack()
  expect([first.lease.isOurs(), holderOf(path), 'lease' in takeLease(path, ABOUT)]).toEqual([false, null, true])
})

test('one supply has one lease, whatever way its address is written', () => {
  const [a, b, c] = ['tcp://BENCH:5025', 'tcp://bench', 'tcp://bench:5026'].map((at) => leasePath('x', at))
  expect([a === b, a === c]).toEqual([true, false])
})

test('of a process that was killed is free, also while nobody has collected that process', async () => {
  const child = spawn(process.execPath, ['-e', 'setTimeout(() => {}, 60000)'])
  await once(child, 'spawn')
  const life = lifeOf(child.pid ?? 0)
  if (!life) throw new Error('not there')
  const path = leasePath(folder(), 'tcp://127.0.0.1:5025')
  writeFileSync(path, JSON.stringify({ ...life, ...ABOUT }))
  expect(holderOf(path)?.pid).toBe(child.pid)
  expect(killLife(life)).toBeNull()
  await expect.poll(() => lives(life)).toBe(false)
  expect('lease' in takeLease(path, ABOUT)).toBe(true)
})

test.each([
  ['a stranger under the number of the dead holder', JSON.stringify({ pid: process.pid, start: 'earlier', ...ABOUT })],
  ['half a line, left by a power cut', '{"pid":1,'],
])('%s does not hold it', (_name, text) => {
  const path = leasePath(folder(), 'tcp://127.0.0.1:5025')
  writeFileSync(path, text)
  expect(holderOf(path)).toBeNull()
  expect('lease' in takeLease(path, ABOUT)).toBe(true)
})

test('a stranger under the number of the dead holder is not killed', () => {
  expect(killLife({ pid: process.pid, start: 'earlier' })).toBeNull()
  expect(lifeOf(process.pid)).not.toBeNull()
})

test('taken away by another, it is seen as not ours and is not given back in its name', () => {
  const path = leasePath(folder(), 'tcp://127.0.0.1:5025')
  const taking = takeLease(path, ABOUT)
  if (!('lease' in taking)) throw new Error('held')
  writeFileSync(path, '{"pid":1}')
  expect(taking.lease.isOurs()).toBe(false)
  taking.lease.giveBack()
  expect(readFileSync(path, 'utf8')).toBe('{"pid":1}')
})

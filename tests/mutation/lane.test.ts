import { type ChildProcess, fork } from 'node:child_process'
import { once } from 'node:events'
import { mkdirSync, mkdtempSync, realpathSync, symlinkSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test } from 'vitest'
import { HOME } from '../kit/copy-house.ts'
import type { LaneAnswer, LaneRequest } from './lane.ts'
import { mutationsOf, withMutations } from './mutate.ts'
import { setupText } from './setup-text.ts'

const children: ChildProcess[] = []
afterAll(() => {
  for (const child of children) child.kill('SIGKILL')
})

test('a mutation is killed only by a test that was asked for, and only while it is awake', async () => {
  const copy = mkdtempSync(join(tmpdir(), 'lane-'))
  for (const folder of ['src', 'tests']) mkdirSync(join(copy, folder))
  symlinkSync(realpathSync(join(HOME, 'node_modules')), join(copy, 'node_modules'))
  const text = 'export const twice = (one: number) => 2 * one\n'
  const id = mutationsOf('a.ts', text).findIndex(({ now }) => now === '3')
  const all = mutationsOf('a.ts', text).map((one, at) => ({ ...one, id: at }))
  writeFileSync(join(copy, 'src/a.ts'), withMutations(text, all))
  const says = (words: string) =>
    `import { expect, test } from 'vitest'\nimport { twice } from '../src/a.ts'\ntest('twice', () => expect(twice(2)).${words})\n`
  writeFileSync(join(copy, 'tests/right.test.ts'), says('toBe(4)'))
  writeFileSync(join(copy, 'tests/weak.test.ts'), says('toBeGreaterThan(0)'))
  writeFileSync(join(copy, 'setup.mjs'), setupText(join(copy, 'setup.mjs.json')))

  const child = fork(join(import.meta.dirname, 'lane.ts'), [copy, 'setup.mjs'], {
    ...{ cwd: copy, execArgv: ['--import', 'tsx'], stdio: ['ignore', 'ignore', 'inherit', 'ipc'] },
  })
  children.push(child)
  await once(child, 'message')
  const ask = async (request: LaneRequest): Promise<LaneAnswer> => {
    child.send(request)
    const [answer] = await once(child, 'message')
    return answer
  }
  const right = 'tests/right.test.ts'
  const weak = 'tests/weak.test.ts'
  expect(await ask({ files: [right, weak], mutant: -1, seen: '' })).toMatchObject({ failed: false, tests: 2 })
  expect(await ask({ files: [right], mutant: id, seen: '' })).toMatchObject({ failed: true, by: right })
  expect(await ask({ files: [weak], mutant: id, seen: '' })).toMatchObject({ failed: false, by: '' })
  expect(await ask({ files: [right], mutant: -1, seen: '' })).toMatchObject({ failed: false, by: '' })
}, 60_000)

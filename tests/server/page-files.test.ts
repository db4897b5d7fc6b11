import { mkdir, mkdtemp, symlink, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { readPageFiles } from '../../src/server/page-files.ts'
import { pageFolder } from '../kit/program/page-folder.ts'

test('reads every file once, with its type, and puts the token of this start into index.html', async () => {
  const files = await readPageFiles(await pageFolder('<meta content="%TOKEN%"><i>%TOKEN%</i>'), 'abc')
  expect([...files].map(([path, file]) => [path, file.type, file.bytes.toString()])).toEqual(
    expect.arrayContaining([
      ['/', 'text/html; charset=utf-8', '<meta content="abc"><i>abc</i>'],
      ['/index.html', 'text/html; charset=utf-8', '<meta content="abc"><i>abc</i>'],
      ['/assets/gauge.js', 'text/javascript; charset=utf-8', 'export const gauge = 1\n'],
      ['/assets/gauge.css', 'text/css; charset=utf-8', 'body { margin: 0 }\n'],
    ]),
  )
  expect(files.size).toBe(4)
})

test('a folder with an index.html answers without its name too', async () => {
  const folder = await pageFolder()
  await mkdir(join(folder, 'handbook'))
  await writeFile(join(folder, 'handbook', 'index.html'), '<h1>Handbook</h1>')
  const files = await readPageFiles(folder, 'abc')
  for (const path of ['/handbook', '/handbook/', '/handbook/index.html'])
    expect(files.get(path)?.bytes.toString()).toBe('<h1>Handbook</h1>')
  expect(files.has('/assets')).toBe(false)
})

test('does not follow a symbolic link out of the folder', async () => {
  const folder = await pageFolder()
  await symlink('/etc/hostname', join(folder, 'hostname.txt'))
  await symlink('/etc', join(folder, 'etc'))
  expect([...(await readPageFiles(folder, 'abc')).keys()].filter((path) => /host|etc/.test(path))).toEqual([])
})

test('says what to do when the page is not built', async () => {
  const folder = join(tmpdir(), 'trimwright-no-such-folder')
  await expect(readPageFiles(folder, 'abc')).rejects.toThrow(
    `page folder ${folder}: ENOENT: no such file or directory, scandir '${folder}'. Build the page with npm run build, then start again [SERVER_PAGE_MISSING]`,
  )
})

test('says so when the folder holds no index.html', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'trimwright-page-'))
  await expect(readPageFiles(folder, 'abc')).rejects.toThrow('no index.html there')
})

test('refuses an index.html without a place for the token, which could never connect', async () => {
  await expect(readPageFiles(await pageFolder('<html>'), 'abc')).rejects.toThrow('index.html has no %TOKEN%')
})

test('refuses a folder of more than 200 files, which is not the page', async () => {
  const folder = await pageFolder()
  await mkdir(join(folder, 'many'))
  await Promise.all(Array.from({ length: 201 }, (_, index) => writeFile(join(folder, 'many', `${index}`), '')))
  await expect(readPageFiles(folder, 'abc')).rejects.toThrow(
    'more than 200 files or 16 MiB there, so it is not the page',
  )
})

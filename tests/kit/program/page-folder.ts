import { mkdir, mkdtemp, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

/** A built page as small as can be: index.html with its place for the token, a script, a style sheet. */
export async function pageFolder(index = '<!doctype html><meta name="token" content="%TOKEN%">'): Promise<string> {
  const folder = await mkdtemp(join(tmpdir(), 'trimwright-page-'))
  await mkdir(join(folder, 'assets'))
  await writeFile(join(folder, 'index.html'), index)
  await writeFile(join(folder, 'assets', 'gauge.js'), 'export const gauge = 1\n')
  await writeFile(join(folder, 'assets', 'gauge.css'), 'body { margin: 0 }\n')
  return folder
}

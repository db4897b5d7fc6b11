import { readdirSync } from 'node:fs'
import { join, relative } from 'node:path'

const ROOT = join(import.meta.dirname, '..', '..', '..')

/** The TypeScript files below these folders of the project, as paths from its top; `web/dist` is made, not written. */
export function sourceFiles(folders: readonly string[]): readonly string[] {
  return folders.flatMap((folder) =>
    readdirSync(join(ROOT, folder), { recursive: true, withFileTypes: true })
      .filter(
        (entry) => entry.isFile() && entry.name.endsWith('.ts') && !entry.parentPath.includes(join('web', 'dist')),
      )
      .map((entry) => relative(ROOT, join(entry.parentPath, entry.name))),
  )
}

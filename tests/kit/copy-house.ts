import { execFileSync } from 'node:child_process'
import { cpSync, existsSync, mkdirSync, realpathSync, symlinkSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

/** The checkout that this file lies in. */
export const HOME = fileURLToPath(new URL('../..', import.meta.url))

/** Everything that is in the checkout, with its uncommitted changes, into an empty folder. Installed packages are linked. */
export function copyHouse(copy: string): void {
  const files = execFileSync('git', ['ls-files', '--cached', '--others', '--exclude-standard'], {
    cwd: HOME,
    encoding: 'utf8',
  })
  for (const file of files.split('\n').filter((name) => name !== '' && !name.startsWith('node_modules'))) {
    if (!existsSync(join(HOME, file))) continue // taken out, not yet committed
    mkdirSync(dirname(join(copy, file)), { recursive: true })
    cpSync(join(HOME, file), join(copy, file))
  }
  symlinkSync(realpathSync(join(HOME, 'node_modules')), join(copy, 'node_modules'))
}

import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { HOME } from './home.ts'

/** Put in by the build (`vite.program.config.ts`): the commit it was made from, null where that was not known. */
declare const BUILT_FROM: string | null | undefined

/** "trimwright 0.1.0 (commit ...)", or why the commit is unknown: undefined where the program was not built but runs from its sources. */
export function programWords(version: string, commit: string | null | undefined): string {
  if (commit === undefined) return `trimwright ${version} (commit unknown: run from its sources)`
  return `trimwright ${version} (commit ${commit ?? 'unknown: built without git'})`
}

const { version }: { readonly version: string } = JSON.parse(readFileSync(join(HOME, 'package.json'), 'utf8'))

/** This program, as a record names it. */
export const PROGRAM = programWords(version, typeof BUILT_FROM === 'undefined' ? undefined : BUILT_FROM)

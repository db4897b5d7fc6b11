/** Writes the table of arrows of DEVELOPERS.md anew: `node --import tsx tests/kit/program/arrow-table.ts`. */
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { ARROWS } from '../../rules/arrows.ts'

const HEAD = '| room | may import | outside packages |\n| --- | --- | --- |\n'

/** The rows of the table as the page shows them. */
export function arrowRows(): readonly string[] {
  const named = (names: readonly string[]) => (names.length === 0 ? '-' : names.join(', '))
  return Object.entries(ARROWS).map(
    ([room, { rooms, packages }]) => `| ${room} | ${named(rooms)} | ${named(packages)} |`,
  )
}

if (import.meta.filename === process.argv[1]) {
  const page = join(import.meta.dirname, '..', '..', '..', 'DEVELOPERS.md')
  const text = readFileSync(page, 'utf8')
  const from = text.indexOf(HEAD) + HEAD.length
  const end = text.indexOf('\n\n', from)
  const to = end === -1 ? text.trimEnd().length : end
  writeFileSync(page, `${text.slice(0, from)}${arrowRows().join('\n')}${text.slice(to)}`)
}

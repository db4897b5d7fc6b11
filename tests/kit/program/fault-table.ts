/** Writes the fault table of the handbook anew from the registry: `node --import tsx tests/kit/program/fault-table.ts`. */
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { FAULTS } from '../../../src/fault/faults.ts'
import { ENGLISH } from '../../../src/words/english/english.ts'

const page = join(import.meta.dirname, '..', '..', '..', 'web', 'handbook', 'faults.md')
const rows = Object.entries(FAULTS).map(([code, { stops, next }]) => `| \`${code}\` | ${stops} | ${ENGLISH[next]} |`)
const head = '| code | stops | what to do next |\n| --- | --- | --- |\n'
const text = readFileSync(page, 'utf8')
const from = text.indexOf(head) + head.length
writeFileSync(page, `${text.slice(0, from)}${rows.join('\n')}\n`)

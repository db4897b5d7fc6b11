import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { describe, expect, test } from 'vitest'
import { loadPlans, loadProcedure } from '../../src/commands/load-procedures.ts'
import { HOME } from '../../src/recording/home.ts'
import { readYamlText } from '../../src/schema/door/yaml-door.ts'
import { Procedure } from '../../src/schema/files/procedure-file.ts'

const FOLDER = join(import.meta.dirname, '..', 'reference', 'records')
const RECORDS = readdirSync(FOLDER).filter((name) => name.endsWith('.jws.gz'))

/** The sheet as it stands inside a record, as text. */
function sheetIn(name: string): { readonly file: string; readonly text: string } {
  const payload =
    gunzipSync(readFileSync(join(FOLDER, name)))
      .toString()
      .split('.')[1] ?? ''
  const { header } = JSON.parse(Buffer.from(payload, 'base64url').toString())
  return header.procedure
}

const toolsOf = ({ adjusters }: Procedure) => Object.entries(adjusters).map(([label, { tool }]) => [label, tool?.is])

/** Of each step, its places by their kinds; words where they are of no kind. */
function placesOf({ steps }: Procedure): ReadonlyMap<string, unknown> {
  const known = steps.flatMap((step) => {
    if (step.kind === 'do') return [[`do ${step.id}`, step.asksForBands] as const]
    if (step.kind !== 'measure') return []
    const { series, ...where } = step.where
    const kinds = Object.entries(where).map(([what, place]) => [what, place?.is === 'other' ? place.words : place?.is])
    return [[step.id, Object.fromEntries(kinds)] as const]
  })
  return new Map<string, unknown>(known)
}

describe('sheets of earlier programs said it in words: each means what today the same sheet says by kinds', () => {
  test.each(RECORDS)('%s', (name) => {
    const { file, text } = sheetIn(name)
    const today = loadProcedure(join(HOME, 'procedures', file), loadPlans()).procedure
    expect(text).toContain('microphone: oscillator lead off')
    const then = readYamlText(text, file, Procedure)
    expect(toolsOf(then)).toEqual(toolsOf(today))
    const [places, todays] = [placesOf(then), placesOf(today)]
    const both = [...todays.keys()].filter((step) => places.has(step))
    expect(both.length).toBeGreaterThanOrEqual(7)
    for (const step of both) expect([step, places.get(step)]).toEqual([step, todays.get(step)])
  })
})

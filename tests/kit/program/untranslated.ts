import { isSaid } from '../../../src/words/said/said.ts'

/** Every text in it that was written by a person, in a file or in an older record: sentences as data are left aside. */
export function textsIn(value: unknown): readonly string[] {
  if (typeof value === 'string') return [value]
  if (typeof value !== 'object' || value === null || isSaid(value)) return []
  return [...Object.keys(value), ...Object.values(value).flatMap(textsIn)]
}

/**
 * Runs of three words and more in plain letters that are left in what was said in the pseudo-language, `own` texts aside (titles of a
 * file, names, options): what stands outside the dictionary.
 */
export function untranslated(told: string, own: readonly string[]): readonly string[] {
  const known = own.filter((text) => /\S\s+\S/.test(text)).toSorted((a, b) => b.length - a.length)
  const rest = known.reduce((text, one) => text.replaceAll(one, '|'), told)
  const runs: string[][] = [[]]
  for (const word of rest.split(/\s+/)) {
    const bare = word.replace(/^[("'“]+|[)"'”.,;:!?]+$/g, '')
    if (/^[A-Za-z][A-Za-z'-]*$/.test(bare)) runs.at(-1)?.push(bare)
    else runs.push([])
  }
  return runs.filter((run) => run.length >= 3).map((run) => run.join(' '))
}

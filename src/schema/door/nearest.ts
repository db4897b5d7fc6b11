/** The word of `words` that was most likely meant; undefined when none is close. Letter case and blank, dash or underscore do not count. */
export function nearest(word: string, words: readonly string[]): string | undefined {
  if (word.length > LONGEST) return undefined
  const plain = plainForm(word)
  const ranked = words
    .map((candidate) => ({ candidate, slips: countSlips(plain, plainForm(candidate)) }))
    .sort((a, b) => a.slips - b.slips)
  const best = ranked[0]
  return best && best.slips <= Math.max(1, Math.floor(plain.length / 3)) ? best.candidate : undefined
}

/** No word of ours is longer; comparing takes the square of the length. */
const LONGEST = 60

function plainForm(word: string): string {
  return word
    .toLowerCase()
    .replace(/[\s_-]+/g, ' ')
    .trim()
}

/** Letters left out, added, changed, or swapped with their neighbour. */
function countSlips(a: string, b: string): number {
  let beforeLast: readonly number[] = []
  let last: readonly number[] = Array.from({ length: b.length + 1 }, (_, j) => j)
  for (let i = 1; i <= a.length; i++) {
    const row = [i]
    for (let j = 1; j <= b.length; j++) {
      const changed = at(last, j - 1) + (a[i - 1] === b[j - 1] ? 0 : 1)
      const swapped =
        i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]
          ? at(beforeLast, j - 2) + 1
          : Number.POSITIVE_INFINITY
      row.push(Math.min(at(last, j) + 1, at(row, j - 1) + 1, changed, swapped))
    }
    beforeLast = last
    last = row
  }
  return at(last, b.length)
}

function at(row: readonly number[], index: number): number {
  return row[index] ?? Number.POSITIVE_INFINITY
}

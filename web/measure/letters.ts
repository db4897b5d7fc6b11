/** Height of the type of a drawing in its own units, and from one line to the next. */
export const TYPE = 22

/** How words are written: `reversed` on a filled part. */
export interface Pen {
  readonly weight: 'bold' | 'normal' | 'pale' | 'reversed'
  readonly anchor: 'start' | 'middle' | 'end'
  readonly size: number
}

export const PEN: Pen = { weight: 'normal', anchor: 'start', size: TYPE }

/** Width of a letter in shares of the height of the type; wide enough for the widest usual fonts. */
export const LETTER = { bold: 0.66, reversed: 0.66, normal: 0.6, pale: 0.6 } as const

/** How many letters of this type stand beside each other in a width. */
export function lettersIn(width: number, pen: Partial<Pen> = {}): number {
  const { weight, size } = { ...PEN, ...pen }
  return Math.max(1, Math.floor(width / (LETTER[weight] * size)))
}

/** Breaks words into lines of at most so many letters: at spaces, after hyphens and slashes, and within a word that is longer than a line. */
export function broken(text: string, letters: number): readonly string[] {
  const lines: string[] = []
  let open = ''
  for (const part of text.split(/(?<=[\s\-/])/)) {
    if ((open + part).trimEnd().length <= letters) {
      open += part
      continue
    }
    if (open.trim() !== '') lines.push(open.trim())
    open = part
    while (open.trimEnd().length > letters) {
      lines.push(open.slice(0, letters))
      open = open.slice(letters)
    }
  }
  return open.trim() === '' ? lines : [...lines, open.trim()]
}

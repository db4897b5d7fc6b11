/** Widths of the biggest number's parts, each in its own type size. */
export interface NumberWidths {
  /** Digits that hardly move, before those that do; 0 where the number is short. */
  readonly head: number
  readonly tail: number
  /** Unit, age and the space before them. */
  readonly rest: number
}

export interface NumberFit {
  /** Type size of the digits that move, CSS px. */
  readonly typePx: number
  /** Type sizes of the head and of the rest, as shares of it. */
  readonly headShare: number
  readonly restShare: number
}

/** Shares of the digits' type size: as it looks best, and the least that still reads as one number. */
const USUAL = { head: 1, rest: 0.45 } as const
const LEAST = { head: 0.33, rest: 0.19 } as const

/** The digits that move keep their size as long as head and unit can give way. */
export function fitNumber(widths: NumberWidths, roomPx: number, typePx: number): NumberFit {
  const { head, tail, rest } = widths
  const wide = typePx * (tail + head * USUAL.head + rest * USUAL.rest)
  if (wide <= roomPx) return { typePx, headShare: USUAL.head, restShare: USUAL.rest }
  const narrow = typePx * (tail + head * LEAST.head + rest * LEAST.rest)
  if (narrow >= roomPx) return { typePx: (typePx * roomPx) / narrow, headShare: LEAST.head, restShare: LEAST.rest }
  const share = (roomPx - narrow) / (wide - narrow)
  return {
    typePx,
    headShare: LEAST.head + share * (USUAL.head - LEAST.head),
    restShare: LEAST.rest + share * (USUAL.rest - LEAST.rest),
  }
}

/** Width of the number at its best, CSS px: what it would like to have. */
export function wishedWidthPx({ head, tail, rest }: NumberWidths, typePx: number): number {
  return typePx * (tail + head + rest * USUAL.rest)
}

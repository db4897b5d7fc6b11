import { HOLDS_S, type Law, type Meter, type TrueRecord } from './settle-families.ts'
import { type Declare, judgedFromS } from './settle-trial.ts'

/**
 * What no settling test can know. The oracle is told the noise of the meter, the time constant of what fades in this record,
 * when the last thing happened to the truth (the hand's last move, the core's release, the step's beginning), and of a truth
 * that swings for ever that it never rests. What it is not told is the place, the size of what fades, and whether anything
 * drifts besides; so it must wait for readings like everybody else. After each it fits place, size and drift by least squares to
 * all readings since that moment, and declares as soon as what the three say for the next `HOLDS_S`, and the value it
 * would capture, stay within delta with `errors` standard errors to spare. `errors` is chosen so that it is wrong as often
 * as the test it is compared with, on the same records (`oracleErrors`).
 *
 * `drifts` false: it is told too that nothing drifts where something fades. Then two or three readings give the end of a
 * fade away before the truth is still: a bound that nothing can come near, shown beside the other for honesty.
 */
export function oracle(errors: number, drifts = true): Declare {
  return (record, meter) => {
    const { law } = record
    if (law.kind === 'wave') return null
    const fromS = Math.max(law.fromS, judgedFromS(record))
    const shapes = shapesOf(law, drifts)
    const fit = emptyFit(shapes.length)
    for (const { atS, value } of record.samples) {
      if (atS < fromS) continue
      addToFit(
        fit,
        shapes.map((shape) => shape(atS)),
        value,
      )
      const captured =
        fit.count < shapes.length ? null : capturedBy(fit, { shapes, atS, sigma: dullSigma(meter), errors })
      if (captured !== null) return { atS, value: captured }
    }
    return null
  }
}

type Shape = (atS: number) => number

function shapesOf(law: Exclude<Law, { kind: 'wave' }>, drifts: boolean): readonly Shape[] {
  const place: Shape = () => 1
  const drift: Shape = (atS) => (atS - law.fromS) / HOLDS_S
  if (law.kind === 'line') return [place, drift]
  const fade: Shape = (atS) => Math.exp(-(atS - law.fromS) / law.tauS)
  return drifts ? [place, fade, drift] : [place, fade]
}

/** Averaging inside the meter makes its readings say less than they seem to. */
function dullSigma({ sigma, smoothing }: Meter): number {
  return sigma * Math.sqrt((1 + smoothing) / (1 - smoothing))
}

interface Fit {
  count: number
  readonly squares: number[][]
  readonly products: number[]
}

function emptyFit(size: number): Fit {
  return {
    count: 0,
    squares: Array.from({ length: size }, () => new Array<number>(size).fill(0)),
    products: new Array<number>(size).fill(0),
  }
}

function addToFit(fit: Fit, shapes: readonly number[], value: number): void {
  fit.count += 1
  for (const [row, one] of shapes.entries()) {
    fit.products[row] = (fit.products[row] ?? 0) + one * value
    const squares = fit.squares[row] ?? []
    for (const [column, other] of shapes.entries()) squares[column] = (squares[column] ?? 0) + one * other
  }
}

interface Told {
  readonly shapes: readonly Shape[]
  readonly atS: number
  readonly sigma: number
  readonly errors: number
}

/** What the fit says of the middle of the time ahead; null while it is not certain that nothing in it goes too far. */
function capturedBy(fit: Fit, { shapes, atS, sigma, errors }: Told): number | null {
  const inverse = inverseOf(fit.squares)
  if (!inverse) return null
  const sizes = inverse.map((row) => dot(row, fit.products))
  const at = (aheadS: number) => shapes.map((shape) => shape(atS + aheadS))
  const farthest = (from: readonly number[], to: readonly number[]) => {
    const way = to.map((one, index) => one - (from[index] ?? 0))
    return (
      Math.abs(dot(way, sizes)) +
      errors *
        sigma *
        Math.sqrt(
          Math.max(
            0,
            dot(
              way,
              inverse.map((row) => dot(row, way)),
            ),
          ),
        )
    )
  }
  const middle = at(HOLDS_S / 2)
  const placeError =
    sigma *
    Math.sqrt(
      Math.max(
        0,
        dot(
          middle,
          inverse.map((row) => dot(row, middle)),
        ),
      ),
    )
  const moves = farthest(at(0), middle) <= 1 && farthest(at(0), at(HOLDS_S)) <= 1
  const away = Math.max(...[0, HOLDS_S].map((aheadS) => Math.abs(dot(middle, sizes) - dot(at(aheadS), sizes))))
  return moves && away + errors * placeError <= 1 ? dot(middle, sizes) : null
}

function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((sum, one, index) => sum + one * (b[index] ?? 0), 0)
}

/** By Gauss and Jordan, largest pivot first; null where the readings do not tell the shapes apart. */
function inverseOf(matrix: readonly (readonly number[])[]): readonly (readonly number[])[] | null {
  const size = matrix.length
  const rows = matrix.map((row, index) => [...row, ...row.map((_, column) => (column === index ? 1 : 0))])
  for (let column = 0; column < size; column++) {
    const pivot = rows
      .slice(column)
      .reduce((best, row) => (Math.abs(row[column] ?? 0) > Math.abs(best[column] ?? 0) ? row : best))
    const top = pivot[column] ?? 0
    if (Math.abs(top) < 1e-12) return null
    rows.splice(rows.indexOf(pivot), 1)
    rows.splice(
      column,
      0,
      pivot.map((one) => one / top),
    )
    const scaled = rows[column] ?? []
    for (const [index, row] of rows.entries()) {
      if (index === column) continue
      const by = row[column] ?? 0
      rows[index] = row.map((one, place) => one - by * (scaled[place] ?? 0))
    }
  }
  return rows.map((row) => row.slice(size))
}

/** So many standard errors make the oracle wrong about as often as `share` of its declarations, and no oftener. */
export function oracleErrors(
  records: readonly TrueRecord[],
  share: number,
  falseShare: (records: readonly TrueRecord[], declare: Declare) => number,
  drifts = true,
): number {
  let low = 0.2
  let high = 5
  for (let halving = 0; halving < 8; halving++) {
    const middle = (low + high) / 2
    if (falseShare(records, oracle(middle, drifts)) <= share) high = middle
    else low = middle
  }
  return high
}

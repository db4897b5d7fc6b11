export interface Point {
  readonly x: number
  readonly y: number
}

/** A line by least squares; every number in the units of x and y. */
export interface FittedLine {
  readonly slope: number
  readonly slopeError: number
  readonly intercept: number
  readonly interceptError: number
  /** Standard deviation of the points about the line. */
  readonly residual: number
}

/** The line through some points, in two passes: means first, then what is left about them. NaN where the points fix none: fewer than two, or all at one x. Errors and residual need three. */
export function lineThrough(points: readonly Point[]): FittedLine {
  const count = points.length
  const from = points[0] ?? { x: Number.NaN, y: Number.NaN }
  let sumX = 0
  let sumY = 0
  for (const { x, y } of points) {
    sumX += x - from.x
    sumY += y - from.y
  }
  const meanX = sumX / count
  const meanY = sumY / count
  let xx = 0
  let xy = 0
  for (const { x, y } of points) {
    const dx = x - from.x - meanX
    xx += dx * dx
    xy += dx * (y - from.y - meanY)
  }
  const slope = xy / xx
  let left = 0
  for (const { x, y } of points) left += (y - from.y - meanY - slope * (x - from.x - meanX)) ** 2
  const residual = Math.sqrt(left / (count - 2))
  const away = from.x + meanX
  return {
    slope,
    slopeError: residual / Math.sqrt(xx),
    intercept: from.y + (meanY - slope * away),
    interceptError: residual * Math.sqrt(1 / count + (away * away) / xx),
    residual,
  }
}

/** The line through the origin and some points: y is x times one slope. NaN of none; error and residual need two points. */
export function lineFromOrigin(points: readonly Point[]): Pick<FittedLine, 'slope' | 'slopeError' | 'residual'> {
  let xx = 0
  let xy = 0
  for (const { x, y } of points) {
    xx += x * x
    xy += x * y
  }
  const slope = xy / xx
  let left = 0
  for (const { x, y } of points) left += (y - slope * x) ** 2
  const residual = Math.sqrt(left / (points.length - 1))
  return { slope, slopeError: residual / Math.sqrt(xx), residual }
}

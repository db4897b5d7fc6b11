/** The middle one; of an even number the lower of the two middle ones. NaN for none. */
export function median(values: readonly number[]): number {
  if (values.length === 0) return Number.NaN
  const at = (values.length - 1) >> 1
  return atRank(new Float64Array(values), at)
}

/** The value that would stand at `rank` if they were sorted; moves them about. Hoare's selection: a sort does more than is asked. */
export function atRank(values: Float64Array, rank: number): number {
  let from = 0
  let to = values.length - 1
  while (from < to) {
    const pivot = values[rank] ?? Number.NaN
    let low = from
    let high = to
    while (low <= high) {
      while ((values[low] ?? pivot) < pivot) low++
      while ((values[high] ?? pivot) > pivot) high--
      if (low > high) break
      const held = values[low] ?? pivot
      values[low++] = values[high] ?? pivot
      values[high--] = held
    }
    if (high < rank) from = low
    if (low > rank) to = high
  }
  return values[rank] ?? Number.NaN
}

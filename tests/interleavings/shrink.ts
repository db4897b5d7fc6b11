/**
 * Delta debugging: the shortest list, in the same order, for which `fails` still holds, as far as leaving out parts of it finds one.
 * `fails(all)` must hold. Of the list that comes back no single entry can be left out.
 */
export async function shrink<T>(
  all: readonly T[],
  fails: (some: readonly T[]) => Promise<boolean>,
): Promise<readonly T[]> {
  let best = all
  let size = Math.ceil(all.length / 2)
  while (size >= 1 && best.length > 0) {
    const shorter = await withoutOnePart(best, size, fails)
    if (shorter) best = shorter
    else if (size === 1) break
    else size = Math.ceil(size / 2)
    size = Math.min(size, Math.max(1, best.length))
  }
  return best
}

async function withoutOnePart<T>(
  all: readonly T[],
  size: number,
  fails: (some: readonly T[]) => Promise<boolean>,
): Promise<readonly T[] | null> {
  for (let from = 0; from < all.length; from += size) {
    const rest = [...all.slice(0, from), ...all.slice(from + size)]
    if (await fails(rest)) return rest
  }
  return null
}

/** Below this the first term of the series is exact to the last digit. */
const SMALL = 1e-8
/** How far above the highest order wanted the downward recurrence starts, so that nothing of its guessed start is left. */
const START_ABOVE = 20
const START_PER_ROOT = 10
const TOO_LARGE = 1e150
const NEWTON_STEPS = 5

/**
 * Bessel functions of the first kind of every order from 0 to `highest`, at x of 0 or more: the levels of the carrier and the
 * sidebands of a tone-modulated FM signal. Right to 1e-14 for x up to 1000. Miller's recurrence, downward, where it is stable,
 * made to size by J0 + 2 J2 + 2 J4 + ... = 1 (Abramowitz and Stegun 9.1.46, 9.12).
 */
export function besselJs(x: number, highest: number): readonly number[] {
  if (!(x >= 0) || !Number.isInteger(highest) || highest < 0)
    throw new TypeError(`no Bessel functions up to order ${highest} at ${x}`)
  if (x < SMALL) return firstTerms(x, highest)
  const top = Math.max(highest, Math.ceil(x))
  const start = 2 * Math.ceil((top + START_ABOVE + START_PER_ROOT * Math.cbrt(top)) / 2)
  const found: number[] = Array.from({ length: highest + 1 }, () => 0)
  let above = 0
  let here = 1
  let evens = 0
  for (let order = start; order >= 0; order--) {
    if (order <= highest) found[order] = here
    if (order % 2 === 0) evens += order === 0 ? here : 2 * here
    const below = ((2 * order) / x) * here - above
    above = here
    here = below
    if (Math.abs(here) > TOO_LARGE) {
      for (let kept = order; kept <= highest; kept++) found[kept] = (found[kept] ?? 0) / TOO_LARGE
      above /= TOO_LARGE
      here /= TOO_LARGE
      evens /= TOO_LARGE
    }
  }
  return found.map((value) => value / evens)
}

/** The `which`-th place above 0, counted from 1, where J of order 0 (the carrier) or 1 (the first sideband) is nothing; right to 1e-13. McMahon's start, then Newton's steps. */
export function besselZero(order: 0 | 1, which: number): number {
  if (!Number.isInteger(which) || which < 1) throw new TypeError(`there is no zero number ${which}`)
  const four = 4 * order * order
  const b = (which + order / 2 - 0.25) * Math.PI
  let x = b - (four - 1) / (8 * b) - (4 * (four - 1) * (7 * four - 31)) / (3 * (8 * b) ** 3)
  for (let step = 0; step < NEWTON_STEPS; step++) {
    const [j0 = 0, j1 = 0] = besselJs(x, 1)
    x -= order === 0 ? -j0 / j1 : j1 / (j0 - j1 / x)
  }
  return x
}

function firstTerms(x: number, highest: number): readonly number[] {
  const terms = [1]
  for (let order = 1; order <= highest; order++) terms.push(((terms[order - 1] ?? 0) * x) / 2 / order)
  return terms
}

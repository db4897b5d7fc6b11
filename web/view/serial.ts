import { serialDiffers } from '../words/words.ts'

/** Signs that are taken for each other on a worn plate. */
const ALIKE: readonly string[] = ['0O', '1I', '8B']

/** What is wrong between two readings of a serial, at the first sign that differs; "" where they are the same. */
export function serialDifference(first: string, second: string): string {
  if (first === second) return ''
  const [one, other] = [[...first], [...second]]
  const longest = Math.max(one.length, other.length)
  for (let at = 0; at < longest; at += 1) {
    const [a = '', b = ''] = [one[at], other[at]]
    if (a !== b) return serialDiffers(at + 1, a, b, isAlike(a, b))
  }
  return ''
}

function isAlike(a: string, b: string): boolean {
  return ALIKE.some((pair) => a !== '' && b !== '' && pair.includes(a) && pair.includes(b))
}

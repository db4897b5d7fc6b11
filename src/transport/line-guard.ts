/** The longest line an instrument may send, in bytes without its end. Readings have tens; a stuck talker has no end. */
export const LONGEST_LINE_BYTES = 4096

/** What the guard does with bytes. `pass` gets them in order; `tooLong` says that the line begun in them is thrown away up to its end. */
export interface Guarded {
  pass(bytes: Buffer): unknown
  tooLong(): void
}

/**
 * Stands before a line parser that would keep bytes without an end for ever and copy them again with each chunk.
 * Feeds it lines of at most `longest` bytes; a longer one is dropped to its end. `end` is what ends a line.
 */
export function lineGuard(end: Buffer, longest: number, to: Guarded): (bytes: Buffer) => void {
  let lineBytes = 0 // of the line begun, its end (or the begin of it) included
  let dropping = false
  const carry = Buffer.alloc(end.length - 1) // the last bytes seen, where an end may have begun
  let carried = 0
  const oneByte = end.length === 1 ? end[0] : undefined // found faster

  /** Where the next end is over, counted in `bytes`; -1 when it is not there. */
  const endAfter = (bytes: Buffer, from: number): number => {
    for (let begun = carried; begun > 0 && from === 0; begun--) {
      const rest = end.length - begun
      if (carry.compare(end, 0, begun, carried - begun, carried) !== 0) continue
      if (bytes.length >= rest && bytes.compare(end, begun, end.length, 0, rest) === 0) return rest
    }
    const at = oneByte === undefined ? bytes.indexOf(end, from) : bytes.indexOf(oneByte, from)
    return at < 0 ? -1 : at + end.length
  }

  const keepTail = (bytes: Buffer, from: number) => {
    const tail = Buffer.concat([carry.subarray(0, from === 0 ? carried : 0), bytes.subarray(from)])
    carried = Math.min(tail.length, carry.length)
    tail.copy(carry, 0, tail.length - carried)
  }

  return (bytes) => {
    let from = 0 // what lies before is dealt with
    let at = 0 // the line under the eye begins here
    for (;;) {
      const next = endAfter(bytes, at)
      const upTo = next < 0 ? bytes.length : next
      lineBytes += upTo - at
      if (!dropping && lineBytes > longest + end.length) {
        if (at > from) to.pass(bytes.subarray(from, at))
        dropping = true
        to.tooLong()
      }
      if (next < 0) {
        if (!dropping && upTo > from) to.pass(bytes.subarray(from, upTo))
        if (carry.length > 0) keepTail(bytes, at)
        return
      }
      if (dropping) from = next
      dropping = false
      lineBytes = 0
      carried = 0
      at = next
      if (at === bytes.length) {
        if (at > from) to.pass(from === 0 ? bytes : bytes.subarray(from, at))
        return
      }
    }
  }
}

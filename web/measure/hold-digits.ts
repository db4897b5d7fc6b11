/** What the eye was shown lately: a number stands for 200 ms, and a digit that goes to and fro is found out. */
export interface HeldDigits {
  readonly text: string
  readonly sinceMs: number
  /** The last few numbers shown, oldest first. */
  readonly recent: readonly string[]
  /** Index from which digits flicker; the length of `text` where none do. */
  readonly dimFrom: number
}

const HOLD_MS = 200
const KEPT = 6
/** Changes of direction among the last numbers that make a flicker. A hand that turns makes none or one. */
const REVERSALS = 2

/** The number to show now. A change of form ("9.99" to "10.00", a word) shows at once, as does a number that has stood long enough. */
export function holdDigits(before: HeldDigits | null, text: string, nowMs: number): HeldDigits {
  if (before === null || before.text.length !== text.length || !/\d/.test(text))
    return { text, sinceMs: nowMs, recent: [text], dimFrom: text.length }
  if (nowMs - before.sinceMs < HOLD_MS) return before
  if (text === before.text && nowMs - before.sinceMs < 2 * HOLD_MS) return before
  const recent = [...before.recent, text].slice(-KEPT)
  return { text, sinceMs: nowMs, recent, dimFrom: flickersFrom(recent, text) }
}

function flickersFrom(recent: readonly string[], text: string): number {
  const values = recent.map((shown) => Number(shown.replace('−', '-').replace('+', '')))
  let reversals = 0
  let last = 0
  for (const [index, value] of values.entries()) {
    const move = index === 0 ? 0 : Math.sign(value - (values[index - 1] ?? value))
    if (move !== 0 && last !== 0 && move !== last) reversals += 1
    if (move !== 0) last = move
  }
  return reversals < REVERSALS ? text.length : firstDifference(recent, text)
}

function firstDifference(recent: readonly string[], text: string): number {
  for (let at = 0; at < text.length; at += 1) {
    if (recent.some((shown) => shown.charAt(at) !== text.charAt(at))) return at
  }
  return text.length
}

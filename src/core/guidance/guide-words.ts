import type { NudgeOrder } from '../peaking/peak-watch.ts'

/** A nudge in words: "Nudge DK on a tenth of a turn". */
export function nudgeWords({ size, back }: NudgeOrder, adjuster: string): string {
  const name = adjuster === '' ? 'it' : adjuster
  return back ? `Nudge ${name} back ${farWords(size)}` : `Nudge ${name} on ${farWords(size)}`
}

/** So many tenths of a turn as a hand would say it: a clock hour is 0.8 of one. */
function farWords(tenths: number): string {
  if (tenths <= 0.25) return 'a hair'
  if (tenths <= 0.75) return 'half a tenth of a turn'
  if (tenths === 1) return 'a tenth of a turn'
  if (tenths === 2) return 'a fifth of a turn'
  const whole = Math.floor(tenths)
  const part = tenths - whole
  const rounded = part < 0.25 ? `${whole}` : part < 0.75 ? `${whole} and a half` : `${whole + 1}`
  return `${rounded} tenths of a turn`
}

/** How far next beside the last move, in words. */
export function sizeWords(size: number): string {
  if (size < 0.2) return 'a hair'
  if (size < 0.42) return 'a third as far'
  if (size < 0.75) return 'half as far'
  if (size < 1.4) return 'as far again'
  return size < 2.6 ? 'twice as far' : 'four times as far'
}

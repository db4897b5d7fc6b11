import { type Said, said } from '../../words/said/said.ts'
import type { NudgeOrder } from '../peaking/peak-watch.ts'

/** A nudge in words: "Nudge DK on a tenth of a turn". */
export function nudgeWords({ size, back }: NudgeOrder, adjuster: string): Said {
  const far = farWords(size)
  if (adjuster === '') return back ? said('nudge.it-back', { far }) : said('nudge.it-on', { far })
  return back ? said('nudge.back', { adjuster, far }) : said('nudge.on', { adjuster, far })
}

/** The same while the key is still down: "Key up, then nudge DK on a tenth of a turn". */
export function keyUpNudgeWords({ size, back }: NudgeOrder, adjuster: string): Said {
  const far = farWords(size)
  if (adjuster === '') return back ? said('nudge.key-up-it-back', { far }) : said('nudge.key-up-it-on', { far })
  return back ? said('nudge.key-up-back', { adjuster, far }) : said('nudge.key-up-on', { adjuster, far })
}

/** So many tenths of a turn as a hand would say it: a clock hour is 0.8 of one. */
function farWords(tenths: number): Said {
  if (tenths <= 0.25) return said('nudge.hair')
  if (tenths <= 0.75) return said('nudge.half-tenth')
  if (tenths === 1) return said('nudge.tenth')
  if (tenths === 2) return said('nudge.two-tenths')
  const whole = Math.floor(tenths)
  const part = tenths - whole
  if (part >= 0.25 && part < 0.75) return said('nudge.tenths-and-half', { tenths: whole })
  return said('nudge.tenths', { tenths: part < 0.25 ? whole : whole + 1 })
}

/** How far next beside the last move, in words. */
export function sizeWords(size: number): Said {
  if (size < 0.2) return said('far.a-hair')
  if (size < 0.42) return said('far.a-third')
  if (size < 0.75) return said('far.half')
  if (size < 1.4) return said('far.again')
  return size < 2.6 ? said('far.twice') : said('far.four-times')
}

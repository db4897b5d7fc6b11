import type { Heard, Jump } from './peak-watch.ts'

const SNAP_DB = 0.5
const SNAP_AMPS = 0.08
/** A level this near to where it jumped from is back, dB. */
const BACK_DB = 0.25
/** A fall is shown this long; a rise for as long as the current stays odd, and at least so long, s. */
const DOWN_S = 1
const UP_S = 5

/** A jump of more than 0.5 dB between two of the newest readings, with one of more than 8 % of the current then or one reading later. */
export function jumpIn(recent: readonly Heard[], atS: number): Jump | null {
  const amps = recent.at(-1)?.amps ?? null
  for (const [index, from] of recent.slice(0, -1).entries()) {
    const to = recent[index + 1]
    if (!to || from.amps === null || amps === null || Math.abs(to.db - from.db) <= SNAP_DB) continue
    if (differs(amps, from.amps)) return { db: from.db, amps: from.amps, atS, up: to.db > from.db }
  }
  return null
}

/** Whether a jump still stands: not decided yet, back where it came from, or here to stay. */
export function jumpStands(jump: Jump, recent: readonly Heard[], atS: number): 'yet' | 'back' | 'stays' {
  const newest = recent.at(-1)
  if (!newest) return 'yet'
  if (Math.abs(newest.db - jump.db) <= BACK_DB || (jump.up && newest.db < jump.db)) return 'back'
  const sinceS = atS - jump.atS
  if (!jump.up) return sinceS >= DOWN_S ? 'stays' : 'yet'
  const calm = newest.amps === null || !differs(newest.amps, jump.amps)
  return calm && sinceS >= UP_S ? 'stays' : 'yet'
}

function differs(amps: number, from: number): boolean {
  return Math.abs(amps / from - 1) > SNAP_AMPS
}

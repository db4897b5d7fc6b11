import { fromDb } from './decibels.ts'
import type { NudgeOrder, NudgeRule, Nudging, PeakRule, PeakWatch, Place } from './peak-watch.ts'

const AIM_SIGMA_DB = 0.02
const LEAST_READINGS = 4
const MOST_READINGS = 16
const DROP_DB = 0.2
const DROP_SIGMAS = 6
/** To read the word and to turn; and for each further tenth of a turn. */
const NUDGE_S = 2
const MORE_S = 1

/** Builds the rule from the sigma of one reading: four readings a place, up to sixteen where one is rougher than 0.02 dB. */
export function nudgeRule(sigmaDb: number): NudgeRule {
  const wanted = Math.ceil((sigmaDb / AIM_SIGMA_DB) ** 2)
  const readings = Math.min(MOST_READINGS, Math.max(LEAST_READINGS, wanted))
  const meanDb = sigmaDb / Math.sqrt(readings)
  return { readings, sigmaDb: meanDb, dropDb: Math.max(DROP_DB, DROP_SIGMAS * meanDb) }
}

/** Time for the hand to make a nudge, s. */
export function nudgeS({ size }: NudgeOrder): number {
  return NUDGE_S + MORE_S * Math.max(0, size - 1)
}

/** A new key-down: a nudge that was asked for has been made with the key up, and what was read of a place half is read anew. */
export function resumeNudging(before: Nudging): Nudging {
  return { ...before, askedAtS: null, sinceS: null, read: [] }
}

/** One reading further, `db` as good as high. */
export function watchNudges(before: PeakWatch, db: number, atS: number, rule: PeakRule): PeakWatch {
  const { nudging } = before.memory
  if (before.phase === 'at best') return before
  if (nudging.askedAtS !== null) {
    if (atS - nudging.askedAtS < nudgeS(nudging.order)) return before
    return withNudging({ ...before, phase: 'wait' }, { ...nudging, askedAtS: null, sinceS: atS, read: [] })
  }
  const sinceS = nudging.sinceS ?? atS
  const read = newest([...nudging.read, { atS, db }], rule)
  const waiting = withNudging({ ...before, phase: 'wait' }, { ...nudging, sinceS, read })
  return hasRested(read, atS - sinceS, rule) ? placeRead(waiting, meanOf(read), atS, rule) : waiting
}

/** What makes the level of a place: as many readings as the rule says, and of a slow meter all of half its latency. */
function newest(read: Nudging['read'], rule: PeakRule): Nudging['read'] {
  const fromS = (read.at(-1)?.atS ?? 0) - rule.latencyS / 2
  const long = read.findIndex(({ atS }) => atS >= fromS)
  return read.slice(Math.max(0, Math.min(long, read.length - rule.nudge.readings)))
}

/** The meter has had its latency, and its readings no longer move by more than their noise; or it has had all the time there is. */
function hasRested(read: Nudging['read'], waitedS: number, rule: PeakRule): boolean {
  if (read.length < rule.nudge.readings || waitedS < rule.latencyS) return false
  if (waitedS > LATENCIES * rule.latencyS + LONGEST_S) return true
  const half = read.length >> 1
  const moves = Math.abs(meanOf(read.slice(half)) - meanOf(read.slice(0, half)))
  return moves <= Math.max(STILL_DB, STILL_SIGMAS * 2 * rule.nudge.sigmaDb)
}

const LATENCIES = 4
const LONGEST_S = 2
const STILL_DB = 0.02
const STILL_SIGMAS = 1.5

function meanOf(read: Nudging['read']): number {
  return read.reduce((sum, { db }) => sum + db, 0) / read.length
}

/** The level of a place is known: a nudge on, back over the top, to the middle, or there. */
function placeRead(watch: PeakWatch, db: number, atS: number, rule: PeakRule): PeakWatch {
  const { nudging, startDb } = watch.memory
  const first = Number.isNaN(startDb)
  const better = db > watch.bestDb
  const bestDb = Math.max(watch.bestDb, db)
  const known: PeakWatch = {
    ...watch,
    bestDb,
    bestValue: better ? fromDb(rule.dip ? -db : db, rule.unit) : watch.bestValue,
    belowDb: bestDb - db,
    fromStartDb: first ? 0 : db - startDb,
    newBest: better && !first,
    memory: { ...watch.memory, startDb: first ? db : startDb },
  }
  if (nudging.home) return goHome(known, db, nudging.home, atS, rule)
  const sweep = [...nudging.sweep, { at: nudging.at, db }]
  return sweepOn(withNudging(known, { ...nudging, sweep }), sweep, atS, rule)
}

/** On until it has fallen; back over the top when only one side has; to the middle when both have. */
function sweepOn(watch: PeakWatch, sweep: readonly Place[], atS: number, rule: PeakRule): PeakWatch {
  const { dropDb } = rule.nudge
  const here = sweep.at(-1)
  const top = sweep.reduce((best, place) => (place.db > best.db ? place : best), {
    at: 0,
    db: Number.NEGATIVE_INFINITY,
  })
  if (!here || here.db > top.db - dropDb) return ask(watch, stride(sweep, rule), false, atS)
  const centre = middleOf(sweep, top, dropDb)
  if (centre === null) {
    const { nudging } = watch.memory
    const turned = { ...nudging, sweep: [here], way: nudging.way === 1 ? (-1 as const) : (1 as const) }
    return ask({ ...withNudging(watch, turned), turnBacks: watch.turnBacks + 1 }, 1, true, atS)
  }
  const { nudging } = watch.memory
  const home = { beforeDb: Number.NEGATIVE_INFINITY, tries: 0 }
  const turned = { ...nudging, home, way: nudging.way === 1 ? (-1 as const) : (1 as const) }
  const size = Math.max(HALF, Math.round(Math.abs(here.at - centre) / QUARTER) * QUARTER)
  const memory = { ...watch.memory, crossed: true }
  return ask({ ...withNudging({ ...watch, memory }, turned), turnBacks: watch.turnBacks + 1 }, size, true, atS)
}

/** Where it rises steeply the next nudge is a double one. */
function stride(sweep: readonly Place[], rule: PeakRule): number {
  const [before, here] = sweep.slice(-2)
  if (!before || !here) return 1
  const perNudge = (here.db - before.db) / Math.abs(here.at - before.at)
  return perNudge > Math.max(STEEP_DB, 2 * rule.nudge.dropDb) ? 2 : 1
}

const STEEP_DB = 0.4

/** The middle between the two places at which the sweep is `dropDb` below its top; null while one side is missing. */
function middleOf(sweep: readonly Place[], top: Place, dropDb: number): number | null {
  const edgeDb = top.db - dropDb
  const topIndex = sweep.indexOf(top)
  const left = sweep.findLastIndex((place, index) => index < topIndex && place.db <= edgeDb)
  const right = sweep.findIndex((place, index) => index > topIndex && place.db <= edgeDb)
  const [low, afterLow] = [sweep[left], sweep[left + 1]]
  const [high, beforeHigh] = [sweep[right], sweep[right - 1]]
  if (!low || !afterLow || !high || !beforeHigh) return null
  return (between(low, afterLow, edgeDb) + between(high, beforeHigh, edgeDb)) / 2
}

function between(low: Place, high: Place, edgeDb: number): number {
  return low.at + ((high.at - low.at) * (edgeDb - low.db)) / (high.db - low.db)
}

const HALF = 0.5
const QUARTER = 0.25
/** The play of a tool may be most of a nudge: so many half nudges on while they gain. */
const MOST_TRIES = 3

/** At the middle, or a little short of it by the play of the tool: half a nudge on while the level is still below the best. */
function goHome(watch: PeakWatch, db: number, home: { beforeDb: number; tries: number }, atS: number, rule: PeakRule) {
  const nearDb = watch.bestDb - Math.max(rule.backDb, 2 * rule.nudge.sigmaDb)
  const gains = db > home.beforeDb
  if (db >= nearDb || !gains || home.tries >= MOST_TRIES) return { ...watch, phase: 'at best' as const, proved: true }
  const nudging = { ...watch.memory.nudging, home: { beforeDb: db, tries: home.tries + 1 } }
  return ask(withNudging(watch, nudging), HALF, false, atS)
}

function ask(watch: PeakWatch, size: number, back: boolean, atS: number): PeakWatch {
  const { nudging } = watch.memory
  const order = { number: nudging.order.number + 1, size, back }
  return withNudging(
    { ...watch, phase: 'nudge' },
    { ...nudging, order, at: nudging.at + nudging.way * size, askedAtS: atS, sinceS: null, read: [] },
  )
}

function withNudging(watch: PeakWatch, nudging: Nudging): PeakWatch {
  return { ...watch, memory: { ...watch.memory, nudging } }
}

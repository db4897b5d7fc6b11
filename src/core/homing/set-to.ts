import { median } from '../statistics/median.ts'
import { type Effect, hardlyAny, type SeenMove } from './effect.ts'

/** How a hand is brought to a target, all values in the unit of the quantity, at the set. */
export interface SetRule {
  readonly aimLow: number
  readonly aimHigh: number
  /** Usual sigma of one reading near the aim; a change of 4 of these, and of 2 display steps, is a move. */
  readonly moveBy: number
  readonly latencyS: number
  readonly everyS: number
  /** The meter follows a hand that goes on turning; if not, nudge and look. */
  readonly quick: boolean
  /** What this adjuster usually does, from this job or an earlier one of the type; null where nothing is known. */
  readonly usual: Effect | null
}

/**
 * - first: no effect seen yet; on: it comes nearer; other way: it goes away
 * - look: a move was made, hands still until it has settled; step: at rest, `size` says how far in units of the last move
 * - coming: it will be past the aim if the hand goes on
 * - there: inside the aim window
 * - end: nothing moves any more, at its stop? passed end: the sign flipped, over the end of an endless trimmer's range
 * - no effect: hardly any; cannot reach: both ends of the range lie on one side
 */
export type SetPhase =
  | 'first'
  | 'on'
  | 'other way'
  | 'look'
  | 'step'
  | 'coming'
  | 'there'
  | 'end'
  | 'passed end'
  | 'no effect'
  | 'cannot reach'

/** Where the hand is on its way to the target. */
export interface SetWatch {
  readonly phase: SetPhase
  /** In phase step: how far next, as a multiple of the last move. */
  readonly size: number
  /** Which way round the hand is told to turn now, seen from the tool's end: 1 clockwise. */
  readonly told: 1 | -1
  /** How often it was told to turn the other way; a hand obeys each once. */
  readonly turnBacks: number
  readonly moves: readonly SeenMove[]
  readonly turnsOver: boolean
  readonly memory: SetMemory
}

interface Sample {
  readonly atS: number
  readonly value: number
}

/** What is remembered between readings. */
export interface SetMemory {
  /** The newest readings, four at most. */
  readonly recent: readonly Sample[]
  /** The move under way: where and when it began and which way it goes; null at rest. */
  readonly move: (Sample & { readonly sign: 1 | -1; readonly lastS: number; readonly top: number }) | null
  /** Where it rests, and for how long nothing has moved while it was not there, s. */
  readonly restValue: number
  readonly idleS: number
  /** Ends of the range that were found. */
  readonly ends: readonly number[]
  /** Largest and smallest seen. */
  readonly low: number
  readonly high: number
  /** The hand was told to go on this way because it came nearer. */
  readonly nearer: boolean
}

/** A new step; an adjuster whose direction is known begins the right way. */
export function startSet(): SetWatch {
  return {
    phase: 'first',
    size: 1,
    told: 1,
    turnBacks: 0,
    moves: [],
    turnsOver: false,
    memory: {
      recent: [],
      move: null,
      restValue: Number.NaN,
      idleS: 0,
      ends: [],
      low: Number.POSITIVE_INFINITY,
      high: Number.NEGATIVE_INFINITY,
      nearer: false,
    },
  }
}

/** After a key-up or another change: what was learned stays, readings are taken anew. */
export function resumeSet(before: SetWatch): SetWatch {
  const rests = before.phase === 'look' || before.phase === 'coming' || before.phase === 'there'
  return {
    ...before,
    phase: rests ? (before.moves.length > 0 ? 'look' : 'first') : before.phase,
    memory: { ...before.memory, recent: [], move: null, restValue: Number.NaN, idleS: 0 },
  }
}

/** With more lag than this, until a reading shows it, nobody can stop in time, s. */
const QUICK_S = 0.6
const MOVE_SIGMAS = 4
const MOVE_STEPS = 2
/** Builds the rule from the aim window, the noise of the meter near it, and what is known of the adjuster. */
export function setRule(about: {
  readonly aimLow: number
  readonly aimHigh: number
  readonly sigma: number
  readonly step: number
  readonly latencyS: number
  readonly everyS: number
  readonly usual?: Effect | null
}): SetRule {
  return {
    aimLow: about.aimLow,
    aimHigh: about.aimHigh,
    moveBy: Math.max(MOVE_SIGMAS * about.sigma, MOVE_STEPS * about.step),
    latencyS: about.latencyS,
    everyS: about.everyS,
    quick: about.latencyS + about.everyS <= QUICK_S,
    usual: about.usual ?? null,
  }
}

/** Longer without a reading than this many intervals (and 2 s) is a break, in which nothing is known of the hand. */
const BREAK_EVERIES = 3
const BREAK_S = 2
/** From a word of the guide to the hand acting on it, s. */
const REACTION_S = 0.35

/** One reading further. */
export function watchSet(before: SetWatch, sample: Sample, rule: SetRule): SetWatch {
  const last = before.memory.recent.at(-1)
  if (!Number.isFinite(sample.value) || (last && sample.atS < last.atS)) return before
  const passedS = last ? sample.atS - last.atS : 0
  if (passedS > Math.max(BREAK_S, BREAK_EVERIES * rule.everyS)) return watchSet(resumeSet(before), sample, rule)
  const recent = [...before.memory.recent.slice(-3), sample]
  const memory = { ...before.memory, recent, ...extremes(before.memory, recent) }
  const watch = aimedFirst({ ...before, memory }, sample, rule)
  const way = wayOf(recent, rule)
  if (way !== 0) return moving(watch, sample, way, rule)
  return watch.memory.move ? slowing(watch, watch.memory.move, sample, rule) : resting(watch, sample, passedS, rule)
}

/** Before anything was turned the hand is told the way that is known to lead to the aim. */
function aimedFirst(watch: SetWatch, { value }: Sample, rule: SetRule): SetWatch {
  const { clockwise } = rule.usual ?? { clockwise: null }
  if (watch.phase !== 'first' || watch.moves.length > 0 || watch.memory.recent.length > 1 || clockwise === null)
    return watch
  return { ...watch, told: value < rule.aimLow === clockwise > 0 ? 1 : -1 }
}

/** A spike is one reading: an extreme is believed when the reading before was beyond it as well. */
function extremes({ low, high }: SetMemory, recent: readonly Sample[]): Pick<SetMemory, 'low' | 'high'> {
  const [before, now] = recent.slice(-2)
  if (!before || !now) return { low, high }
  return {
    low: Math.min(low, Math.max(before.value, now.value)),
    high: Math.max(high, Math.min(before.value, now.value)),
  }
}

/** Which way the newest readings go: both of the last two must have gone on. */
function wayOf(recent: readonly Sample[], rule: SetRule): 1 | -1 | 0 {
  const [first, middle, now] = recent.slice(-3)
  if (!first || !middle || !now) return 0
  const total = now.value - first.value
  if (Math.abs(total) < WAY_MOVES * rule.moveBy) return 0
  const between = (middle.value - first.value) * Math.sign(total)
  // a step from one reading to the next counts when it has stayed
  return between > 0.1 * Math.abs(total) || Math.abs(now.value - middle.value) < rule.moveBy / 2
    ? total > 0
      ? 1
      : -1
    : 0
}

/** Two single readings differ by more than one level and another. */
const WAY_MOVES = 2

function moving(before: SetWatch, sample: Sample, sign: 1 | -1, rule: SetRule): SetWatch {
  const { move, recent } = before.memory
  const from = recent.at(-3) ?? sample
  if (move && move.sign !== sign) return turned(before, move, sample, sign, rule)
  const now = move
    ? { ...move, lastS: sample.atS, top: sample.value }
    : { ...from, sign, lastS: sample.atS, top: sample.value }
  const watch = { ...before, memory: { ...before.memory, move: now, idleS: 0 } }
  if (isThere(sample.value, rule)) return { ...watch, phase: 'there' }
  const nearer = sign > 0 === sample.value < rule.aimLow
  if (!rule.quick) return { ...watch, phase: 'look', memory: { ...watch.memory, nearer } }
  // past the aim: hands still, and then back by a part of the move
  const past = move !== null && (before.phase === 'there' || before.phase === 'coming' || before.phase === 'look')
  if (!nearer && (past || before.phase === 'on')) return { ...watch, phase: 'look' }
  if (!nearer) return goesAway(watch, rule)
  return {
    ...watch,
    phase: comesPast(watch, sample, rule) ? 'coming' : 'on',
    memory: { ...watch.memory, nearer: true },
  }
}

/** It goes away from the aim: the other way, said once a move; and over the end of the range where it had come nearer. */
function goesAway(watch: SetWatch, rule: SetRule): SetWatch {
  if (watch.phase === 'other way' || watch.phase === 'passed end') return watch
  if (watch.phase === 'cannot reach') return isBetween(watch, rule) ? { ...watch, phase: 'on' } : watch
  return { ...watch, phase: 'other way', ...turnBack(watch), memory: { ...watch.memory, nearer: false } }
}

/** The ends found lie on both sides of the aim after all. */
function isBetween({ memory }: SetWatch, rule: SetRule): boolean {
  return memory.low <= rule.aimHigh && memory.high >= rule.aimLow
}

function turnBack(watch: SetWatch): Pick<SetWatch, 'told' | 'turnBacks'> {
  return { told: watch.told > 0 ? -1 : 1, turnBacks: watch.turnBacks + 1 }
}

/** With the reaction of the hand and the lag of the meter the value will be beyond the far edge of the aim window. */
function comesPast({ memory }: SetWatch, { atS, value }: Sample, rule: SetRule): boolean {
  const from = memory.recent.at(-3)
  if (!from || atS <= from.atS) return false
  const later = value + ((value - from.value) / (atS - from.atS)) * (rule.latencyS + REACTION_S)
  return value < rule.aimLow ? later > rule.aimHigh : later < rule.aimLow
}

/** A move without a rest in between goes the other way now: as told, past the aim, or over the end of the range. */
function turned(
  before: SetWatch,
  move: NonNullable<SetMemory['move']>,
  sample: Sample,
  sign: 1 | -1,
  rule: SetRule,
): SetWatch {
  const top = move.sign > 0 ? before.memory.high : before.memory.low
  // noise turns round as well, but not by so much
  if (Math.abs(sample.value - top) < TURN_MOVES * rule.moveBy) return slowing(before, move, sample, rule)
  const short = move.sign > 0 ? top < rule.aimLow : top > rule.aimHigh
  const done = kept(before, move, move.sign > 0 ? top : move.top)
  const now = { ...sample, sign, lastS: sample.atS, top: sample.value }
  const watch = { ...done, memory: { ...done.memory, move: now, idleS: 0 } }
  // sent on round over one end, the next turn is the other end
  const overEnd = (short && before.memory.nearer && before.phase !== 'other way') || before.phase === 'passed end'
  if (!overEnd) return moving({ ...watch, memory: { ...watch.memory, move: null } }, sample, sign, rule)
  return atEnd({ ...watch, turnsOver: true }, top, 'passed end', rule)
}

/** An end of the range: with both found on one side the aim cannot be reached. */
function atEnd(watch: SetWatch, end: number, phase: 'end' | 'passed end', rule: SetRule): SetWatch {
  const { low, high } = watch.memory
  const isNew = watch.memory.ends.every((other) => Math.abs(other - end) > rule.moveBy * APART_MOVES)
  const ends = isNew ? [...watch.memory.ends, end] : watch.memory.ends
  const oneSide = high < rule.aimLow || low > rule.aimHigh
  const memory = { ...watch.memory, ends, idleS: 0 }
  if (oneSide && ends.length >= 2) return { ...watch, memory, phase: 'cannot reach' }
  return { ...watch, memory, phase, ...(phase === 'end' ? turnBack(watch) : {}) }
}

const APART_MOVES = 10
/** A turn over the end of the range is believed when it has come back by so many moves. */
const TURN_MOVES = 3

/** The newest readings go nowhere: the move is over when they have done so for as long as the meter lags. */
function slowing(watch: SetWatch, move: NonNullable<SetMemory['move']>, sample: Sample, rule: SetRule): SetWatch {
  if (isThere(sample.value, rule)) return { ...rested(kept(watch, move, sample.value), rule), phase: 'there' }
  const still = sample.atS - move.lastS >= Math.max(rule.latencyS, 2 * rule.everyS) - 1e-9
  if (!still) return watch.phase === 'coming' || watch.phase === 'on' ? { ...watch, phase: 'look' } : watch
  return rested(kept(watch, move, levelOf(watch.memory.recent)), rule)
}

/** At rest outside the aim window: how far next, from what the last move did. */
function rested(before: SetWatch, rule: SetRule): SetWatch {
  const value = levelOf(before.memory.recent)
  const memory = { ...before.memory, move: null, restValue: value, idleS: 0 }
  const watch = { ...before, memory }
  if (watch.phase === 'cannot reach' || watch.phase === 'passed end') return watch
  if (rule.quick && hardlyAny(rule.usual, watch.moves)) return { ...watch, phase: 'no effect' }
  const last = watch.moves.at(-1)
  if (!last) return { ...watch, phase: 'first' }
  const ratio = ((rule.aimLow + rule.aimHigh) / 2 - value) / last.change
  const size = Math.min(LARGEST, Math.max(SMALLEST, Math.abs(ratio) * (Math.abs(ratio) > 1 ? FAR_SHARE : 1)))
  const wasTold = last.told === watch.told
  const back = ratio < 0 === wasTold
  return { ...watch, phase: 'step', size, ...(back ? turnBack(watch) : {}) }
}

/** A larger move than so many times the last is not asked for at once, and a long way is asked for a little short. */
const LARGEST = 4
const SMALLEST = 0.1
const FAR_SHARE = 0.9
const MOST_MOVES = 8

/** The move goes into the memory of moves. */
function kept(watch: SetWatch, move: NonNullable<SetMemory['move']>, end: number): SetWatch {
  const change = end - move.value
  const seconds = Math.max(move.lastS - move.atS, 1e-3)
  if (change === 0) return watch
  const told = watch.phase === 'other way' ? (watch.told > 0 ? -1 : 1) : watch.told
  return { ...watch, moves: [...watch.moves.slice(1 - MOST_MOVES), { change, seconds, told }] }
}

function isThere(value: number, rule: SetRule): boolean {
  return value >= rule.aimLow && value <= rule.aimHigh
}

/** So long without any change although turning is asked for, it is at its stop or does nothing, s beyond four latencies. */
const IDLE_S = 12
const IDLE_LATENCIES = 4

function resting(before: SetWatch, sample: Sample, passedS: number, rule: SetRule): SetWatch {
  const { memory } = before
  if (isThere(sample.value, rule))
    return { ...before, phase: 'there', memory: { ...memory, idleS: 0, restValue: levelOf(memory.recent) } }
  if (memory.recent.length < 3) return before
  const nowValue = levelOf(memory.recent)
  const rest = Number.isNaN(memory.restValue) ? nowValue : memory.restValue
  const change = nowValue - rest
  const first = before.phase === 'first'
  if (Math.abs(change) >= (first ? 1 : SMALL_SHARE) * rule.moveBy && before.phase !== 'there') {
    // too small a move to be seen while it went on
    const small = { change, seconds: SMALL_MOVE_S, told: before.told }
    return rested({ ...before, moves: [...before.moves.slice(1 - MOST_MOVES), small] }, rule)
  }
  const idleS = memory.idleS + passedS
  const watch = { ...before, memory: { ...memory, idleS, restValue: rest + (first ? REST_SHARE * change : 0) } }
  if (watch.phase === 'there' || watch.phase === 'look' || watch.phase === 'coming') return rested(watch, rule)
  if (idleS < IDLE_S + IDLE_LATENCIES * rule.latencyS) return watch
  // what little was seen may have been noise
  const travel = watch.moves.reduce((sum, move) => sum + Math.abs(move.change), 0)
  if (travel < LEAST_TRAVEL_MOVES * rule.moveBy) return { ...watch, phase: 'no effect' }
  return watch.phase === 'end' || watch.phase === 'cannot reach' ? watch : atEnd(watch, nowValue, 'end', rule)
}

const LEAST_TRAVEL_MOVES = 3
/** A small move is taken to last this long, s; its level counts from this share of a move on once an effect is known. */
const SMALL_MOVE_S = 0.3
const SMALL_SHARE = 0.85
/** Before the first move the place of rest is averaged, each reading with this share: it is waited for longest. */
const REST_SHARE = 0.1

/** The middle of the newest three readings. */
function levelOf(recent: readonly Sample[]): number {
  return median(recent.slice(-3).map(({ value }) => value))
}

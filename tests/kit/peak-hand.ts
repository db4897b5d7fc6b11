import { type PeakRule, type PeakWatch, peakRule, resumePeak, startPeak, watchPeak } from '../../src/core/peak.ts'
import { adjusterDone, ROUND_RULE, type Rounds, startRounds } from '../../src/core/rounds.ts'
import { normal, type Rng } from '../../src/system/rng.ts'
import { droopDb, levelDb, TOP_WATTS } from './two-slugs.ts'

/** A hand with a trimming tool, and the meter it is told by. Turns, seconds, dB. */
export interface HandWorld {
  readonly sigmaDb: number
  /** First-order lag of the meter, s. */
  readonly lagS: number
  readonly everyS: number
  readonly stepWatts: number
  readonly turnsPerS: number
  readonly slowTurnsPerS: number
  readonly reactionS: number
  /** What the tool turns without the core after a reversal. */
  readonly slopTurns: number
  /** Carrier on and off, s; null for a carrier without end. */
  readonly keying: { readonly onS: number; readonly offS: number } | null
}

export const HAND_WORLD: HandWorld = {
  sigmaDb: 0.02,
  lagS: 0.3,
  everyS: 0.25,
  stepWatts: 0.01,
  turnsPerS: 0.15,
  slowTurnsPerS: 0.06,
  reactionS: 0.35,
  slopTurns: 0.03,
  keying: null,
}

export interface PeakJob {
  /** dB under the best place, cold. */
  readonly lossDb: number
  readonly seconds: number
  readonly turns: number
  readonly rounds: number
  readonly finished: boolean
}

const TICK_S = 0.05
/** At best for this long, with hands still, the tool comes out. */
const HOLD_S = 1.5
/** After key-down readings do not count for this long. */
const HOLD_OFF_S = 0.5
const MOST_S = 900
const COOLS_S = 60

/** What the hand has been told and will do after its reaction. */
interface Order {
  readonly atS: number
  readonly way: number
  readonly moves: boolean
  readonly slowly: boolean
}

interface Scene {
  readonly world: HandWorld
  readonly rng: Rng
  readonly slugs: [number, number]
  rounds: Rounds
  watch: PeakWatch
  /** What the meter shows, dB; how long the carrier was on, less what has cooled, s. */
  shownDb: number
  keyedS: number
  keyed: boolean
  nextReadingS: number
  /** Which way the hand was last told to turn; orders on their way to it; the one it obeys. */
  way: number
  orders: Order[]
  obeys: Order
  slopTurns: number
  turns: number
  /** Levels read since it is at best, dB; null when it is not. */
  held: { readonly sinceS: number; readonly levelsDb: number[] } | null
}

/** Two slugs are peaked in rounds by a hand that knows nothing but the guide's phase, its "turn back" and its "slowly". */
export function peakTwoSlugs(start: readonly [number, number], world: HandWorld, rng: Rng): PeakJob {
  const stepDb = (10 * world.stepWatts) / TOP_WATTS / Math.LN10
  const rule = peakRule({ sigmaDb: world.sigmaDb, latencyS: world.lagS, stepDb })
  const scene = startScene(start, world, rng)
  for (let tick = 0; tick * TICK_S < MOST_S; tick++) {
    const atS = tick * TICK_S
    keyOrRest(scene, atS)
    if (!scene.keyed) continue
    turn(scene, atS)
    scene.shownDb += ((levelDb(...scene.slugs) - droopDb(scene.keyedS) - scene.shownDb) * TICK_S) / world.lagS
    if (atS < scene.nextReadingS) continue
    scene.nextReadingS += world.everyS
    read(scene, atS, rule)
    if (scene.held && atS - scene.held.sinceS >= HOLD_S) takeToolOut(scene, scene.held.levelsDb)
    if (scene.rounds.done) return jobOf(scene, atS)
  }
  return jobOf(scene, MOST_S)
}

function startScene(start: readonly [number, number], world: HandWorld, rng: Rng): Scene {
  return {
    world,
    rng,
    slugs: [start[0], start[1]],
    rounds: startRounds(['DK', 'OK'], ROUND_RULE),
    watch: startPeak(),
    shownDb: levelDb(...start),
    keyedS: 0,
    keyed: true,
    nextReadingS: 0,
    orders: [],
    turns: 0,
    held: null,
    ...newTool(world, rng),
  }
}

/** The tool goes into the next slug, and the hand turns either way. */
function newTool(world: HandWorld, rng: Rng): Pick<Scene, 'way' | 'obeys' | 'slopTurns'> {
  const way = rng() < 0.5 ? -1 : 1
  return { way, obeys: { atS: 0, way, moves: true, slowly: false }, slopTurns: world.slopTurns }
}

function keyOrRest(scene: Scene, atS: number): void {
  const { keying, everyS } = scene.world
  const keyed = keying === null || atS % (keying.onS + keying.offS) < keying.onS
  scene.keyedS = keyed ? scene.keyedS + TICK_S : scene.keyedS * Math.exp(-TICK_S / COOLS_S)
  if (keyed && !scene.keyed) {
    scene.watch = resumePeak(scene.watch)
    scene.held = null
    scene.orders = []
    scene.nextReadingS = atS + HOLD_OFF_S + everyS
    scene.shownDb = levelDb(...scene.slugs) - droopDb(scene.keyedS)
  }
  scene.keyed = keyed
}

function turn(scene: Scene, atS: number): void {
  const { world } = scene
  for (let order = scene.orders[0]; order && order.atS <= atS; order = scene.orders[0]) {
    if (order.way !== scene.obeys.way) scene.slopTurns = world.slopTurns
    scene.obeys = order
    scene.orders.shift()
  }
  const waitsForReadings = atS < scene.nextReadingS - world.everyS
  if (!scene.obeys.moves || waitsForReadings) return
  const turned = (scene.obeys.slowly ? world.slowTurnsPerS : world.turnsPerS) * TICK_S
  const lost = Math.min(scene.slopTurns, turned)
  scene.turns += turned
  scene.slopTurns -= lost
  scene.slugs[scene.rounds.next === 'DK' ? 0 : 1] += scene.obeys.way * (turned - lost)
}

function read(scene: Scene, atS: number, rule: PeakRule): void {
  const { world, watch: before } = scene
  const watts = TOP_WATTS * 10 ** ((scene.shownDb + world.sigmaDb * normal(scene.rng)) / 10)
  const value = Math.round(watts / world.stepWatts) * world.stepWatts
  const watch = watchPeak(before, { atS, value, amps: 0.45 + 0.4 * Math.sqrt(watts), heating: true }, rule)
  if (watch.turnBacks !== before.turnBacks) scene.way = -scene.way
  const atBest = watch.phase === 'at best'
  scene.orders.push({ atS: atS + world.reactionS, way: scene.way, moves: !atBest, slowly: watch.slowly })
  scene.held = atBest ? (scene.held ?? { sinceS: atS, levelsDb: [] }) : null
  scene.held?.levelsDb.push(10 * Math.log10(value))
  scene.watch = watch
}

function takeToolOut(scene: Scene, levelsDb: readonly number[]): void {
  const settled = levelsDb.slice(2)
  scene.rounds = adjusterDone(scene.rounds, settled.reduce((sum, level) => sum + level, 0) / settled.length)
  scene.watch = startPeak()
  scene.held = null
  scene.orders = []
  Object.assign(scene, newTool(scene.world, scene.rng))
}

function jobOf(scene: Scene, seconds: number): PeakJob {
  return {
    lossDb: -levelDb(...scene.slugs),
    seconds,
    turns: scene.turns,
    rounds: scene.rounds.round,
    finished: scene.rounds.done,
  }
}

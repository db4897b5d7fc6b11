import { peakRule, resumePeak, watchPeak } from '../../../src/core/peaking/peak.ts'
import { type PeakRule, type PeakWatch, startPeak } from '../../../src/core/peaking/peak-watch.ts'
import { adjusterDone, ROUND_RULE, type Rounds, startRounds } from '../../../src/core/peaking/rounds.ts'
import type { Rng } from '../../../src/system/rng.ts'
import {
  type Body,
  HAND_WORLD,
  type HandWorld,
  jobOf,
  keyedAt,
  liveOn,
  meterSays,
  type PeakJob,
  startBody,
  TICK_S,
  turnSlug,
} from './peak-body.ts'
import { TOP_WATTS } from './two-slugs.ts'

export { HAND_WORLD, type HandWorld, type PeakJob }

/** At best for this long, with hands still, the tool comes out. */
const HOLD_S = 1.5
const MOST_S = 900

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
  readonly body: Body
  rounds: Rounds
  watch: PeakWatch
  /** Which way the hand was last told to turn; orders on their way to it; the one it obeys. */
  way: number
  orders: Order[]
  obeys: Order
  /** Levels read since it is at best, dB; null when it is not. */
  held: { readonly sinceS: number; readonly levelsDb: number[] } | null
}

/** Two slugs are peaked in rounds by a hand that knows nothing but the guide's phase, its "turn back" and its "slowly". */
export function peakTwoSlugs(start: readonly [number, number], world: HandWorld, rng: Rng): PeakJob {
  const stepDb = (10 * world.stepWatts) / TOP_WATTS / Math.LN10
  const rule = peakRule({ sigmaDb: world.sigmaDb, latencyS: world.lagS, stepDb })
  const scene: Scene = {
    world,
    rng,
    body: startBody(start, world),
    rounds: startRounds(['DK', 'OK'], ROUND_RULE),
    watch: startPeak(),
    orders: [],
    held: null,
    ...newTool(rng),
  }
  for (let tick = 0; tick * TICK_S < MOST_S; tick++) {
    const atS = tick * TICK_S
    const keyed = keyedAt(world, atS)
    if (liveOn(scene.body, atS, keyed) === 'keyed') {
      scene.watch = resumePeak(scene.watch)
      scene.held = null
      scene.orders = []
    }
    if (!keyed) continue
    turn(scene, atS)
    const watts = meterSays(scene.body, atS, rng)
    if (watts === null) continue
    read(scene, atS, watts, rule)
    if (scene.held && atS - scene.held.sinceS >= HOLD_S) takeToolOut(scene, scene.held.levelsDb)
    if (scene.rounds.done) return jobOf(scene.body, atS, scene.rounds)
  }
  return jobOf(scene.body, MOST_S, scene.rounds)
}

/** The tool goes into the next slug, and the hand turns either way. */
function newTool(rng: Rng): Pick<Scene, 'way' | 'obeys'> {
  const way = rng() < 0.5 ? -1 : 1
  return { way, obeys: { atS: 0, way, moves: true, slowly: false } }
}

function turn(scene: Scene, atS: number): void {
  const { world, body } = scene
  for (let order = scene.orders[0]; order && order.atS <= atS; order = scene.orders[0]) {
    scene.obeys = order
    scene.orders.shift()
  }
  const waitsForReadings = atS < body.nextReadingS - world.everyS
  if (!scene.obeys.moves || waitsForReadings) return
  const turned = (scene.obeys.slowly ? world.slowTurnsPerS : world.turnsPerS) * TICK_S
  turnSlug(body, scene.rounds.next === 'DK' ? 0 : 1, scene.obeys.way * turned)
}

function read(scene: Scene, atS: number, value: number, rule: PeakRule): void {
  const { world, watch: before } = scene
  const watch = watchPeak(before, { atS, value, amps: 0.45 + 0.4 * Math.sqrt(value), heating: true }, rule)
  if (watch.turnBacks !== before.turnBacks) scene.way = -scene.way
  const atBest = watch.phase === 'at best'
  scene.orders.push({ atS: atS + world.reactionS, way: scene.way, moves: !atBest, slowly: watch.slowly })
  scene.held = atBest ? (scene.held ?? { sinceS: atS, levelsDb: [] }) : null
  scene.held?.levelsDb.push(10 * Math.log10(value))
  scene.watch = watch
}

function takeToolOut(scene: Scene, levelsDb: readonly number[]): void {
  const settled = levelsDb.slice(2)
  const level = settled.reduce((sum, one) => sum + one, 0) / settled.length
  scene.rounds = adjusterDone(scene.rounds, level, level - scene.watch.memory.startDb)
  scene.watch = startPeak()
  scene.held = null
  scene.orders = []
  scene.body.way = 0
  Object.assign(scene, newTool(scene.rng))
}

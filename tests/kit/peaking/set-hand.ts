import type { Effect } from '../../../src/core/homing/effect.ts'
import { type SetRule, type SetWatch, setRule, startSet, watchSet } from '../../../src/core/homing/set-to.ts'
import { DWELL_MS } from '../../../src/core/reading/dwell.ts'
import { settleRule } from '../../../src/core/settling/settle-rule.ts'
import { addToSettling, type SettleState, startSettling } from '../../../src/core/settling/settling.ts'
import type { MeterFacts } from '../../../src/schema/kept/reading.ts'
import { normal, type Rng } from '../../../src/system/rng.ts'
import { METER_FACTS } from '../job/meter-facts.ts'

/** One adjuster and the meter that shows what it does; turned in turns, or shares of 270 degrees for a preset. */
export interface SetScene {
  readonly name: string
  readonly facts: MeterFacts
  readonly aimLow: number
  readonly aimHigh: number
  readonly low: number
  readonly high: number
  /** What the set gives with the adjuster at `place`. */
  readonly gives: (place: number) => number
  /** Stops; null for an endless trimmer. */
  readonly stops: readonly [number, number] | null
  /** Where it may be found. */
  readonly found: readonly [number, number]
  /** The first move of a hand that knows nothing, its speed, its play on reversal, its finest step, all in the adjuster's unit. */
  readonly probe: number
  readonly perS: number
  readonly play: number
  readonly finest: number
  /** A detector that falls slowly and whose noise only adds. */
  readonly decayS: number | null
}

export interface SetJob {
  readonly inside: boolean
  readonly finished: boolean
  readonly end: SetWatch['phase']
  readonly overshoots: number
  readonly seconds: number
  readonly words: readonly SetWatch['phase'][]
  readonly watch: SetWatch
}

const TICK_S = 0.05
const REACTION_S = 0.35
const MOVE_ERROR = 0.1
const MOST_S = 180
/** Mean size of a normal deviate, in sigmas. */
const MEAN_OF_SIZE = 0.8
/** A move that shows nothing for so long is made larger, s. */
const NOTHING_S = 2.5

/** One set-to by a hand that goes by the guide's words alone; its first direction is the one it was told, or a guess. */
export function setTo(scene: SetScene, rng: Rng, usual: Effect | null = null): SetJob {
  const { facts } = scene
  const aim = (scene.aimLow + scene.aimHigh) / 2
  const sigma = Math.hypot(facts.noise.floor, facts.noise.ofReading * aim)
  const rule: SetRule = setRule({
    aimLow: scene.aimLow,
    aimHigh: scene.aimHigh,
    sigma,
    step: facts.step,
    latencyS: facts.latencyMs / 1000,
    everyS: facts.everyMs / 1000,
    usual,
  })
  const settling = settleRule({ facts, halfWidth: (scene.high - scene.low) / 2 })
  let place = scene.found[0] + (scene.found[1] - scene.found[0]) * rng()
  const hand = newHand(scene, rng)
  let shown = scene.gives(place)
  let gateSum = 0
  let gateCount = 0
  let nextS = 0
  let watch = startSet()
  let settle: SettleState = startSettling()
  let insideS: number | null = null
  let side = 0
  let overshoots = 0
  const words: SetWatch['phase'][] = []
  const result = (seconds: number, finished: boolean): SetJob => {
    // a detector whose noise only adds reads that much higher, for this hand and for everybody
    const value = scene.gives(place) + (scene.decayS === null ? 0 : MEAN_OF_SIZE * sigma)
    const inside = value >= scene.aimLow && value <= scene.aimHigh
    return { inside, finished, end: watch.phase, overshoots, seconds, words, watch }
  }
  for (let tick = 0; tick * TICK_S < MOST_S; tick++) {
    const atS = tick * TICK_S
    place = hand.move(place, atS)
    const truth = scene.gives(place)
    const beyond = truth < scene.aimLow ? -1 : truth > scene.aimHigh ? 1 : 0
    if (beyond !== 0 && side !== 0 && beyond !== side) overshoots += 1
    if (beyond !== 0) side = beyond
    const tauS =
      scene.decayS !== null && truth < shown ? scene.decayS : facts.gateMs > 0 ? TICK_S : facts.latencyMs / 3000
    shown += (truth - shown) * Math.min(1, TICK_S / Math.max(tauS, TICK_S))
    gateSum += shown
    gateCount += 1
    if (atS < nextS) continue
    nextS += facts.everyMs / 1000
    const level = facts.gateMs > 0 ? gateSum / gateCount : shown
    gateSum = 0
    gateCount = 0
    const noise = sigma * normal(rng)
    const raw = level + (scene.decayS === null ? noise : Math.abs(noise))
    const value = Math.round(raw / facts.step) * facts.step
    watch = watchSet(watch, { atS, value }, rule)
    settle = addToSettling(settle, { atS, value }, settling)
    insideS = value >= scene.aimLow && value <= scene.aimHigh ? (insideS ?? atS) : null
    if (words.at(-1) !== watch.phase) words.push(watch.phase)
    hand.told(watch, atS)
    const dwelt = insideS !== null && (atS - insideS) * 1000 >= DWELL_MS
    if (dwelt && settle.verdict === 'settled') return result(atS, true)
    if (watch.phase === 'cannot reach' || (watch.phase === 'no effect' && hand.givesUp(atS))) return result(atS, false)
  }
  return result(MOST_S, false)
}

/** A hand: what it was told takes a reaction; a hint is made as well as fingers can, and play is felt by half. */
function newHand(scene: SetScene, rng: Rng) {
  const orders: { readonly atS: number; readonly watch: SetWatch }[] = []
  let seen: SetWatch | null = null
  let way: 1 | -1 = rng() < 0.5 ? 1 : -1
  let turnBacks = 0
  let left = 0
  let last = scene.probe
  let since = 0
  let playLeft = scene.play
  let went: 1 | -1 | 0 = 0
  let movedAtS = 0
  let acted: SetWatch | null = null
  let triesAtS: number | null = null

  const start = (size: number, atS: number) => {
    const felt = went !== 0 && way !== went ? scene.play / 2 : 0
    left = Math.max(scene.finest, size * (1 + MOVE_ERROR * (2 * rng() - 1))) + felt
    movedAtS = atS
  }
  const stop = () => {
    left = 0
    if (since > 0) last = since
    since = 0
  }
  const obey = (watch: SetWatch, atS: number) => {
    if (watch.turnBacks !== turnBacks) {
      turnBacks = watch.turnBacks
      way = way === 1 ? -1 : 1
      since = 0
    }
    const news =
      acted?.phase !== watch.phase || acted.moves.length !== watch.moves.length || acted.turnBacks !== watch.turnBacks
    acted = watch
    switch (watch.phase) {
      case 'on':
      case 'other way':
      case 'passed end':
      case 'end':
        if (watch.phase === 'on' || watch.phase === 'passed end' || news) left = Number.POSITIVE_INFINITY
        return
      case 'first':
        if (left > 0 || (!news && atS - movedAtS < NOTHING_S + scene.facts.latencyMs / 1000)) return
        last = movedAtS === 0 ? scene.probe : 2 * last
        since = 0
        return start(last, atS)
      case 'step':
        if (left > 0 || (!news && atS - movedAtS < NOTHING_S + scene.facts.latencyMs / 1000)) return
        if (since > 0) stop()
        return start(last * watch.size, atS)
      case 'no effect':
        triesAtS ??= atS
        if (left > 0 || atS - movedAtS < NOTHING_S) return
        last *= 2
        return start(last, atS)
      default:
        return stop()
    }
  }
  return {
    told: (watch: SetWatch, atS: number) => orders.push({ atS: atS + REACTION_S, watch }),
    givesUp: (atS: number) => triesAtS !== null && atS - triesAtS > 20,
    move: (place: number, atS: number): number => {
      for (let order = orders[0]; order && order.atS <= atS; order = orders[0]) {
        seen = order.watch
        orders.shift()
      }
      if (seen) obey(seen, atS)
      if (left <= 0) return place
      if (way !== went) playLeft = scene.play
      went = way
      const share = seen && seen.phase === 'on' ? 1 : 0.7
      const by = Math.min(left, scene.perS * share * TICK_S)
      left -= by
      const lost = Math.min(playLeft, by)
      playLeft -= lost
      since += by - lost
      const to = place + way * (by - lost)
      if (!scene.stops) return to
      const held = Math.min(scene.stops[1], Math.max(scene.stops[0], to))
      if (held !== to) {
        // a stop is felt: the other way
        left = 0
        way = way === 1 ? -1 : 1
      }
      return held
    },
  }
}

const BASE = { finest: 0.01, decayS: null }

/** The four set-tos of the transmit sheet, with the meters of the simulated bench (equations COMPUTED). */
export const SET_SCENES: readonly SetScene[] = [
  {
    ...BASE,
    name: 'control voltage by a slug',
    facts: METER_FACTS.volts,
    low: 2.2,
    high: 2.6,
    aimLow: 2.4 - 0.2 / 3,
    aimHigh: 2.4 + 0.2 / 3,
    gives: (n) => Math.min(4.7, Math.max(0.3, 2.4 + 0.8 * n + 0.15 * n * n)),
    stops: [-2, 2],
    found: [-1.2, 1.2],
    probe: 0.05,
    perS: 0.12,
    play: 0.03,
  },
  {
    ...BASE,
    name: 'frequency by an endless trimmer, 1 s gate',
    facts: METER_FACTS.counter,
    low: 27_205_000 - 150,
    high: 27_205_000 + 150,
    aimLow: 27_205_000 - 30,
    aimHigh: 27_205_000 + 30,
    gives: (place) => 27_205_000 + 966 * Math.cos(2 * Math.PI * place),
    stops: null,
    found: [0, 1],
    probe: 4 / 360,
    perS: 20 / 360,
    play: 1.5 / 360,
    finest: 0.5 / 360,
  },
  {
    ...BASE,
    name: 'power by a preset',
    facts: { ...METER_FACTS.power, pathLossDb: 0, step: 0.01 },
    low: 3.6,
    high: 4,
    aimLow: 3.8,
    aimHigh: 3.9,
    gives: (pot) => {
      const set = 0.8 + 6.7 * pot
      return 5.53 * (1 + (5.53 / set) ** 16) ** (-1 / 16)
    },
    stops: [0, 1],
    found: [0.1, 1],
    probe: 5 / 270,
    perS: 20 / 270,
    play: 1.5 / 270,
    finest: 1 / 270,
  },
  {
    ...BASE,
    name: 'deviation by a preset, detector that decays in 1 s',
    facts: METER_FACTS.modulation,
    low: 1600,
    high: 1950,
    aimLow: 1800 - 200 / 3,
    aimHigh: 1800 + 50,
    gives: (pot) => 3876 * pot,
    stops: [0, 1],
    found: [0.1, 1],
    probe: 5 / 270,
    perS: 20 / 270,
    play: 1.5 / 270,
    finest: 1 / 270,
    decayS: 1,
  },
]

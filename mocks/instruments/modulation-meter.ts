import { sleep } from '../../src/system/clock.ts'
import { normal, type Rng } from '../../src/system/rng.ts'
import type { Plant } from '../plant/plant.ts'
import { type Measurement, measurement } from '../unit/command-table.ts'
import { createInstrument, type SimulatedInstrument } from '../unit/instrument.ts'
import type { InstrumentSurroundings } from '../unit/line-session.ts'

/**
 * Modulation meter, `TRIMWRIGHT SIMULATED,MODULATION METER,...`.
 *
 * | header | what it does |
 * | --- | --- |
 * | `READ[:SCALar]:FM[:DEViation]?` | after 0.25 s: positive peak, negative peak, both as positive numbers, Hz, NR3 |
 * | `READ[:SCALar]:AM[:DEPTh]?` | after 0.25 s: depth up, depth down, in percent, NR3 |
 * | `MEASure...?`, `FETCh...?` | the same anew; the last again (-230 before the first) |
 *
 * Peak detectors: attack 0.1 s, decay 1 s; their noise only adds (20 to 30 Hz). For 1 s after a carrier appears the
 * readings are rubbish; without a carrier 9.91E+37.
 */
export function createModulationMeter(
  plant: Plant,
  around: InstrumentSurroundings,
  serial: string,
): SimulatedInstrument {
  const sensing = createModulationSensing(plant, around)
  return createInstrument(
    {
      name: 'modmeter',
      kind: 'MODULATION METER',
      serial,
      commands: [...measurement(':FM[:DEViation]?', sensing.fm), ...measurement(':AM[:DEPTh]?', sensing.am)],
      reset: () => {},
    },
    around,
  )
}

/** What measures modulation, whatever box it is in: both peaks of deviation in Hz, depth up and down in percent. */
export function createModulationSensing(
  plant: Plant,
  { clock, rng }: InstrumentSurroundings,
): { readonly fm: Measurement; readonly am: Measurement } {
  const detectors = createModulationDetectors(plant, rng)
  const peaks = (rubbishUpTo: number, shown: () => readonly number[]): Measurement => ({
    digits: 3,
    take: async (signal) => {
      await sleep(clock, EVERY_MS, signal)
      const carrierMs = detectors.carrierMs()
      if (carrierMs === 0) return [Number.NaN, Number.NaN]
      return carrierMs < RUBBISH_MS ? [rng() * rubbishUpTo, rng() * rubbishUpTo] : shown()
    },
  })
  const percent = (ratio: number) => Math.max(0, 100 * (ratio + AM_NOISE * normal(rng)))
  return {
    fm: peaks(RUBBISH_HZ, detectors.deviationHz),
    am: peaks(RUBBISH_PERCENT, () => detectors.depth().map(percent)),
  }
}

/** Peak detectors behind the load: how long there has been a carrier (0: none now), both peaks of deviation, depth up and down as ratios. */
export function createModulationDetectors(
  plant: Plant,
  rng: Rng,
): {
  carrierMs(): number
  deviationHz(): readonly [up: number, down: number]
  depth(): readonly [up: number, down: number]
} {
  const fm = { up: peakDetector(rng, FM_NOISE_HZ), down: peakDetector(rng, FM_NOISE_HZ) }
  const am = { up: peakDetector(rng, 0), down: peakDetector(rng, 0) }
  let carrierMs = 0

  plant.follow((dtMs, during) => {
    if (during.carrierHz === null) {
      carrierMs = 0
      for (const detector of [fm.up, fm.down, am.up, am.down]) detector.clear()
      return
    }
    carrierMs += dtMs
    fm.up.follow(dtMs, during.deviation.up)
    fm.down.follow(dtMs, during.deviation.down)
    am.up.follow(dtMs, during.depth.up)
    am.down.follow(dtMs, during.depth.down)
  })
  return {
    carrierMs: () => {
      plant.observe()
      return carrierMs
    },
    deviationHz: () => [fm.up.level(), fm.down.level()],
    depth: () => [am.up.level(), am.down.level()],
  }
}

/** A peak detector with noise that only adds: its level goes up with 0.1 s and comes down with 1 s. */
function peakDetector(rng: Rng, noise: number) {
  let level = 0
  let added = 0
  let leftMs = 0
  return {
    level: () => level,
    clear: () => {
      level = 0
      leftMs = 0
    },
    follow: (dtMs: number, peak: number) => {
      for (let restMs = dtMs; restMs > 0; ) {
        if (leftMs <= 0) {
          leftMs = NOISE_EVERY_MS
          added = Math.abs(normal(rng)) * noise
        }
        const ms = Math.min(restMs, leftMs)
        const to = peak + added
        level = to + (level - to) * Math.exp(-ms / (to > level ? ATTACK_MS : DECAY_MS))
        leftMs -= ms
        restMs -= ms
      }
    },
  }
}

const EVERY_MS = 250
const ATTACK_MS = 100
const DECAY_MS = 1000
const NOISE_EVERY_MS = 100
/** Size of the noise before the detector, chosen so that the held noise is 20 to 30 Hz. */
const FM_NOISE_HZ = 21
const AM_NOISE = 0.005
const RUBBISH_MS = 1000
const RUBBISH_HZ = 6000
const RUBBISH_PERCENT = 120

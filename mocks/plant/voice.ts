import type { Rng } from '../../src/system/rng.ts'

/** What comes out of the set's own microphone at one moment. */
export interface Sound {
  readonly volts: number
  readonly hz: number
}

/** Somebody at the set's own microphone. Sounds last a syllable each, whoever looks how often. */
export interface Voice {
  sound(whistling: boolean): Sound
  /** Until the next sound, ms; more than 0 after `sound`. */
  leftMs(): number
  /** `dtMs` further. */
  pass(dtMs: number): void
}

/**
 * Whistling and loud speech close by: 8 to 80 mV, with a breath now and then, so that the limiter works. Otherwise the
 * workshop alone: 0.1 to 0.4 mV, a tenth of the deviation (levels: common practice).
 */
export function createVoice(rng: Rng): Voice {
  let sound: Sound = { volts: 0, hz: 1000 }
  let loud = false
  let leftMs = 0
  return {
    sound: (whistling) => {
      if (leftMs > 0 && loud === whistling) return sound
      loud = whistling
      leftMs = SYLLABLE_MS
      const breath = rng() < BREATH_SHARE
      const volts = !whistling ? 0.1e-3 * 4 ** rng() : breath ? 0.5e-3 : 8e-3 * 10 ** rng()
      sound = { volts, hz: 350 * 6 ** rng() }
      return sound
    },
    leftMs: () => leftMs,
    pass: (dtMs) => {
      leftMs -= dtMs
      if (leftMs < LEAST_MS) leftMs = 0
    },
  }
}

const SYLLABLE_MS = 150
const BREATH_SHARE = 0.2
const LEAST_MS = 1e-3

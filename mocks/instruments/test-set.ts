import type { Plant } from '../plant/plant.ts'
import {
  booleanPair,
  type Command,
  choicePair,
  type Measurement,
  measurement,
  numberPair,
  type Refusal,
} from '../unit/command-table.ts'
import { createInstrument, type SimulatedInstrument } from '../unit/instrument.ts'
import type { InstrumentSurroundings } from '../unit/line-session.ts'
import { resetTone, toneCommands } from './audio-oscillator.ts'
import { createCounting } from './counter.ts'
import { createModulationSensing } from './modulation-meter.ts'
import { createPowerSensing } from './power-meter.ts'

/** What lies between the set's aerial socket and the box, dB: one lead. */
export const LEAD_LOSS_DB = 0.2

type BoxFunction = 'COUN' | 'POW' | 'MOD'

/**
 * Communications test set, `TRIMWRIGHT SIMULATED,TEST SET,...`: several instruments in a box on one link, one measuring at a time.
 *
 * | header | what it does |
 * | --- | --- |
 * | `INSTrument[:SELect] COUNter\|POWer\|MODulation`, `...?` | the function that measures; a change takes 1 s, and what is read meanwhile is 9.91E+37; COUN after reset |
 * | `READ`, `MEASure`, `FETCh` of `[:VOLTage]:FREQuency?` (COUN), `:POWer[:AC]?` (POW), `:FM[:DEViation]?`, `:AM[:DEPTh]?` (MOD) | as in the boxes of their own; -221 in another function; FETCh before the first reading since the change is -230 |
 * | `[:SENSe]:FREQuency:APERture`, `UNIT:POWer` | as in the boxes of their own; DBM and 0.1 s after power-on |
 * | `SOURce1:FREQuency[:CW] Hz`, `SOURce1:POWer[:LEVel][:IMMediate][:AMPLitude] DBM`, `OUTPut1[:STATe]` | the RF generator, on the socket that also measures: off, 27 MHz, -100 dBm after reset |
 * | `SOURce2:FREQuency[:CW] Hz`, `SOURce2:VOLTage[:LEVel][:IMMediate][:AMPLitude] V`, `OUTPut2[:STATe]` | the audio generator to the microphone socket; runs beside any function |
 *
 * While the RF generator is on nothing is measured at its socket: 9.91E+37. It is not switched on against a carrier (-221); a carrier
 * that comes while it is on switches it off and queues -240.
 */
export function createTestSet(
  plant: Plant,
  around: InstrumentSurroundings,
  timebasePpm: number,
  serial: string,
): SimulatedInstrument {
  const { clock } = around
  const counting = createCounting(plant, around, timebasePpm, 'testset')
  const power = createPowerSensing(plant, around, { lossDb: LEAD_LOSS_DB, stepWatts: STEP_WATTS })
  const modulation = createModulationSensing(plant, around)
  const generator = new Generator(plant)
  let selected: BoxFunction = 'COUN'
  let readyMs = Number.NEGATIVE_INFINITY
  let readSince = new Set<Measurement>()

  const select = (to: BoxFunction) => {
    if (to === selected) return
    selected = to
    readSince = new Set()
    readyMs = clock.nowMs() + CHANGE_MS
  }
  /** A measurement as the box allows it: in its function only, nothing while the function changes or the generator feeds the socket. */
  const inFunction = (own: BoxFunction, inner: Measurement): Measurement => {
    const meter: Measurement = {
      digits: inner.digits,
      take: async (signal) => {
        const early = clock.nowMs() < readyMs
        const taken = await inner.take(signal)
        if (early || generator.on) return taken.map(() => Number.NaN)
        readSince.add(meter)
        return taken
      },
      refuses: (fresh) => {
        if (selected !== own) return -221
        return fresh || readSince.has(meter) ? undefined : -230
      },
    }
    return meter
  }

  return createInstrument(
    {
      name: 'testset',
      kind: 'TEST SET',
      serial,
      commands: [
        ...functionCommands(() => selected, select),
        ...measurement('[:VOLTage]:FREQuency?', inFunction('COUN', counting.meter)),
        ...measurement(':POWer[:AC]?', inFunction('POW', power.meter)),
        ...measurement(':FM[:DEViation]?', inFunction('MOD', modulation.fm)),
        ...measurement(':AM[:DEPTh]?', inFunction('MOD', modulation.am)),
        ...counting.commands,
        ...power.commands,
        ...generatorCommands(generator),
        ...toneCommands(plant, { source: 'SOURce2', output: 'OUTPut2' }),
      ],
      befallen: () => generator.befallen(),
      reset: () => {
        select('COUN')
        generator.reset()
        counting.reset()
        power.reset()
        resetTone(plant)
      },
      wake: () => {
        power.wake()
        counting.wake()
      },
    },
    around,
  )
}

/** The RF generator on the socket that also measures. */
class Generator {
  readonly #plant: Plant
  hz = GENERATOR_HZ
  dbm = GENERATOR_DBM
  #on = false
  #fedBack = false

  constructor(plant: Plant) {
    this.#plant = plant
    plant.follow((_dtMs, { carrierHz }) => {
      if (carrierHz === null || !this.#on) return
      this.#on = false
      this.#fedBack = true
    })
  }

  get on(): boolean {
    return this.#on
  }

  /** Not against a carrier. */
  feed(on: boolean): Refusal {
    if (on && this.#plant.observe().carrierHz !== null) return -221
    this.#on = on
  }

  /** A carrier has come since the last message and switched it off. */
  befallen(): readonly number[] {
    this.#plant.observe()
    const codes = this.#fedBack ? [-240] : []
    this.#fedBack = false
    return codes
  }

  reset(): void {
    this.hz = GENERATOR_HZ
    this.dbm = GENERATOR_DBM
    this.#on = false
  }
}

function generatorCommands(generator: Generator): readonly Command[] {
  return [
    ...numberPair('SOURce1:FREQuency[:CW]', {
      unit: 'HZ',
      low: 100e3,
      high: 1e9,
      preset: GENERATOR_HZ,
      digits: 9,
      get: () => generator.hz,
      set: (hz): undefined => {
        generator.hz = hz
      },
    }),
    ...numberPair('SOURce1:POWer[:LEVel][:IMMediate][:AMPLitude]', {
      unit: 'dBm',
      low: -130,
      high: 0,
      preset: GENERATOR_DBM,
      digits: 3,
      get: () => generator.dbm,
      set: (dbm): undefined => {
        generator.dbm = dbm
      },
    }),
    ...booleanPair(
      'OUTPut1[:STATe]',
      () => generator.on,
      (on) => generator.feed(on),
    ),
  ]
}

/** The long words stand for the short ones, as everywhere; the box answers with the short ones. */
function functionCommands(get: () => BoxFunction, select: (to: BoxFunction) => void): readonly Command[] {
  const words = ['COUN', 'COUNTER', 'POW', 'POWER', 'MOD', 'MODULATION'] as const
  return choicePair('INSTrument[:SELect]', words, get, (word) => select(SHORT[word]))
}

const SHORT = { COUN: 'COUN', COUNTER: 'COUN', POW: 'POW', POWER: 'POW', MOD: 'MOD', MODULATION: 'MOD' } as const

const CHANGE_MS = 1000
/** What the power function resolves. */
const STEP_WATTS = 1e-3
const GENERATOR_HZ = 27e6
const GENERATOR_DBM = -100

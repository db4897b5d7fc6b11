import { sleep } from '../../src/system/clock.ts'
import type { Plant } from '../plant/plant.ts'
import type { SimulatedInstrument } from '../unit/instrument.ts'
import { type InstrumentSurroundings, serveLines } from '../unit/line-session.ts'
import { createPowerHead } from './power-meter.ts'

/**
 * Power meter in line with the load, older than any standard for such things. Serial line, a carriage return ends message and reply.
 *
 * | message | what it does |
 * | --- | --- |
 * | `I` | `TRIMWRIGHT SIMULATED OLDER POWER METER SIM0008` |
 * | `R` | a reading after 0.4 s, ten characters: status, two blanks, six columns of number, unit |
 * | `F` | holds the display: each reading is the held one, with the letter H; `G` lets it go |
 *
 * `N  003.85W` normal; below 1 W in milliwatts `N  0850.0m`; `O  ------W` above 100 W; `U  ------m` below 5 mW with a carrier there;
 * `S  ------W` no signal; `H  003.85W` held. Anything else is answered with `?`. There is no error queue and nothing to ask again.
 */
export function createOlderPowerMeter(
  plant: Plant,
  around: InstrumentSurroundings,
  serial: string,
): SimulatedInstrument {
  const { clock, rng, faults } = around
  const name = 'wattmeter'
  const identity = `TRIMWRIGHT SIMULATED OLDER POWER METER ${serial}`
  const head = createPowerHead(plant, rng, 0, LAG_MS)
  let held: string | null = null
  let last = ''

  const read = async (signal: AbortSignal): Promise<string> => {
    await sleep(clock, EVERY_MS, signal)
    if (held !== null) return `H${held.slice(1)}`
    const watts = head.watts()
    if (faults.strikes(name, 'blank')) return ''
    if (faults.strikes(name, 'overrange')) return OVER
    if (last !== '' && faults.strikes(name, 'frozen value')) return last
    last = shownAs(watts, plant.observe().carrierHz !== null)
    return last
  }
  const perform = async (message: string, signal: AbortSignal): Promise<string | null> => {
    switch (message.trim()) {
      case '':
        return null
      case 'I':
        return identity
      case 'R':
        return read(signal)
      case 'F':
        held = last === '' ? await read(signal) : last
        return null
      case 'G':
        held = null
        return null
      default:
        return '?'
    }
  }
  const wake = () => {
    held = null
    last = ''
  }
  const served = serveLines({ name, around, end: '\r', perform, overrun: () => {} })
  return {
    name,
    identity,
    attach: served.attach,
    powerCycle: () => {
      served.hangUp()
      wake()
    },
    restart: () => {
      served.drop()
      wake()
    },
  }
}

/** The ten characters for a power, W. */
export function shownAs(watts: number, carrier: boolean): string {
  if (watts > FULL_SCALE_WATTS) return OVER
  if (watts < LEAST_WATTS) return carrier ? 'U  ------m' : 'S  ------W'
  return watts < 1 ? `N  ${(watts * 1000).toFixed(1).padStart(6, '0')}m` : `N  ${watts.toFixed(2).padStart(6, '0')}W`
}

const OVER = 'O  ------W'
const FULL_SCALE_WATTS = 100
const LEAST_WATTS = 5e-3
const EVERY_MS = 400
const LAG_MS = 150

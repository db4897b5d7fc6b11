import { printText } from '../../quantity/print-value.ts'
import { said, type Words } from '../../words/said/said.ts'

/**
 * How a set's supply current follows its RF power, as its sheet gives it: I = idle + k root P. Data of the set, never a constant
 * of the program.
 */
export interface CurrentLaw {
  /** With the transmitter on and no power out. */
  readonly idleAmps: number
  readonly ampsPerRootWatt: number
  /** How far the current of a healthy set may lie off the law, a ratio. */
  readonly within: number
}

export interface PowerSeen {
  readonly watts: number
  readonly amps: number
}

/** Power and supply current, both already measured, held against each other. */
export interface CurrentCheck {
  /** A that belong to the power shown. */
  readonly expectedAmps: number
  /** W that belong to the current drawn: 0 where it is under the idle current. */
  readonly impliedWatts: number
  /** Of the current, a ratio of what was expected: above 0 where it is high. */
  readonly off: number
  /** "" where they fit. */
  readonly words: Words
}

/** Holds the power at the meter against the current drawn: power lost behind the final stage still draws its current. With 10 % it sees a loss of 1.4 dB near 4 W; less hides in the law's own spread. */
export function powerAgainstCurrent({ watts, amps }: PowerSeen, law: CurrentLaw): CurrentCheck {
  const expectedAmps = law.idleAmps + law.ampsPerRootWatt * Math.sqrt(Math.max(0, watts))
  const impliedWatts = (Math.max(0, amps - law.idleAmps) / law.ampsPerRootWatt) ** 2
  const off = amps / expectedAmps - 1
  // a limit that is met to the last digit is met
  const fits = Math.abs(off) <= law.within + 1e-12
  const both = { implied: about(impliedWatts), shown: about(watts) }
  const words = off > 0 ? said('radio.current-high', both) : said('radio.current-low', both)
  return { expectedAmps, impliedWatts, off, words: fits ? '' : words }
}

const about = (watts: number) => printText(watts, 'W', 0.1)

/** How the power follows the supply, as ratios of the power at the higher supply to that at the lower: data of the set. */
export interface SupplyLaw {
  /** With the power loop limiting at the higher supply. */
  readonly held: number
  /** With the loop open or the stage at its end. */
  readonly open: number
}

/** Tells a power loop that holds from a stage without reserve, by the powers (W) at two supplies; "" where it holds. */
export function reserveWords(highWatts: number, lowWatts: number, law: SupplyLaw): Words {
  const ratio = highWatts / lowWatts
  // the place half way between the two, in dB
  if (!(ratio > Math.sqrt(law.held * law.open))) return ''
  return said('radio.no-reserve', { high: printText(highWatts, 'W', 0.01), low: printText(lowWatts, 'W', 0.01) })
}

export interface ControlSeen {
  readonly channel: number
  readonly transmitHz: number
  readonly volts: number
}

/** Control volts must rise with the frequency (not with the channel's number, which is out of order in places); "" where they do, else which channels do not fit. */
export function controlWords(seen: readonly ControlSeen[], leastRiseVolts = 0): Words {
  const sorted = seen.toSorted((a, b) => a.transmitHz - b.transmitHz)
  const at = sorted.findIndex((one, index) => {
    const before = sorted[index - 1]
    return before && one.transmitHz > before.transmitHz && one.volts - before.volts <= leastRiseVolts
  })
  const low = sorted[at - 1]
  const high = sorted[at]
  if (!low || !high) return ''
  return said('radio.control-not-rising', {
    low: printText(low.volts, 'V', 0.01),
    lowChannel: low.channel,
    high: printText(high.volts, 'V', 0.01),
    highChannel: high.channel,
  })
}

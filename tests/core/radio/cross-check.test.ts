import { describe, expect, test } from 'vitest'
import {
  type CurrentLaw,
  controlWords,
  powerAgainstCurrent,
  reserveWords,
} from '../../../src/core/radio/cross-check.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import set from '../../reference/invented_set.json' with { type: 'json' }

const { idle_amps: idleAmps, amps_per_root_watt: ampsPerRootWatt, within } = set.current_law
const law: CurrentLaw = { idleAmps, ampsPerRootWatt, within }

describe('power against supply current, I = 0.45 + 0.40 root P within 10 %', () => {
  test.each(set.power_and_current)('$what: $watts W and $amps A fit: $fits', ({ watts, amps, fits }) => {
    expect(powerAgainstCurrent({ watts, amps }, law).words === '').toBe(fits)
  })

  test('3 dB lost behind the detector: the current says what the power should have been', () => {
    const check = powerAgainstCurrent({ watts: 1.87, amps: 1.22 }, law)
    expect(sentence(check.words)).toBe('the current says about 3.7 W, the meter 1.9 W: path loss, relay or meter?')
    expect(check.impliedWatts).toBeCloseTo(3.706, 3)
    expect(check.expectedAmps).toBeCloseTo(0.997, 3)
    expect(check.off).toBeCloseTo(0.2237, 4)
  })

  test('more power than the current can make suspects the path loss as typed', () => {
    expect(sentence(powerAgainstCurrent({ watts: 5, amps: 1.07 }, law).words)).toBe(
      'the current says about 2.4 W, the meter 5.0 W: path loss typed too large, or one of the meters?',
    )
  })

  test('the law is data: another set, another answer to the same readings', () => {
    const other = { idleAmps: 0.3, ampsPerRootWatt: 0.56, within: 0.05 }
    expect(sentence(powerAgainstCurrent({ watts: 5, amps: 1.56 }, other).words)).toBe('')
    expect(sentence(powerAgainstCurrent({ watts: 5, amps: 1.56 }, law).words)).not.toBe('')
  })

  test('the edge of the 10 % is still inside, 10.1 % is not', () => {
    expect(sentence(powerAgainstCurrent({ watts: 4, amps: 1.1 * 1.25 }, law).words)).toBe('')
    expect(sentence(powerAgainstCurrent({ watts: 4, amps: 1.101 * 1.25 }, law).words)).not.toBe('')
    expect(sentence(powerAgainstCurrent({ watts: 4, amps: 0.9 * 1.25 }, law).words)).toBe('')
    expect(sentence(powerAgainstCurrent({ watts: 4, amps: 0.899 * 1.25 }, law).words)).not.toBe('')
  })

  test('what it cannot see: a loss of 1.3 dB at 3.67 W passes, one of 1.5 dB does not', () => {
    const amps = 0.45 + 0.4 * Math.sqrt(3.67)
    expect(sentence(powerAgainstCurrent({ watts: 3.67 * 10 ** -0.13, amps }, law).words)).toBe('')
    expect(sentence(powerAgainstCurrent({ watts: 3.67 * 10 ** -0.15, amps }, law).words)).not.toBe('')
  })

  test('a current below the idle one means no power, a power below 0 (zero error) counts as none', () => {
    expect(powerAgainstCurrent({ watts: 2, amps: 0.3 }, law).impliedWatts).toBe(0)
    expect(sentence(powerAgainstCurrent({ watts: -0.01, amps: 0.45 }, law).words)).toBe('')
  })
})

describe('power at two supplies', () => {
  test.each(set.two_supplies)('$what: $high W and $low W, the loop holds: $holds', ({ high, low, holds }) => {
    expect(reserveWords(high, low, set.supply_law) === '').toBe(holds)
  })

  test('the place between held and open is half way in dB: 1.22 holds, 1.24 does not', () => {
    expect(reserveWords(1.22, 1, set.supply_law)).toBe('')
    expect(reserveWords(1.24, 1, set.supply_law)).not.toBe('')
  })

  test('says what is seen', () => {
    expect(sentence(reserveWords(3.64, 2.37, set.supply_law))).toBe(
      '3.64 W falls to 2.37 W with the supply, as if nothing held it: no reserve, or the power loop is open?',
    )
  })
})

describe('control volts rise with the channel', () => {
  const seen = (key: 'receive' | 'transmit') =>
    set.control_volts.map((one) => ({ channel: one.channel, transmitHz: one.hz, volts: one[key] }))

  test.each(['receive', 'transmit'] as const)('of the invented set in %s, in whatever order they were read', (key) => {
    expect(controlWords(seen(key).toReversed())).toBe('')
  })

  test('a loop that is not locked at the low end is named by its channels', () => {
    const unlocked = seen('transmit').map((one) => (one.channel === 1 ? { ...one, volts: 4.7 } : one))
    expect(sentence(controlWords(unlocked))).toBe(
      'the control voltage does not rise with the channel: 4.70 V on 1, 2.60 V on 20. Unlocked at one end?',
    )
  })

  test('by frequency, not by number: 23 is above 24 and 25', () => {
    const by = (channel: number, transmitHz: number, volts: number) => ({ channel, transmitHz, volts })
    expect(controlWords([by(23, 27_255_000, 2.7), by(24, 27_235_000, 2.6), by(25, 27_245_000, 2.65)])).toBe('')
    expect(sentence(controlWords([by(23, 27_255_000, 2.6), by(24, 27_235_000, 2.7)]))).toMatch(
      /2\.70 V on 24, 2\.60 V on 23/,
    )
  })

  test('the same volts on two channels do not rise, and a least rise can be asked for; one channel twice says nothing', () => {
    const by = (channel: number, transmitHz: number, volts: number) => ({ channel, transmitHz, volts })
    expect(controlWords([by(1, 26_965_000, 0.3), by(40, 27_405_000, 0.3)])).not.toBe('')
    expect(controlWords([by(1, 26_965_000, 1.6), by(40, 27_405_000, 1.7)], 0.5)).not.toBe('')
    expect(controlWords([by(1, 26_965_000, 1.6), by(1, 26_965_000, 1.6)])).toBe('')
    expect(controlWords([])).toBe('')
  })
})

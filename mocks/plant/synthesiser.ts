import type { RadioParameters } from './parameters.ts'

/** Control voltage of the synthesiser, V, clipped to the rails (3.1). `slugTurns` from the right place, `riseKelvin` from 25 deg C. */
export function controlVolts(
  radio: RadioParameters,
  channelHz: number,
  transmit: boolean,
  slugTurns: number,
  riseKelvin = 0,
): number {
  const henry = radio.coilHenry * (1 + radio.coilPerTurn * slugTurns) * (1 + radio.coilPerKelvin * riseKelvin)
  const oscillatorHz = transmit ? channelHz / 2 : channelHz - radio.firstIfHz
  const needFarad =
    1 / ((2 * Math.PI * oscillatorHz) ** 2 * henry) - radio.fixedFarad - (transmit ? radio.transmitFarad : 0)
  if (needFarad <= 0) return radio.railHighVolts
  const volts = radio.varactorVolts * ((radio.varactorFarad / needFarad) ** (1 / radio.varactorExponent) - 1)
  return Math.min(Math.max(volts, radio.railLowVolts), radio.railHighVolts)
}

/** At either rail the loop is out of lock and the transmitter is held off. */
export function isLocked(radio: RadioParameters, volts: number): boolean {
  return volts > radio.railLowVolts && volts < radio.railHighVolts
}

/** A band that two keys held at power-on select in the simulated set. */
export type BandId = 'cept' | 'de-low' | 'uk'

interface Band {
  readonly first: number
  readonly last: number
  readonly hz: (channel: number) => number
  /**
   * Farad taken out of (negative) the synthesiser's fixed and transmit capacitors in this band, so that its middle is
   * back at 2.40 V receive and 2.60 V transmit. 0 where the set manages without.
   */
  readonly fixedFarad: number
  readonly transmitFarad: number
}

/** The simulated set's own memory of the 40 European channels, kHz: five gaps, and 23 to 25 out of order. */
const CEPT_KHZ = [
  26965, 26975, 26985, 27005, 27015, 27025, 27035, 27055, 27065, 27075, 27085, 27105, 27115, 27125, 27135, 27155, 27165,
  27175, 27185, 27205, 27215, 27225, 27255, 27235, 27245, 27265, 27275, 27285, 27295, 27305, 27315, 27325, 27335, 27345,
  27355, 27365, 27375, 27385, 27395, 27405,
] as const

const BANDS: Readonly<Record<BandId, Band>> = {
  cept: { first: 1, last: 40, hz: (n) => (CEPT_KHZ[n - 1] ?? Number.NaN) * 1e3, fixedFarad: 0, transmitFarad: 0 },
  'de-low': { first: 41, last: 80, hz: (n) => 26.565e6 + 1e4 * (n - 41), fixedFarad: 0, transmitFarad: 0 },
  uk: { first: 1, last: 40, hz: (n) => 27.60125e6 + 1e4 * (n - 1), fixedFarad: -5.216e-12, transmitFarad: 0.454e-12 },
}

export const BAND_IDS = Object.keys(BANDS) as readonly string[] as readonly BandId[]

/** Whether something names a band of the simulated set. */
export function isBandId(value: unknown): value is BandId {
  return typeof value === 'string' && Object.hasOwn(BANDS, value)
}

/** First and last channel of a band. */
export function bandOf(id: BandId): Band {
  return BANDS[id]
}

/** Nominal frequency of a channel, Hz; TypeError outside the band. */
export function channelHz(id: BandId, channel: number): number {
  const band = BANDS[id]
  if (!Number.isInteger(channel) || channel < band.first || channel > band.last)
    throw new TypeError(`channel ${channel} is not in band ${id}`)
  return band.hz(channel)
}

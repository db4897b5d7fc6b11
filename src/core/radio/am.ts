/** AM depth as a ratio from the highest and the lowest of the envelope, in any one unit of voltage: (max - min)/(max + min). */
export function depthOf(highest: number, lowest: number): number {
  return (highest - lowest) / (highest + lowest)
}

/** Depth upward as a ratio: how far the envelope rises above the carrier. Above 1 where it more than doubles. */
export function depthUp(highest: number, carrier: number): number {
  return highest / carrier - 1
}

/** Depth downward as a ratio: how far the envelope falls below the carrier; 1 where it is cut off. */
export function depthDown(carrier: number, lowest: number): number {
  return 1 - lowest / carrier
}

/** Peak envelope power, W, of a carrier in W that is modulated this far upward: Pc (1 + m)^2. */
export function pepWatts(carrierWatts: number, up: number): number {
  return carrierWatts * (1 + up) ** 2
}

/** The carrier, W, of a peak envelope power in W at this depth upward. */
export function carrierWatts(pep: number, up: number): number {
  return pep / (1 + up) ** 2
}

/**
 * Depth upward as a ratio from peak envelope power and carrier, both in W; also the room upward that a stage leaves which can give
 * `pep` at its best. Not below 0: a carrier at or above what the stage can give has no room.
 */
export function upFromPep(pep: number, carrier: number): number {
  return Math.max(0, Math.sqrt(pep / carrier) - 1)
}

/** Mean power, W, of a carrier modulated by a tone: Pc (1 + m^2/2). */
export function modulatedWatts(carrier: number, depth: number): number {
  return carrier * (1 + depth ** 2 / 2)
}

/** Depth of a tone as a ratio from the mean powers with and without it, both in W: root of 2 (P/Pc - 1). NaN where the power falls with modulation. */
export function depthFromPower(withTone: number, carrier: number): number {
  return Math.sqrt(2 * (withTone / carrier - 1))
}

/** Each sideband of a tone, dB against the carrier: 20 lg(m/2). */
export function sidebandDb(depth: number): number {
  return 20 * Math.log10(depth / 2)
}

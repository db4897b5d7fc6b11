const OHM = 50

/** Power in dB over 1 mW. 0 W gives -Infinity; a negative power (a power meter's zero error) gives NaN. */
export function wattsToDbm(watts: number): number {
  return dbRatio(watts, 1e-3)
}

/** W of a power in dBm. */
export function dbmToWatts(dbm: number): number {
  return 10 ** ((dbm - 30) / 10)
}

/** 10 lg of two powers in the same unit, dB. -Infinity when the first is 0, NaN when it is negative. */
export function dbRatio(power: number, referencePower: number): number {
  return 10 * Math.log10(power / referencePower)
}

/** V at a matched input for a generator's e.m.f. in V: half of it, 6.02 dB less. */
export function pdFromEmf(emfVolts: number): number {
  return emfVolts / 2
}

/** V r.m.s. across 50 ohm (p.d.) of a level in dBm: U = sqrt(P R). */
export function dbmToPd(dbm: number): number {
  return Math.sqrt(dbmToWatts(dbm) * OHM)
}

/** dBm of V r.m.s. across 50 ohm (p.d.): P = U^2 / R. 0 V gives -Infinity. */
export function pdToDbm(volts: number): number {
  return wattsToDbm((volts * volts) / OHM)
}

import type { Quantity } from '../../src/quantity/quantity.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { Plant } from '../plant/plant.ts'
import { createModulationDetectors } from './modulation-meter.ts'
import { createPowerHead } from './power-meter.ts'

/** What a person reads off meters without a socket now, by quantity, as it would be written down. */
export type Displays = () => Readonly<Partial<Record<Quantity, string>>>

/** Quantities that such a meter can be had for. */
export const DISPLAYED = ['RF power', 'FM deviation', 'AM depth'] as const
type Displayed = (typeof DISPLAYED)[number]

/** Whether a quantity can be read off a simulated meter without a socket. */
export function isDisplayed(quantity: string): quantity is Displayed {
  return DISPLAYED.some((name) => name === quantity)
}

/**
 * Meters without a socket, coupled to the plant like all others: a power meter with a pointer in line with the load (read to 0.05 W,
 * half a division), and a modulation meter of three digits that shows both peaks (10 Hz; 1 %). "---": nothing there.
 */
export function createDisplays(plant: Plant, rng: Rng, quantities: readonly Displayed[]): Displays {
  const shows = quantities.map((quantity) => [quantity, meterOf(quantity, plant, rng)] as const)
  return () => Object.fromEntries(shows.map(([quantity, show]) => [quantity, show()]))
}

function meterOf(quantity: Displayed, plant: Plant, rng: Rng): () => string {
  if (quantity === 'RF power') {
    const pointer = createPowerHead(plant, rng, 0, POINTER_LAG_MS)
    return () => `${(Math.round(pointer.watts() / POINTER_STEP_WATTS) * POINTER_STEP_WATTS).toFixed(2)} W`
  }
  const detectors = createModulationDetectors(plant, rng)
  return () => {
    if (detectors.carrierMs() < LOCKS_MS) return '---'
    const [up, down] = quantity === 'FM deviation' ? detectors.deviationHz() : detectors.depth()
    const pair = (scale: number, digits: number) =>
      `${(up * scale).toFixed(digits)} / ${(down * scale).toFixed(digits)}`
    return quantity === 'FM deviation' ? `${pair(1e-3, 2)} kHz` : `${pair(100, 0)} %`
  }
}

const POINTER_LAG_MS = 300
const POINTER_STEP_WATTS = 0.05
const LOCKS_MS = 1000

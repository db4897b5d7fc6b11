import type { Rng } from '../../src/system/rng.ts'

/** Labels on the simulated set's transmit side. */
export const ADJUSTERS = ['VK', 'RT', 'DK', 'OK', 'PW', 'PC', 'PM', 'PD'] as const
export type Adjuster = (typeof ADJUSTERS)[number]

/** Coils (VK, DK, OK) in turns from the right place, RT in turns (endless), presets 0..1 for 0..270 degrees. */
export type Positions = Readonly<Record<Adjuster, number>>

/** How an adjuster feels: a slug between two stops, a trimmer without end, a preset of 270 degrees. */
export type Travel =
  | { readonly kind: 'coil' | 'preset'; readonly low: number; readonly high: number }
  | { readonly kind: 'endless' }

/** What each adjuster is and how far it goes, in its own unit. */
export const TRAVEL: Readonly<Record<Adjuster, Travel>> = {
  VK: { kind: 'coil', low: -2, high: 2 },
  RT: { kind: 'endless' },
  DK: { kind: 'coil', low: -3, high: 3 },
  OK: { kind: 'coil', low: -3, high: 3 },
  PW: { kind: 'preset', low: 0, high: 1 },
  PC: { kind: 'preset', low: 0, high: 1 },
  PM: { kind: 'preset', low: 0, high: 1 },
  PD: { kind: 'preset', low: 0, high: 1 },
}

/** Where everything is right: the aims of the sheet, warm, at 23 deg C. */
export const RIGHT: Positions = { VK: 0, RT: 0.2096, DK: 0, OK: 0, PW: 0.455, PC: 0.348, PM: 0.74, PD: 0.46 }

/** The healthy set as it arrives (invented), as tests/reference/plant.json has it; PC and PM a little off. */
export const ARRIVES: Positions = { VK: 0.3, RT: 0.143, DK: 0.35, OK: -0.4, PW: 0.478, PC: 0.398, PM: 0.69, PD: 0.58 }

/** Whether something is an adjuster's label. */
export function isAdjuster(value: unknown): value is Adjuster {
  return typeof value === 'string' && (ADJUSTERS as readonly string[]).includes(value)
}

/** Another healthy set: each adjuster's distance from the right place made 50 to 150 % of the usual. */
export function randomised(rng: Rng): Positions {
  const off = (label: Adjuster) => RIGHT[label] + (ARRIVES[label] - RIGHT[label]) * (0.5 + rng())
  return {
    VK: off('VK'),
    RT: off('RT'),
    DK: off('DK'),
    OK: off('OK'),
    PW: off('PW'),
    PC: off('PC'),
    PM: off('PM'),
    PD: off('PD'),
  }
}

/** Where an adjuster ends up when turned by `by`; it stops at its stops. */
export function turned(label: Adjuster, from: number, by: number): number {
  const travel = TRAVEL[label]
  return travel.kind === 'endless' ? from + by : Math.min(Math.max(from + by, travel.low), travel.high)
}

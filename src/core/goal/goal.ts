import type { Quantity } from '../../quantity/quantity.ts'
import type { Target } from '../../quantity/target.ts'
import type { AimWindow } from '../../schema/files/step-file.ts'
import type { Band } from '../uncertainty/band.ts'
import type { Step } from './step.ts'

/** What one quantity is held against. Three bands, never one: aim window, tolerance band, rule limit. */
export type Goal =
  | {
      readonly kind: 'band'
      readonly band: Band
      readonly aimLow: number
      readonly aimHigh: number
      /** The rule limit's own edges; null where there is none. Shown and stored, never aimed at. */
      readonly rule: { readonly low: number | null; readonly high: number | null } | null
    }
  | { readonly kind: 'peak'; readonly dip: boolean }

/** A target with "channel" put in numbers. `channelHz` null: the channel's frequency is not known, and an `around channel` target has no band yet; nor has one too wide for a number. */
export function goalOf(
  target: Target,
  channelHz: number | null,
  more: { readonly aim: AimWindow | null; readonly rule: { low: number | null; high: number | null } | null },
): Goal | null {
  switch (target.kind) {
    case 'maximum':
    case 'minimum':
      return { kind: 'peak', dip: target.kind === 'minimum' }
    case 'around channel': {
      if (channelHz === null) return null
      const half = target.as === 'Hz' ? target.plusMinus : target.plusMinus * channelHz
      if (!Number.isFinite(half)) return null
      const band = { low: channelHz - half, high: channelHz + half, aim: channelHz }
      return { kind: 'band', band, ...aimOf(band, more.aim, channelHz), rule: more.rule }
    }
    case 'band': {
      const centre = more.aim === null ? target.aim : more.aim.centre === 'channel' ? channelHz : more.aim.centre
      const band = { low: target.low, high: target.high, aim: centre }
      return { kind: 'band', band, ...aimOf(band, more.aim, channelHz), rule: more.rule }
    }
    default:
      return target satisfies never
  }
}

/** Where no aim window is written, the middle third of the band is aimed at; an open band has its whole good side. */
function aimOf(band: Band, aim: AimWindow | null, channelHz: number | null): { aimLow: number; aimHigh: number } {
  if (aim) {
    const centre = aim.centre === 'channel' ? channelHz : aim.centre
    // 3.85 less 0.05 is 3.80, and a typed 3.80 lies inside
    const edge = (value: number) => Number(value.toPrecision(12))
    if (centre !== null) return { aimLow: edge(centre - aim.plusMinus), aimHigh: edge(centre + aim.plusMinus) }
  }
  const { low, high } = band
  if (low === null || high === null) return { aimLow: low ?? -Infinity, aimHigh: high ?? Infinity }
  const centre = band.aim ?? (low + high) / 2
  return { aimLow: centre - (centre - low) / 3, aimHigh: centre + (high - centre) / 3 }
}

/** The goal of the step's main quantity; null for one that measures nothing. */
export function goalOfStep(step: Step, channelHz: number | null): Goal | null {
  if (step.target === null) return null
  return goalOf(step.target, channelHz, { aim: step.aim, rule: step.rule })
}

/** Every quantity the step judges, main one first. */
export function quantitiesOf(step: Step): readonly Quantity[] {
  return step.quantity === null ? [] : [step.quantity, ...step.also.map((also) => also.quantity)]
}

/** The goal of one quantity of a step: of the main one with aim window and rule limit, of one read beside it its bare target; null where the step does not read it. */
export function goalOfQuantity(step: Step, quantity: Quantity, channelHz: number | null): Goal | null {
  const also = step.also.find((other) => other.quantity === quantity)
  if (also) return goalOf(also.target, channelHz, { aim: null, rule: null })
  return step.quantity === quantity ? goalOfStep(step, channelHz) : null
}

/** What a peak is judged by where the sheet says what to expect of it. */
export function expectedGoal(expect: { readonly low: number; readonly high: number }): Goal {
  const band = { low: expect.low, high: expect.high, aim: (expect.low + expect.high) / 2 }
  return { kind: 'band', band, aimLow: expect.low, aimHigh: expect.high, rule: null }
}

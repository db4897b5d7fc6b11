import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import { said, type Words } from '../../words/said/said.ts'
import { inVolts, type Refusal, reached } from './keeper-limits.ts'
import type { Plan, Step } from './keeper-state.ts'

/** The first output with a radio on it: enough to see a reversed plug or a short, too little to harm. V, A, ms. */
export const SNIFF = {
  volts: 3,
  amps: 0.1,
  /** From here on current counts as flowing; a sound radio below its working voltage draws half of it. */
  flowsAmps: 0.08,
  /** Capacitors at the radio's input fill up during this. */
  settleMs: 200,
  /** A sound radio is let through after this, and after this many good looks running. */
  forMs: 300,
  looks: 2,
  /** Volts that have not come up by then never will; below this share they count as missing. */
  riseMs: 700,
  riseShare: 0.8,
} as const

/** What an output that has never been tried goes on with: never more than what is wanted of it, V and A. */
export function sniffAt(target: { readonly volts: number; readonly amps: number }): { volts: number; amps: number } {
  return { volts: Math.min(SNIFF.volts, target.volts), amps: Math.min(SNIFF.amps, target.amps) }
}

/** What one look at the first output means: how many good ones ran so far, or why nothing more is put on. Pure. */
export function sniffed(step: Extract<Step, { do: 'sniff' }>, plan: Plan, back: SupplyReadBack): number | Refusal {
  const sinceMs = back.beganMs - plan.sinceMs
  const flows = back.regulation === 'current' || back.amps >= step.amps * (SNIFF.flowsAmps / SNIFF.amps)
  if (flows && sinceMs >= SNIFF.settleMs)
    return shorted(said('keeper.short', { amps: `${back.amps.toFixed(2)} A`, volts: inVolts(step.volts) }))
  if (sinceMs >= SNIFF.riseMs && back.volts < step.volts * SNIFF.riseShare)
    return shorted(said('keeper.no-rise', { volts: inVolts(back.volts), ordered: inVolts(step.volts) }))
  return !flows && reached(step.volts, back.volts) ? plan.looks + 1 : 0
}

/** Whether the first output has been seen long enough. */
export function sniffedEnough(looks: number, plan: Plan, back: SupplyReadBack): boolean {
  return looks >= SNIFF.looks && back.beganMs - plan.sinceMs >= SNIFF.forMs
}

function shorted(words: Words): Refusal {
  return { code: 'KEEPER_SHORT', words }
}

/** The steps from an output proved off to one that has been tried and is off again; `trip` sets the supply's own trip, where it has one. */
export function sniffSteps(
  trip: readonly Step[],
  target: { readonly volts: number; readonly amps: number },
  setVolts: number,
): readonly Step[] {
  const first = sniffAt(target)
  const down: readonly Step[] = setVolts > first.volts ? [{ do: 'act', act: { do: 'volts', volts: first.volts } }] : []
  return [
    { do: 'act', act: { do: 'amps', amps: first.amps } },
    ...down,
    ...trip,
    { do: 'act', act: { do: 'volts', volts: first.volts } },
    { do: 'agree', volts: first.volts, amps: first.amps },
    { do: 'act', act: { do: 'on' } },
    { do: 'sniff', volts: first.volts, amps: first.amps },
    { do: 'act', act: { do: 'off' } },
    { do: 'prove off' },
  ]
}

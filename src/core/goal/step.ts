import type { MeasuredStep } from '../../schema/files/step-file.ts'

/** A step as the job does it; one that is only done or written down measures nothing. */
export type Step = Omit<MeasuredStep, 'kind' | 'quantity' | 'target' | 'technique'> & {
  readonly quantity: MeasuredStep['quantity'] | null
  readonly target: MeasuredStep['target'] | null
  readonly technique: MeasuredStep['technique'] | 'do' | 'settings'
}

/** The step is keyed at one of its stops. */
export function isKeyed(step: Step): boolean {
  return step.stops.some(({ state }) => state === 'transmit')
}

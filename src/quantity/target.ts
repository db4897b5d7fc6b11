import type { Unit } from './quantity.ts'

/**
 * What a step or a watch wants of a reading, as a person wrote it.
 * `band`: null on one side means open there ("<= 0.5 uV"). `around channel`: centred on the frequency of the channel in use.
 */
export type Target =
  | {
      readonly kind: 'band'
      readonly unit: Unit
      readonly low: number | null
      readonly high: number | null
      readonly aim: number | null
    }
  | { readonly kind: 'around channel'; readonly plusMinus: number; readonly as: 'Hz' | 'ratio' }
  | { readonly kind: 'maximum' }
  | { readonly kind: 'minimum' }

import { reflectionOf } from '../uncertainty/mismatch.ts'

/** Standing wave ratio of a reflection of size 0 up to, not including, 1. */
export function vswrOf(reflection: number): number {
  if (!(reflection >= 0 && reflection < 1))
    throw new TypeError(`no standing wave ratio of a reflection of ${reflection}`)
  return (1 + reflection) / (1 - reflection)
}

/** Return loss, dB, at a standing wave ratio of 1 or more: how far what comes back lies under what goes out. Infinity at 1. */
export function returnLossDb(vswr: number): number {
  return -20 * Math.log10(reflectionOf(vswr))
}

/** Standing wave ratio at a return loss in dB, above 0. */
export function vswrFromReturnLoss(db: number): number {
  return vswrOf(10 ** (-db / 20))
}

/** Standing wave ratio from forward and reflected power in the same unit. */
export function vswrFromPowers(forward: number, reflected: number): number {
  return vswrOf(Math.sqrt(reflected / forward))
}

/** Share of the power that a load of this standing wave ratio sends back, lost to it. */
export function sentBack(vswr: number): number {
  return reflectionOf(vswr) ** 2
}

import { BENCH } from './bench.ts'
import { CAUTION } from './caution.ts'
import { FAULT } from './fault.ts'
import { GUIDE } from './guide.ts'
import { JOB } from './job.ts'
import { KEEPER_WORDS } from './keeper.ts'
import { LINK } from './link.ts'
import { NAMES } from './names.ts'
import { PLAN } from './plan.ts'
import { RADIO } from './radio.ts'

/**
 * The dictionary: each sentence of the program under its code. `{place}` is filled when it is said; `{^place}` with a capital letter first.
 * Another language has the same codes and the same places. Codes are never renamed and never used for another meaning.
 */
export const ENGLISH = {
  ...BENCH,
  ...FAULT,
  ...CAUTION,
  ...GUIDE,
  ...JOB,
  ...NAMES,
  ...PLAN,
  ...RADIO,
  ...KEEPER_WORDS,
  ...LINK,
} as const satisfies Readonly<Record<string, string>>

export type Code = keyof typeof ENGLISH
export type Template<C extends Code> = (typeof ENGLISH)[C]

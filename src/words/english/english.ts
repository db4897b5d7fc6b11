import { BENCH } from './bench.ts'
import { CAUTION } from './caution.ts'
import { COMMAND } from './command.ts'
import { COURSE } from './course.ts'
import { FAULT } from './fault.ts'
import { FILE } from './file.ts'
import { GUIDE } from './guide.ts'
import { JOB } from './job.ts'
import { KEEPER_WORDS } from './keeper.ts'
import { LINK } from './link.ts'
import { NAMES } from './names.ts'
import { PLAN } from './plan.ts'
import { RADIO } from './radio.ts'
import { RECORD } from './record.ts'
import { REPORT } from './report.ts'

/**
 * The dictionary: each sentence of the program under its code. `{place}` is filled when it is said; `{^place}` with a capital letter first.
 * Another language has the same codes and the same places. Codes are never renamed and never used for another meaning.
 */
export const ENGLISH = {
  ...BENCH,
  ...CAUTION,
  ...COMMAND,
  ...COURSE,
  ...FAULT,
  ...FILE,
  ...GUIDE,
  ...JOB,
  ...NAMES,
  ...PLAN,
  ...RADIO,
  ...KEEPER_WORDS,
  ...LINK,
  ...RECORD,
  ...REPORT,
} as const satisfies Readonly<Record<string, string>>

export type Code = keyof typeof ENGLISH
export type Template<C extends Code> = (typeof ENGLISH)[C]

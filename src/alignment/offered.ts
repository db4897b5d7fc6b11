import type { Procedure } from '../schema/files/procedure-file.ts'
import type { RuleCard } from '../schema/files/rule-card.ts'
import type { Words } from '../words/said/said.ts'

/** A procedure that can be started, under the name of its file. */
export interface Offered {
  readonly file: string
  readonly procedure: Procedure
  /** The file as it was read. */
  readonly text: string
}

/** A file that is not offered, since it is wrong: where, and what would be right, a line each. */
export interface WrongFile {
  readonly file: string
  readonly words: readonly Words[]
}

/** A rule card that can be chosen, under the name of its file. */
export interface OfferedCard {
  readonly file: string
  readonly card: RuleCard
  readonly text: string
}

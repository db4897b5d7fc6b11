import type { Evidence } from '../../schema/kept/evidence.ts'
import { type Said, said } from '../../words/said/said.ts'
import { type Band, judge, judgeParts, type Verdict } from './band.ts'

/** How a value is accepted: chosen before measuring, stored and printed. */
export type DecisionRule = Evidence['decision']

/** Where a value with its doubt lies, best first (ILAC-G8:09/2019 4.2: pass, conditional pass, conditional fail, fail). */
export const ANSWERS = ['in and clear', 'in but touching', 'out but touching', 'out and clear'] as const
export type Answer = (typeof ANSWERS)[number]

export interface Decision {
  readonly rule: DecisionRule
  /** Where the value lies, its doubt left aside. */
  readonly verdict: Verdict
  /** null for a value that was not read. */
  readonly answer: Answer | null
  readonly accepted: boolean
  /** For the report. */
  readonly words: string
}

/** One value, or several parts of one (both peaks), of which the worst counts; with the expanded uncertainty, in the unit of the band. */
export interface Judged {
  readonly value: number | null
  readonly parts?: readonly (number | null)[]
  readonly uncertainty: number
}

/** Decides by the rule. The edges of the band, and of the guarded one, are inside. */
export function decide(rule: DecisionRule, { value, parts = [], uncertainty }: Judged, band: Band): Decision {
  const all = [value, ...parts]
  const verdict = judgeParts(all, band)
  const answer = verdict === 'unread' ? null : worstAnswer(all, uncertainty, band)
  const accepted = verdict === 'inside' && (rule !== 'guarded acceptance' || answer === 'in and clear')
  return { rule, verdict, answer, accepted, words: wordsOf(rule, verdict, answer) }
}

/** In or out of the band, and clear of its edges by the uncertainty or not; null for no number. */
export function answerOf(value: number | null, uncertainty: number, band: Band): Answer | null {
  const verdict = judge(value, band)
  if (value === null || verdict === 'unread') return null
  const least = judge(value - uncertainty, band)
  const most = judge(value + uncertainty, band)
  if (verdict === 'inside') return least === 'inside' && most === 'inside' ? 'in and clear' : 'in but touching'
  return least === most && least === verdict ? 'out and clear' : 'out but touching'
}

function worstAnswer(values: readonly (number | null)[], uncertainty: number, band: Band): Answer | null {
  const answers = values.map((value) => answerOf(value, uncertainty, band))
  return ANSWERS.findLast((answer) => answers.includes(answer)) ?? null
}

/** The rule in one sentence, for page and record. */
export function ruleWords(rule: DecisionRule): Said {
  switch (rule) {
    case 'simple acceptance':
      return said('rule.simple')
    case 'guarded acceptance':
      return said('rule.guarded')
    case 'four answers':
      return said('rule.four-answers')
    default:
      return rule satisfies never
  }
}

function wordsOf(rule: DecisionRule, verdict: Verdict, answer: Answer | null): string {
  if (answer === null || verdict === 'unread') return 'unread'
  const where = verdict === 'inside' ? 'inside' : `outside, too ${verdict}`
  if (rule === 'four answers') return verdict === 'inside' ? answer : `${answer}, too ${verdict}`
  if (rule === 'guarded acceptance' && answer === 'in but touching') return 'inside, but not by its doubt: no pass'
  return where
}

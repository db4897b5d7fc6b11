import type { Captured, Mark } from '../../schema/messages/live-frame.ts'
import { joined } from '../../words/said/lists.ts'
import { said, sameWords, type Words } from '../../words/said/said.ts'
import type { KnownEffect } from '../homing/effect.ts'
import type { Kept } from '../reading/capture.ts'
import type { Job, StepResult } from './state/job-types.ts'

/** What is written down of a job as it goes: one line each in its journal. */
export type JobEntry =
  | ({ readonly kind: 'captured' } & Kept)
  | {
      readonly kind: 'step'
      readonly step: string
      readonly pass: Captured['pass']
      readonly state: StepResult['state']
      readonly reason: Words
    }
  | {
      readonly kind: 'setting'
      readonly name: string
      readonly column: 'found' | 'job' | 'left'
      readonly value: string
      readonly reason: string
    }
  | { readonly kind: 'answered'; readonly question: Words; readonly answer: string }
  /** Captured values that a person took back: they stay and count for nothing. */
  | { readonly kind: 'taken back'; readonly numbers: readonly number[] }
  | ({ readonly kind: 'mark' } & Omit<Mark, 'words'>)
  | { readonly kind: 'explained'; readonly mark: number; readonly words: string }
  | { readonly kind: 'event'; readonly what: string; readonly words: Words }
  | { readonly kind: 'supply'; readonly resting: 'normal' | 'safe'; readonly why: Words }
  | {
      readonly kind: 'closed'
      readonly keyDownS: number
      readonly why: Words
      /** What the adjusters are known to do, for later jobs on sets of this type. */
      readonly effects: readonly KnownEffect[]
    }

/** Told to the page only: a record of every new best and key-down tick would hide what matters. */
const PASSING: ReadonlySet<string> = new Set([
  'new best',
  'passed over',
  'key now',
  'release key',
  'key down 70',
  'key down 90',
  'captured',
  'step done',
])

/** What one event changed that has to be written down, captured values aside: they are written before they count. */
export function entriesBetween(before: Job, after: Job): readonly JobEntry[] {
  if (before === after) return []
  return [
    ...settingEntries(before, after),
    ...answers(before, after),
    ...cautionsRead(before, after),
    ...takenBack(before, after),
    ...marksBetween(before, after),
    ...closedFound(before, after),
    ...stepEntries(before, after),
    ...eventEntries(before, after),
  ]
}

/** The answer under which a caution that a person went on from is written down. */
export const CAUTION_SEEN = 'caution seen'

function cautionsRead(before: Job, after: Job): readonly JobEntry[] {
  if (before.cautionsSeen === after.cautionsSeen) return []
  return after.cautionsSeen
    .slice(before.cautionsSeen.length)
    .map((question) => ({ kind: 'answered' as const, question, answer: CAUTION_SEEN }))
}

function takenBack(before: Job, after: Job): readonly JobEntry[] {
  if (before.captured === after.captured) return []
  const numbers = after.captured.flatMap(({ number, takenBack: is }, at) =>
    is === true && before.captured[at]?.takenBack !== true ? [number] : [],
  )
  return numbers.length === 0 ? [] : [{ kind: 'taken back', numbers }]
}

function marksBetween(before: Job, after: Job): readonly JobEntry[] {
  if (before.marks === after.marks) return []
  return after.marks.flatMap(({ words, ...is }, at): readonly JobEntry[] => {
    const was = before.marks[at]
    const made: readonly JobEntry[] = was ? [] : [{ kind: 'mark', ...is }]
    return words === (was?.words ?? '') ? made : [...made, { kind: 'explained', mark: is.number, words }]
  })
}

function stepEntries(before: Job, after: Job): readonly JobEntry[] {
  if (before.results === after.results) return []
  return after.plan.lines.flatMap(({ step, pass }, at) => {
    const is = after.results[at]
    const was = before.results[at]
    if (!is || (is.state === was?.state && sameWords(is.reason, was.reason))) return []
    return [{ kind: 'step' as const, step: step.id, pass, state: is.state, reason: is.reason }]
  })
}

function settingEntries(before: Job, after: Job): readonly JobEntry[] {
  if (before.settings === after.settings) return []
  return after.settings.flatMap((is, at) => {
    const was = before.settings[at]
    return (['found', 'job', 'left'] as const).flatMap((column) =>
      is[column] === was?.[column] && (column !== 'left' || is.reason === was.reason)
        ? []
        : [
            {
              kind: 'setting' as const,
              name: is.name,
              column,
              value: is[column],
              reason: column === 'left' ? is.reason : '',
            },
          ],
    )
  })
}

export const FOUND_CLOSED = 'as found closed'

/** From the first turn on, whatever comes of it. */
function closedFound(before: Job, after: Job): readonly JobEntry[] {
  if (before.turned || !after.turned) return []
  const hands = joined(after.open.step.adjust, 'list.and')
  return [{ kind: 'event', what: FOUND_CLOSED, words: said('job.found-closed', { hands }) }]
}

/** Answers to what is asked before a value that is far out is kept. */
export const KEPT_AS_IT_IS = 'kept as it is'
export const READ_AGAIN = 'read again'

/** Something to do by hand was confirmed, or a question about a value was answered. */
function answers(before: Job, after: Job): readonly JobEntry[] {
  const { phase } = before
  if (phase.name === 'question') {
    const { ask, why } = phase
    const question = said('question.asked-of-step', { question: ask, title: before.open.step.title, why })
    if (after.phase.name === 'keeping') return [{ kind: 'answered', question, answer: KEPT_AS_IT_IS }]
    const again = after.phase.name === 'read' && after.at === before.at
    return again ? [{ kind: 'answered', question, answer: READ_AGAIN }] : []
  }
  if (phase.name !== 'action') return []
  const confirmed =
    before.open.step.technique === 'do'
      ? after.results[before.at]?.state === 'done'
      : after.at === before.at && after.open.actions.length < before.open.actions.length
  return confirmed ? [{ kind: 'answered', question: phase.words, answer: 'done' }] : []
}

function eventEntries(before: Job, after: Job): readonly JobEntry[] {
  if (before.events === after.events) return []
  const last = before.events.at(-1)?.seq ?? 0
  return after.events
    .filter(({ seq, what }) => seq > last && !PASSING.has(what))
    .map(({ what, words }) => ({ kind: 'event' as const, what, words }))
}

import type { FromPage, Mark } from '../../../schema/messages/live-frame.ts'
import { said } from '../../../words/said/said.ts'
import { readingView } from '../../guidance/gauge.ts'
import { markLatest } from '../../reading/capture.ts'
import type { Job } from '../state/job-types.ts'
import { change, setResult, type Turn, tell, turn } from '../state/turn.ts'
import { openAtStop } from './read-again.ts'

/** How long a capture may be taken back, ms. */
const TAKE_BACK_MS = 5000

/** Until when the newest capture can still be taken back, bench ms; null where it cannot: long ago, something stopped, or of a pass that is closed by now. */
export function takeBackUntilMs({ lastKept, nowMs, phase, plan, turned }: Job): number | null {
  if (!lastKept || nowMs - lastKept.atMs > TAKE_BACK_MS) return null
  if (phase.name === 'keeping' || phase.name === 'stopped') return null
  return plan.lines[lastKept.at]?.pass === 'found' && turned ? null : lastKept.atMs + TAKE_BACK_MS
}

/**
 * The newest capture was a mistake: it stays written down and counts for nothing, and its step is open again where it was read, at the
 * normal voltage. A step that trims the supply is read again from its first stop.
 */
export function takeBack(job: Job): Turn {
  const { lastKept } = job
  if (!lastKept) return turn(job)
  const { numbers, at } = lastKept
  const captured = markLatest(
    job.captured.map((one) => (numbers.includes(one.number) ? { ...one, takenBack: true as const } : one)),
  )
  const taken = job.taken.slice(0, -numbers.length)
  const back = change(turn(job), { captured, taken, lastKept: null })
  const opened = openAtStop(setResult(back, at, 'to do'), at, lastKept.stopAt)
  const title = job.captured.find(({ number }) => number === numbers[0])?.title ?? opened.job.open.step.title
  return tell(opened, 'note', said('step.taken-back', { title }))
}

/** More marks than anybody explains. */
export const MOST_MARKS = 200

/** This moment, with what the meter shows, for words that come later. */
export function mark(job: Job): Turn {
  const [main] = job.open.measured
  const shown = main && job.phase.name === 'work' ? readingView(main.live, main.rule, job.nowMs) : null
  const reading = shown ? (shown.word === '' ? `${shown.digits} ${shown.unit}` : shown.word) : ''
  const marked = { number: job.marks.length + 1, at: job.wall, title: job.open.step.title, reading, words: '' }
  return change(turn(job), { marks: [...job.marks, marked] })
}

/** What a mark was about. */
export function explain(job: Job, asked: Extract<FromPage, { kind: 'explain' }>): Turn {
  return change(turn(job), { marks: explained(job.marks, asked.mark, asked.words.trim()) })
}

export function explained(marks: readonly Mark[], number: number, words: string): readonly Mark[] {
  return marks.map((one) => (one.number === number ? { ...one, words } : one))
}

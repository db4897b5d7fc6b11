import { said } from '../../../words/said/said.ts'
import type { Turn } from '../state/turn.ts'
import { changeOpen } from '../state/turn.ts'
import { openAt } from './job-steps.ts'
import { stopOf } from './step-open.ts'

/** The line is opened again where it was read, at the normal voltage. A step that trims the supply is read again from its first stop. */
export function openAtStop(before: Turn, at: number, readAt: number): Turn {
  const opened = openAt(before, at)
  const { plan, effects, open } = opened.job
  const stopAt = open.step.adjust.includes('supply') ? 0 : readAt
  const stop = stopOf(plan, open.step, stopAt, effects)
  const unseen = stopAt > 0 && stop.stop.state === 'receive' && stop.channel
  const actions = unseen ? [said('job.set-channel', { channel: stop.channel?.channel ?? '' })] : open.actions
  return changeOpen(opened, { ...stop, actions })
}

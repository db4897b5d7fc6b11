import type { FromPage } from '../schema/live-frame.ts'
import { arm, capture, openAt, openNext } from './job-steps.ts'
import type { Job } from './job-types.ts'
import { cannotDo } from './step-open.ts'
import { change, changeOpen, enter, type Turn, tell, turn, want } from './turn.ts'

export interface Asked {
  readonly turn: Turn
  readonly answer: { readonly ok: boolean; readonly words: string }
}

const done = (after: Turn, words: string): Asked => ({ turn: after, answer: { ok: true, words } })
const refused = (job: Job, words: string): Asked => ({ turn: turn(job), answer: { ok: false, words } })

/** What a page or the hand asks of a job: done, or refused in words with nothing changed. */
export function request(job: Job, asked: FromPage): Asked {
  const { phase } = job
  switch (asked.kind) {
    case 'ready':
      return phase.name === 'read' ? ready(job) : refused(job, 'there is no step waiting to be started')
    case 'confirm':
      if (phase.name !== 'action') return refused(job, 'there is nothing to confirm')
      return done(arm(changeOpen(turn(job), { acted: true })), 'done')
    case 'capture': {
      if (phase.name !== 'work') return refused(job, 'nothing is being measured')
      const after = capture(turn(job), asked.by)
      return after.job.captured === job.captured
        ? refused(job, 'too few readings count yet: three are needed')
        : done(after, 'captured')
    }
    case 'next':
      if (phase.name !== 'done')
        return refused(job, 'the step is not done; open another, or leave it out with a reason')
      if (job.key.keyed) return refused(job, 'release the key first')
      return done(openNext(turn(job)), 'next step')
    case 'open step': {
      if (phase.name === 'stopped') return refused(job, 'the supply is off: say "go on" first')
      const at = job.plan.procedure.steps.findIndex((step) => step.id === asked.step)
      if (at < 0) return refused(job, `there is no step "${asked.step}" in this procedure`)
      const results = job.results.map((result, index) =>
        index === at ? { state: 'to do' as const, reason: '' } : result,
      )
      return done(openAt(change(turn(job), { results }), at), 'opened')
    }
    case 'leave out':
      return leaveOut(job, asked.step, asked.reason)
    case 'stop': {
      const why = 'stopped by hand'
      const stopped = tell(
        want(change(turn(job), { armed: null }), { kind: 'safe', why }, { kind: 'tone off' }),
        'stopped',
        'Supply off: stopped by hand.',
      )
      return done(enter(stopped, { name: 'stopped', words: why }), 'supply off')
    }
    case 'go on':
      if (phase.name !== 'stopped' && phase.name !== 'paused') return refused(job, 'nothing is stopped or paused')
      return done(
        openAt(change(turn(job), { armed: null }), job.at),
        'the step is open again; nothing is switched on until you are ready',
      )
    case 'close job':
      return done(
        enter(want(turn(job), { kind: 'safe', why: 'the job was closed' }, { kind: 'tone off' }), { name: 'finished' }),
        'closed',
      )
    case 'here':
    case 'watch':
    case 'supply on':
    case 'start job':
    case 'steer':
    case 'hand over':
      return refused(job, `"${asked.kind}" is not for a running job`)
    default:
      return asked satisfies never
  }
}

function ready(job: Job): Asked {
  const because = cannotDo(job)
  if (because !== '') return refused(job, `${because}: leave the step out with a reason, or add an instrument`)
  if (job.open.step.before !== '' && !job.open.acted)
    return done(enter(turn(job), { name: 'action' }), job.open.step.before)
  return done(arm(turn(job)), 'arming')
}

function leaveOut(job: Job, id: string, reason: string): Asked {
  const at = job.plan.procedure.steps.findIndex((step) => step.id === id)
  if (at < 0) return refused(job, `there is no step "${id}" in this procedure`)
  const results = job.results.map((result, index) => (index === at ? { state: 'left out' as const, reason } : result))
  const after = change(turn(job), { results })
  const here = at === job.at && job.phase.name !== 'stopped' && job.phase.name !== 'finished'
  return done(here ? openNext(after) : after, 'left out')
}

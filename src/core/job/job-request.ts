import type { FromPage } from '../../schema/messages/live-frame.ts'
import { said, sameWords, type Words } from '../../words/said/said.ts'
import { isKeyed } from '../goal/step.ts'
import { type Line, turnsSomething } from '../plan/lines.ts'
import { LOAD_QUESTION } from '../plan/usual-cautions.ts'
import type { Job } from './state/job-types.ts'
import { change, changeOpen, enter, setResult, type Turn, turn, want } from './state/turn.ts'
import { seeCautions } from './steps/cautions.ts'
import {
  arm,
  beginAfresh,
  capture,
  finishLine,
  finishWait,
  keep,
  NOBODY_STEERS,
  openAt,
  openNext,
  stopFor,
} from './steps/job-steps.ts'
import { explain, MOST_MARKS, mark, takeBack, takeBackUntilMs } from './steps/marks.ts'
import { openAtStop } from './steps/read-again.ts'
import { cannotDo } from './steps/step-open.ts'
import { timeOutsOf } from './steps/time-outs.ts'
import { mayBeWarm } from './steps/warming.ts'
import { stopAnswer } from './stop-answer.ts'

export interface Asked {
  readonly turn: Turn
  readonly answer: { readonly ok: boolean; readonly words: Words }
}

const done = (after: Turn, words: Words): Asked => ({ turn: after, answer: { ok: true, words } })
const refused = (job: Job, words: Words): Asked => ({ turn: turn(job), answer: { ok: false, words } })

/** What a page or the hand asks of a job: done, or refused in words with nothing changed. */
export function request(job: Job, asked: FromPage): Asked {
  const { phase } = job
  switch (asked.kind) {
    case 'ready':
      if (phase.name === 'settings') return settingsDone(job)
      return phase.name === 'read' ? ready(job) : refused(job, said('answer.no-step-waiting'))
    case 'confirm':
      if (mayBeWarm(job)) return done(finishWait(turn(job), WARM_ALREADY), WARM_ALREADY)
      return phase.name === 'action' ? confirm(job) : refused(job, said('answer.nothing-to-confirm'))
    case 'note setting':
      return noteSetting(job, asked)
    case 'capture': {
      if (phase.name !== 'work') return refused(job, said('answer.not-measuring'))
      const after = capture(turn(job), asked.by)
      if (after.job.phase.name === 'work') return refused(job, said('answer.too-few'))
      return done(after, after.job.phase.name === 'question' ? after.job.phase.ask : said('answer.captured'))
    }
    case 'next':
      if (phase.name !== 'done') return refused(job, said('answer.step-not-done-open'))
      if (job.key.keyed) return refused(job, said('answer.release-key'))
      return done(openNext(turn(job)), said('answer.next-step'))
    case 'keep':
      if (phase.name !== 'question') return refused(job, said('answer.nothing-asked'))
      return job.key.keyed
        ? refused(job, said('answer.release-key'))
        : done(keep(turn(job), phase.taken), said('answer.kept-as-it-is'))
    case 'again':
      if (phase.name !== 'done' && phase.name !== 'question') return refused(job, said('answer.step-not-done'))
      if (job.key.keyed) return refused(job, said('answer.release-key'))
      if (phase.name === 'question')
        return done(openAtStop(turn(job), job.at, job.open.stopAt), said('answer.read-again'))
      return request(job, { ...asked, kind: 'open step', step: job.plan.lines[job.at]?.id ?? '' })
    case 'open step': {
      if (phase.name === 'stopped') return refused(job, said('answer.go-on-first'))
      const at = job.plan.lines.findIndex((line) => line.id === asked.step)
      if (at < 0) return refused(job, said('answer.no-step', { step: asked.step }))
      const line = job.plan.lines[at]
      if (line?.pass === 'found' && line.step.quantity !== null && job.turned)
        return refused(job, said('answer.found-closed'))
      return done(beginAfresh(turn(job), at), said('answer.opened'))
    }
    case 'leave out':
      return leaveOut(job, asked.step, asked.reason)
    case 'stop':
      return done(stopFor(turn(job), said('job.stopped-by-hand')), stopAnswer(job.supply?.output))
    case 'go on':
      if (phase.name !== 'stopped' && phase.name !== 'paused') return refused(job, said('answer.nothing-stopped'))
      return done(openAt(change(turn(job), { armed: null }), job.at), said('answer.open-again'))
    case 'close job':
      return closeJob(job)
    case 'take back':
      return takeBackUntilMs(job) !== null
        ? done(takeBack(job), said('answer.taken-back'))
        : refused(job, said('answer.nothing-to-take-back'))
    case 'mark':
      return job.marks.length < MOST_MARKS
        ? done(mark(job), said('answer.marked'))
        : refused(job, said('answer.enough-marks', { most: MOST_MARKS }))
    case 'explain':
      return asked.mark <= job.marks.length
        ? done(explain(job, asked), said('answer.written-down'))
        : refused(job, said('answer.no-mark', { number: asked.mark }))
    case 'here':
    case 'watch':
    case 'supply on':
    case 'start job':
    case 'steer':
    case 'hand over':
    case 'reopen job':
    case 'type in':
    case 'keep course':
      return refused(job, said('answer.not-for-a-job', { request: asked.kind }))
    default:
      return asked satisfies never
  }
}

const WARM_ALREADY = said('job.warm-as-chosen')

function ready(job: Job): Asked {
  const because = cannotDo(job)
  if (because !== '') return refused(job, said('answer.cannot-do', { why: because }))
  const first = mustComeFirst(job)
  if (first !== '') return refused(job, first)
  const seen = askedForLoad(seeCautions(turn(job)))
  const [action] = seen.job.open.actions
  if (action !== undefined) return done(enter(seen, { name: 'action', words: action }), action)
  return armed(job, arm(seen), said('answer.arming'))
}

/** Nothing is raised for somebody who is not there. */
function armed(job: Job, after: Turn, words: Words): Asked {
  return after.job.phase.name === 'paused' ? refused(job, NOBODY_STEERS) : done(after, words)
}

/** What a line waits for: as found before the first turn, the load question before the first key-down; "" when it need not wait. */
function mustComeFirst(job: Job): Words {
  const { plan, results, at } = job
  const line = plan.lines[at]
  const toDo = (wanted: (line: Line) => boolean) =>
    plan.lines.filter((other, index) => index !== at && results[index]?.state === 'to do' && wanted(other))
  if (line && turnsSomething(line)) {
    const found = toDo(({ pass, step }) => pass === 'found' && step.quantity !== null)
    if (found.length > 0) return said('answer.found-first', { steps: found.map(({ step }) => step.title) })
  }
  if (isKeyed(job.open.step) && !job.open.step.firstKey && toDo(({ step }) => step.firstKey).length > 0)
    return said('answer.first-key-first')
  return ''
}

/** No key goes down in a job before somebody has said that the load is on; a procedure may ask for it by itself at its first key-down. */
function askedForLoad(before: Turn): Turn {
  const { job } = before
  const { plan, results, at, open } = job
  const asks = plan.lines.some(
    ({ step }, index) => step.firstKey && (index === at ? step.before !== '' : results[index]?.state === 'done'),
  )
  if (asks || job.loadIsOn || !isKeyed(open.step)) return before
  return changeOpen(before, {
    actions: [LOAD_QUESTION, ...open.actions],
  })
}

function confirm(job: Job): Asked {
  const { open } = job
  if (open.step.technique === 'do') return done(finishLine(seeCautions(turn(job))), said('answer.done'))
  const [did = '', ...actions] = open.actions
  const loadIsOn = job.loadIsOn || sameWords(did, LOAD_QUESTION)
  const acted = changeOpen(change(turn(job), { loadIsOn }), { actions })
  const [next] = actions
  if (next !== undefined) return done(enter(acted, { name: 'action', words: next }), next)
  if (!job.armed) return armed(job, arm(acted), said('answer.done'))
  return done(want(enter(acted, { name: 'work' }), { kind: 'raise epoch', cause: 'hand' }), said('answer.done'))
}

function noteSetting(job: Job, asked: Extract<FromPage, { kind: 'note setting' }>): Asked {
  const before = job.settings.find(({ name }) => name === asked.name)
  if (!before) return refused(job, said('answer.no-setting', { setting: asked.name }))
  if (asked.column === 'found' && job.turned && before.found !== '') return refused(job, said('answer.found-closed'))
  const value = asked.value.trim()
  const written = { ...before, [asked.column]: value }
  const after = {
    ...written,
    job: asked.column === 'found' && before.job === '' ? value : written.job,
    reason: asked.column === 'left' ? (asked.reason ?? '').trim() : before.reason,
  }
  const settings = job.settings.map((one) => (one === before ? after : one))
  const noted = change(turn(job), { settings })
  return done(changeOpen(noted, { timeOuts: timeOutsOf(noted.job) }), said('answer.written-down'))
}

/** Settings that stand in the way of going on: nothing written yet, or left other than found without a reason. */
function unsettled(job: Job, column: 'found' | 'left'): Words {
  const missing = job.settings.filter((one) => one[column] === '')
  if (missing.length > 0) return said('answer.not-written-down', { settings: missing.map(({ name }) => name) })
  if (column === 'found') return ''
  const differs = job.settings.filter((one) => one.left !== one.found && one.reason === '')
  if (differs.length === 0) return ''
  const settings = differs.map(({ name, found, left }) =>
    said('answer.setting-differs', { setting: name, found, left }),
  )
  return said('answer.left-other', { settings })
}

function settingsDone(job: Job): Asked {
  const because = unsettled(job, job.open.pass === 'left' ? 'left' : 'found')
  return because === '' ? done(finishLine(turn(job)), said('answer.written-down')) : refused(job, because)
}

/** A job closes at any time, but not past a settings list that is not in order; leaving that list out with a reason is a way. */
function closeJob(job: Job): Asked {
  const list = job.plan.lines.findIndex(({ step, pass }) => step.technique === 'settings' && pass === 'left')
  const because = list >= 0 && job.results[list]?.state === 'to do' ? unsettled(job, 'left') : ''
  if (because !== '' && job.turned) return refused(job, said('answer.put-back', { why: because }))
  const why = said('job.closed')
  return done(
    enter(want(change(turn(job), { armed: null }), { kind: 'safe', why }, { kind: 'tone off' }), { name: 'finished' }),
    said('answer.closed'),
  )
}

function leaveOut(job: Job, id: string, reason: Words): Asked {
  const at = job.plan.lines.findIndex((line) => line.id === id)
  if (at < 0) return refused(job, said('answer.no-step', { step: id }))
  const after = setResult(turn(job), at, 'left out', reason)
  const here = at === job.at && job.phase.name !== 'stopped' && job.phase.name !== 'finished'
  return done(here ? openNext(after) : after, said('answer.left-out'))
}

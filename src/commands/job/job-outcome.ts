import type { Offered } from '../../alignment/offered.ts'
import type { Session } from '../../alignment/session.ts'
import type { Bench } from '../../bench/bench.ts'
import type { Job, StepResult } from '../../core/job/state/job-types.ts'
import { tripCautions } from '../../core/plan/raising.ts'
import type { Captured, LiveFrame } from '../../schema/messages/live-frame.ts'
import type { Clock } from '../../system/clock.ts'
import { type Said, said, type Words } from '../../words/said/said.ts'
import { sentence } from '../../words/sentence/sentence.ts'
import { type ExitCode, lineHead, type Output } from '../command.ts'

/** What came of a job, as it is printed. */
export interface JobOutcome {
  readonly procedure: string
  readonly simulated: boolean
  /** Why it stopped for safety; "" when it did not. */
  readonly stopped: string
  readonly seconds: number
  readonly keyDownS: number
  readonly captured: readonly Captured[]
  /** File of the signed record; "" where none was made. */
  readonly record: string
  readonly steps: readonly {
    readonly row: string
    readonly pass: Captured['pass']
    readonly title: string
    readonly state: StepResult['state']
    readonly reason: string
    /** Left out since this job cannot do it: what was asked for was not done. */
    readonly wanting: boolean
  }[]
}

export function outcomeOf(
  job: Job,
  about: { readonly simulated: boolean; readonly seconds: number; readonly record?: string },
): JobOutcome {
  return {
    procedure: job.plan.procedure.title,
    simulated: about.simulated,
    stopped: job.phase.name === 'stopped' ? sentence(job.phase.words) : '',
    seconds: about.seconds,
    keyDownS: job.key.totalS,
    captured: job.captured,
    record: about.record ?? '',
    steps: job.plan.lines.map(({ step, pass, wanting }, at) => ({
      pass,
      wanting: wanting && job.results[at]?.state === 'left out',
      row: step.row,
      title: step.title,
      state: job.results[at]?.state ?? 'to do',
      reason: sentence(job.results[at]?.reason ?? ''),
    })),
  }
}

/** What a person has to know of this bench's supply before a job of that sheet. */
export function supplyCautions(
  bench: Pick<Bench, 'supplyTrip'>,
  { procedure }: Pick<Offered, 'procedure'>,
  clock: Pick<Clock, 'wallTime'>,
): readonly Words[] {
  return tripCautions(bench.supplyTrip, procedure.set, clock.wallTime().slice(0, 10))
}

/** 0 only when every step is in band, those aside that were left out by choice. */
export function exitOf({ steps }: Pick<JobOutcome, 'steps'>): ExitCode {
  return steps.every(({ state, wanting }) => state === 'done' || (state === 'left out' && !wanting)) ? 0 : 1
}

export function printOutcome(outcome: JobOutcome, output: Output, asJson: boolean): void {
  if (asJson) {
    output.out(JSON.stringify(outcome))
    return
  }
  const { procedure, simulated, captured, steps, stopped, record } = outcome
  output.out(simulated ? sentence(said('command.job-simulated', { procedure })) : procedure)
  for (const one of captured) {
    const value = `${one.digits} ${one.unit}`
    const remarks = remarksOf(one).map((words) => sentence(words))
    output.out(
      `${one.row.padEnd(10)} ${one.title.padEnd(46)} ${value.padStart(16)}  ${one.band.padEnd(26)} ${remarks.join(', ')}`,
    )
  }
  for (const step of steps.filter((one) => one.state !== 'done'))
    output.out(`${step.row.padEnd(10)} ${step.title.padEnd(46)} ${sentence(stateWords(step))}`)
  if (stopped !== '') output.out(`${lineHead(said('command.stopped'), 11)}${stopped}`)
  if (record !== '') output.out(`${lineHead(said('command.record'), 11)}${record}`)
  const [seconds, keyDown] = [Math.round(outcome.seconds), Math.round(outcome.keyDownS)]
  output.out(sentence(said('command.job-key-down', { seconds, keyDown })))
}

const VERDICT = {
  inside: 'command.job-in-band',
  low: 'command.job-out-low',
  high: 'command.job-out-high',
  unread: 'command.job-out-unread',
} as const

/** What is to be known of a captured value beside its digits and its band. */
function remarksOf({ pass, verdict, limit, label, latest }: Captured): readonly Said[] {
  const beyond = limit === 'out and clear' || limit === 'out but touching'
  return [
    ...(pass === 'work' ? [] : [said(pass === 'found' ? 'command.as-found' : 'command.as-left')]),
    said(VERDICT[verdict]),
    ...(beyond ? [said('command.job-rule-exceeded')] : []),
    said(`report.label-${label}`),
    ...(latest ? [] : [said('command.job-earlier')]),
  ]
}

const STATE = {
  'to do': 'command.job-state-to-do',
  done: 'command.job-state-done',
  'out of band': 'command.job-state-out',
  'left out': 'command.job-state-left-out',
} as const

function stateWords({ state: is, reason }: JobOutcome['steps'][number]): Said {
  const state = said(STATE[is])
  return reason === '' ? state : said('command.job-state-because', { state, reason })
}

/** The job has no step left to do, or was stopped for safety with nobody to say "go on". */
export function finished(session: Session): Promise<LiveFrame> {
  return new Promise((resolve) => {
    session.onFrame((frame) => {
      if (frame.mode === 'job' && (frame.state === 'finished' || frame.state === 'stopped')) resolve(frame)
    })
  })
}

import type { Offered } from '../../alignment/offered.ts'
import type { Session } from '../../alignment/session.ts'
import type { Bench } from '../../bench/bench.ts'
import type { Job } from '../../core/job/state/job-types.ts'
import { tripCautions } from '../../core/plan/raising.ts'
import type { Captured, LiveFrame } from '../../schema/messages/live-frame.ts'
import type { Clock } from '../../system/clock.ts'
import { sentence } from '../../words/sentence/sentence.ts'
import type { ExitCode, Output } from '../command.ts'

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
    readonly state: string
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
): readonly string[] {
  return tripCautions(bench.supplyTrip, procedure.set, clock.wallTime().slice(0, 10)).map((one) => sentence(one))
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
  output.out(`${outcome.procedure}${outcome.simulated ? '  (SIMULATED)' : ''}`)
  for (const one of outcome.captured) {
    const value = `${one.digits} ${one.unit}`
    const pass = one.pass === 'work' ? '' : `as ${one.pass}, `
    const verdict = one.verdict === 'inside' ? 'in band' : `out of band, ${one.verdict}`
    const beyond = one.limit === 'out and clear' || one.limit === 'out but touching' ? ', RULE LIMIT EXCEEDED' : ''
    const earlier = one.latest ? '' : ', earlier'
    output.out(
      `${one.row.padEnd(10)} ${one.title.padEnd(46)} ${value.padStart(16)}  ${one.band.padEnd(26)} ${pass}${verdict}${beyond}, ${one.label}${earlier}`,
    )
  }
  for (const step of outcome.steps.filter((one) => one.state !== 'done'))
    output.out(
      `${step.row.padEnd(10)} ${step.title.padEnd(46)} ${step.state}${step.reason === '' ? '' : `: ${step.reason}`}`,
    )
  if (outcome.stopped !== '') output.out(`stopped    ${outcome.stopped}`)
  if (outcome.record !== '') output.out(`record     ${outcome.record}`)
  output.out(`${Math.round(outcome.seconds)} s, key down ${Math.round(outcome.keyDownS)} s`)
}

/** The job has no step left to do, or was stopped for safety with nobody to say "go on". */
export function finished(session: Session): Promise<LiveFrame> {
  return new Promise((resolve) => {
    session.onFrame((frame) => {
      if (frame.mode === 'job' && (frame.state === 'finished' || frame.state === 'stopped')) resolve(frame)
    })
  })
}

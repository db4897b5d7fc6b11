import type { Effects } from '../core/homing/effect.ts'
import type { JobEntry } from '../core/job/job-entries.ts'
import type { Remembered } from '../core/job/restore-job.ts'
import type { JobPlan } from '../core/plan/lines.ts'
import type { Kept } from '../core/reading/capture.ts'
import type { RuleCard } from '../schema/files/rule-card.ts'
import type { Intake } from '../schema/kept/intake.ts'
import type { SupplyTrip } from '../schema/kept/supply-trip-kind.ts'
import type { SignedRecord } from '../schema/messages/live-frame.ts'
import type { Offered } from './offered.ts'

/** What a job is written down under. */
export interface JobStart {
  readonly plan: JobPlan
  readonly offered: Offered
  readonly complaint: string
  readonly bands: readonly string[]
  /** An earlier job of the same serial whose as-found readings stand; "" for none. */
  readonly continues: string
}

/** A job being written down. */
export interface JobWriter {
  readonly jobId: string
  /** Resolves when the entry is on disk. Entries keep their order. */
  write(entry: JobEntry): Promise<void>
  /** Everything so far is on disk or refused, and the journal free for others; the job stays open. Never throws. */
  leave(): Promise<void>
  /** After the last entry: the signed record, made from what is on disk. */
  sign(): Promise<SignedRecord>
}

/** A job that was never closed. */
export interface OpenJob {
  readonly job: string
  readonly serial: string
  readonly procedure: string
  readonly startedAt: string
  readonly captured: number
}

/** A job that was closed. */
export interface ClosedJob {
  readonly job: string
  readonly serial: string
  readonly procedure: string
  readonly closedAt: string
}

/** Where jobs are written down; without one they are only shown. */
export interface Recorder {
  /** Jobs whose journal has no end, and the newest of those that have one; newest first. */
  jobs(): Promise<{ readonly open: readonly OpenJob[]; readonly closed: readonly ClosedJob[] }>
  /** What the newest closed job of this procedure, on such a bench, knew of its adjusters; nothing where there is none. */
  learned(procedure: string, simulated: boolean): Promise<Effects>
  /** What one of them says, and the way to go on with it. Throws RECORD_BROKEN, RECORD_MISSING, RECORD_IN_USE, SCHEMA_REJECTED. */
  reopen(job: string): Promise<{
    readonly offered: Offered
    readonly card: RuleCard | null
    readonly serial: string
    readonly bands: readonly string[]
    readonly intake: Intake | null
    /** What ended an over-voltage of the supply when it was begun; null where its head does not say. */
    readonly supplyTrip: SupplyTrip | null
    readonly remembered: readonly Remembered[]
    /** A writer that adds to it: nothing is written before. */
    goOn(): Promise<JobWriter>
  }>
  /** `earlier`: what stands from the job that is continued, written down already. Throws JOB_REQUEST_REFUSED where that one is of another set or not closed, and what reading and writing throw. */
  start(job: JobStart): Promise<{ readonly writer: JobWriter; readonly earlier: readonly Remembered[] }>
}

/** All values of one capture, in one go. */
export function keepIn(writer: JobWriter): (taken: readonly Kept[]) => Promise<void> {
  return async (taken) => {
    await Promise.all(taken.map((kept) => writer.write({ kind: 'captured', ...kept })))
  }
}

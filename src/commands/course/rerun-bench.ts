import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { openSession, type Session } from '../../alignment/session.ts'
import { loadBench } from '../../bench/load-bench.ts'
import { openBench } from '../../bench/open-bench.ts'
import type { JobEntry } from '../../core/job/job-entries.ts'
import { portsThrough } from '../../course/ports.ts'
import { readCourse } from '../../course/read-course.ts'
import { NO_RECORDER, recorderThrough } from '../../course/recorder.ts'
import { type Rerun, rerun } from '../../course/rerun.ts'
import { rerunSide } from '../../course/rerun-side.ts'
import { supplyThrough } from '../../course/supply.ts'
import { BenchError } from '../../fault/bench-error.ts'
import { noSupply } from '../../keeper/service/no-supply.ts'
import type { CourseHead } from '../../schema/course/course-line.ts'
import type { LiveFrame } from '../../schema/messages/live-frame.ts'
import { openLog, silentLog } from '../../system/log.ts'
import { said } from '../../words/said/said.ts'
import { loadPlans, loadProcedure, loadRuleCards } from '../load-procedures.ts'
import { type Names, namesIn } from './course-words.ts'

export interface RerunBench extends Rerun {
  readonly head: CourseHead
  readonly ends: string | null
  readonly names: Names
  /** What each job wrote down, in order, by the job's name. */
  readonly written: ReadonlyMap<string, readonly JobEntry[]>
}

/**
 * Runs a course again: the same bench and session, with nobody outside but the course. No port is opened, no process started. Throws
 * what reading throws; COMMAND_USAGE where the beginning of the course was let go.
 */
export async function rerunBench(file: string, onFrame: (frame: LiveFrame) => void): Promise<RerunBench> {
  const course = readCourse(file)
  const { head, ends } = course
  if (!course.whole) throw new BenchError('COMMAND_USAGE', file, said('course.beginning-needed'))
  const written = new Map<string, JobEntry[]>()
  const folder = mkdtempSync(join(tmpdir(), 'trimwright-course-'))
  try {
    const side = rerunSide(head)
    const files = filesFrom(head, folder)
    const log = process.env.TRIMWRIGHT_LOG === undefined ? silentLog : openLog('replay')
    const open = async (): Promise<Session> => {
      const { clock, rng } = side
      const deps = { clock, rng, log, through: portsThrough(side, clock) }
      const supply = supplyThrough(side, noSupply(head.bench.file, false))
      const { signal } = new AbortController()
      const { openWithinMs, addresses, setPage, wrongFiles } = head
      const bench = await openBench({ ...files.loaded, deps, supply, addresses, signal, openWithinMs })
      const recorder = recorderThrough(side, NO_RECORDER, (entry, job) => {
        written.set(job, [...(written.get(job) ?? []), entry])
      })
      const session = openSession({
        bench,
        procedures: files.procedures,
        plans: files.plans,
        deps,
        setPage,
        ruleCards: files.ruleCards,
        wrongFiles,
        ...(head.writesJobs ? { recorder } : {}),
      })
      session.onFrame((frame) => {
        side.frame(frame)
        onFrame(frame)
      })
      return session
    }
    return { ...(await rerun(course, side, open)), head, ends, written, names: namesIn(head, course.comings) }
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

/** The files of a head, read by the same readers as at the bench. */
function filesFrom(head: CourseHead, folder: string) {
  const put = (room: string, files: CourseHead['drivers']) => {
    const at = join(folder, room)
    mkdirSync(at)
    for (const { file, text } of files) writeFileSync(join(at, file), text)
    return at
  }
  const drivers = put('drivers', head.drivers)
  const bench = join(put('bench', [head.bench]), head.bench.file)
  const plans = loadPlans(put('plans', head.plans))
  const procedures = put('procedures', head.procedures)
  return {
    loaded: loadBench(bench, drivers),
    plans,
    procedures: head.procedures.map(({ file }) => loadProcedure(join(procedures, file), plans)),
    ruleCards: loadRuleCards(put('cards', head.ruleCards)),
  }
}

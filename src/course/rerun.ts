import type { Session } from '../alignment/session.ts'
import { BenchError } from '../fault/bench-error.ts'
import { said, type Words } from '../words/said/said.ts'
import type { ReadCourse } from './read-course.ts'
import { type Difference, OtherWay, type RerunSide } from './rerun-side.ts'

/** What came of running a course again. */
export interface Rerun {
  readonly comings: number
  /** From the first coming to the last, s of the bench clock. */
  readonly seconds: number
  /** Bench clock at the last one that came, ms. */
  readonly endedMs: number
  readonly differences: readonly Difference[]
  /** Why it could not go on to the end of the course; "" where it did. */
  readonly stopped: Words
}

/** After so many differences the rest says nothing more. */
const MOST_DIFFERENCES = 20

/** Runs a course again: `open` opens bench and session on `side`, and from there on only the course goes on. As fast as it can be worked out. */
export async function rerun(course: ReadCourse, side: RerunSide, open: () => Promise<Session>): Promise<Rerun> {
  // of the last one before a tear it is not known all that was done
  const comings = course.ends === null ? course.comings.slice(0, -1) : course.comings
  let session: Session | null = null
  let failed: unknown = null
  let count = 0
  let lastMs = course.head.atMs
  let stopped: Words = ''
  for (const { came, did } of comings) {
    side.expect(did)
    try {
      if (!came)
        open().then(
          (opened) => {
            session = opened
          },
          (error: unknown) => {
            failed = error
          },
        )
      else {
        side.stand(came)
        lastMs = came.at
        if (came.kind === 'request' || came.kind === 'page') ask(came, session, side)
        else side.come(came)
      }
    } catch (error) {
      stopped = stoppedBy(error)
    }
    await quiet()
    if (failed) stopped = stoppedBy(failed)
    if (stopped !== '') break
    side.settled()
    count += 1
    if (side.differences().length >= MOST_DIFFERENCES) {
      stopped = said('course.too-different')
      break
    }
  }
  return {
    comings: count,
    seconds: (lastMs - course.head.atMs) / 1000,
    endedMs: lastMs,
    differences: side.differences(),
    stopped,
  }
}

type Asked = Extract<NonNullable<ReadCourse['comings'][number]['came']>, { kind: 'request' | 'page' }>

function ask(came: Asked, session: Session | null, side: RerunSide): void {
  if (!session) throw new OtherWay(said('course.no-session'))
  if (came.kind === 'page') {
    session.steererPresent(came.present, came.why)
    return
  }
  const { message } = came
  void session.request(message).then((answer) => {
    side.did({ kind: 'answer', id: 'id' in message ? message.id : '', ...answer })
  })
}

function stoppedBy(error: unknown): Words {
  if (error instanceof OtherWay) return error.words
  if (error instanceof BenchError) return error.message
  throw error
}

/** Everything that can happen without waiting has happened. */
function quiet(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve))
}

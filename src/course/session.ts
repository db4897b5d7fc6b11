import type { Session } from '../alignment/session.ts'
import { plainWords } from '../fault/bench-error.ts'
import type { LiveFrame } from '../schema/messages/live-frame.ts'
import { said } from '../words/said/said.ts'
import type { LiveSide } from './live-side.ts'

/** The session, with what pages ask coming in through the door. */
export function sessionThrough(side: LiveSide, session: Session, keep: (why: string) => Promise<string>): Session {
  const kept = () =>
    keep('kept by hand').then(
      (path) => ({ ok: true, words: said('course.kept', { path }) }),
      (error: unknown) => ({ ok: false, words: plainWords(error) }),
    )
  return {
    ...session,
    request: (message) =>
      new Promise((resolve, reject) => {
        if (message.kind === 'keep course') return resolve(kept())
        side.come({ kind: 'request', message }, () => {
          session.request(message).then((answer) => {
            side.did({ kind: 'answer', id: 'id' in message ? message.id : '', ...answer })
            resolve(answer)
          }, reject)
        })
      }),
    steererPresent: (present, why) =>
      side.come({ kind: 'page', present, why }, () => session.steererPresent(present, why)),
  }
}

/** A frame as a course names it; the picture itself is made again when the course is run again. */
export function frameLine(frame: LiveFrame, hash: (text: string) => string) {
  const { seq, state, step } = frame
  return { kind: 'frame' as const, seq, state, step: step?.id ?? '', frame: hash(JSON.stringify(frame)).slice(0, 16) }
}

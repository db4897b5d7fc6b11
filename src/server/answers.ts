import type { Answer } from '../schema/messages/live-frame.ts'

export type { Answer } from '../schema/messages/live-frame.ts'

/** Remembers the last answers, so that a request sent again after a broken connection is answered and not done again. */
export interface Answers {
  /** The answer to `key` if it was asked before (perhaps still on its way), else undefined. */
  find(key: string): Promise<Answer> | undefined
  /** Keeps the answer and forgets the oldest one beyond the limit. */
  keep(key: string, answer: Promise<Answer>): void
}

/** An empty memory for `atMost` answers. */
export function openAnswers(atMost = 200): Answers {
  const kept = new Map<string, Promise<Answer>>()
  return {
    find: (key) => kept.get(key),
    keep: (key, answer) => {
      kept.set(key, answer)
      for (const oldest of kept.keys()) {
        if (kept.size <= atMost) break
        kept.delete(oldest)
      }
    },
  }
}

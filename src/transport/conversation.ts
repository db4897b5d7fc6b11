import type { Clock } from '../system/clock.ts'
import { letArrive, sleepUnless } from '../system/deadline.ts'
import type { Conversation } from './resync.ts'
import type { Wire } from './wire.ts'

/** A conversation takes the lines of its link while it lasts; its `line` is handed each of them. */
export interface LineConversation extends Conversation {
  line(text: string): void
}

/** Talk over `wire` until one of the signals is aborted; `say` sends one message, paced. */
export function converse(
  who: string,
  wire: Wire,
  clock: Clock,
  signals: readonly AbortSignal[],
  way: { readonly say: (text: string) => Promise<void>; readonly nextSentinel: () => number },
): LineConversation {
  const waiting: string[] = []
  const bytesBefore = wire.bytes()
  let lines = 0
  let asked = 0
  let wake = () => {}

  const hear = async (dueMs: number) => {
    if (waiting.length === 0) {
      const come = new AbortController()
      wake = () => come.abort(COME)
      try {
        await sleepUnless(clock, dueMs, [...signals, come.signal])
        await letArrive(clock, signals)
      } catch (error) {
        if (error !== COME) throw error
      } finally {
        wake = () => {}
      }
    }
    return waiting.shift()
  }

  const hush = async (quietMs: number, dueMs: number) => {
    const beganMs = clock.nowMs()
    for (;;) {
      const quietAtMs = Math.max(beganMs, wire.lastByteMs()) + quietMs
      if (quietAtMs <= clock.nowMs()) break
      if (quietAtMs > dueMs + quietMs) return 'noisy'
      await sleepUnless(clock, quietAtMs, signals)
      await letArrive(clock, signals)
    }
    wire.forget()
    return waiting.splice(0).length
  }

  return {
    who,
    nowMs: () => clock.nowMs(),
    say: way.say,
    ask: (text) => {
      asked += 1
      return way.say(text)
    },
    hear,
    hush,
    heard: () => ({ bytes: wire.bytes() - bytesBefore, lines, asked, lastByteMs: wire.lastByteMs() }),
    nextSentinel: way.nextSentinel,
    line: (text) => {
      lines += 1
      waiting.push(text)
      wake()
    },
  }
}

const COME = new Error('a line has come')

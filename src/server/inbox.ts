import { FromPage } from '../schema/messages/live-frame.ts'
import type { Clock } from '../system/clock.ts'

/** Most messages a second from one page; the signs of life that a page gives are counted apart. */
export const MESSAGES_PER_S = 20
export const HERE_PER_S = 5

/** A message as it came in: understood, or refused with what happened and, where it can be told, its id. */
export type Heard =
  | { readonly ok: true; readonly message: FromPage }
  | { readonly ok: false; readonly id: string; readonly happened: string }

/** A page's door: text in, a message of a known shape out, no more than so many a second. */
export function openInbox(clock: Clock): (text: string, binary: boolean) => Heard {
  const messages = openAllowance(MESSAGES_PER_S, MESSAGES_PER_S, clock)
  const signs = openAllowance(HERE_PER_S, HERE_PER_S, clock)

  return (text, binary) => {
    if (binary) return messages() ? refused('', 'it sent bytes, not text') : tooMany('')
    const input = parsed(text)
    const result = FromPage.safeParse(input)
    const id = idOf(input)
    if (result.success && result.data.kind === 'here' && signs()) return { ok: true, message: result.data }
    if (!messages()) return tooMany(id)
    if (input === undefined) return refused('', `it sent ${text.length} characters that are not JSON`)
    if (result.success) return { ok: true, message: result.data }
    const named = result.error.issues.map((issue) => `${issue.path.join('.') || 'message'}: ${issue.message}`)
    return refused(id, named.join('; ').slice(0, 300))
  }
}

/** A number of tries that fills up again with time; each call takes one, false when there is none left. */
export function openAllowance(atMost: number, perSecond: number, clock: Clock): () => boolean {
  let left = atMost
  let atMs = clock.nowMs()
  return () => {
    const nowMs = clock.nowMs()
    left = Math.min(atMost, left + ((nowMs - atMs) / 1000) * perSecond)
    atMs = nowMs
    if (left < 1) return false
    left -= 1
    return true
  }
}

function tooMany(id: string): Heard {
  return refused(id, `it sent more than ${MESSAGES_PER_S} messages in a second`)
}

function refused(id: string, happened: string): Heard {
  return { ok: false, id, happened }
}

/** Undefined (which JSON cannot say) for what is not JSON. */
function parsed(text: string): unknown {
  try {
    return JSON.parse(text)
  } catch {
    return undefined // the caller refuses it in words
  }
}

/** So that a page can tell which of its requests was refused. */
function idOf(input: unknown): string {
  if (typeof input !== 'object' || input === null || !('id' in input)) return ''
  return typeof input.id === 'string' ? input.id.slice(0, 64) : ''
}

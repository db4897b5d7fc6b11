import type { FromPage, ToPage } from '../../src/schema/messages/shown.ts'
import { worded } from '../../src/words/sentence/sentence.ts'

/** What a page may ask for, without the id that this file adds. */
export type Wish = FromPage extends infer One ? (One extends { readonly id: string } ? Omit<One, 'id'> : never) : never

export interface Live {
  /** Sends a request; returns its id, or null while the service is out of reach. */
  ask(wish: Wish): string | null
}

export interface LiveEars {
  onMessage(message: ToPage): void
  onConnected(connected: boolean): void
  /** A message of a format that this page does not know. */
  onNewer(): void
}

const FIRST_BACK_OFF_MS = 150
const LAST_BACK_OFF_MS = 4_000
const HERE_EVERY_MS = 1_000
/** The service sends a beat each second; three missed ones mean that nobody is there. */
const QUIET_MS = 3_500

/** Opens the page's one connection, `/live` on the host that served it, and opens it again for as long as the page lives. */
export function openLive(token: string, ears: LiveEars): Live {
  let socket: WebSocket | null = null
  let tries = 0
  let heardMs = performance.now()
  const send = (message: FromPage) => {
    if (socket?.readyState !== WebSocket.OPEN) return false
    socket.send(JSON.stringify(message))
    return true
  }
  const here = () => send({ kind: 'here', visible: document.visibilityState === 'visible' })
  const open = () => {
    const opened = new WebSocket(liveAddress(), `trimwright.${token}`)
    socket = opened
    opened.addEventListener('open', () => {
      tries = 0
      heardMs = performance.now()
      ears.onConnected(true)
      here()
    })
    opened.addEventListener('message', ({ data }) => {
      heardMs = performance.now()
      const message = messageIn(data)
      if (message === 'newer') ears.onNewer()
      else if (message !== null) ears.onMessage(worded(message))
    })
    opened.addEventListener('close', () => {
      if (socket !== opened) return
      socket = null
      ears.onConnected(false)
      setTimeout(open, backOffMs(tries))
      tries += 1
    })
  }
  open()
  setInterval(() => {
    here()
    if (socket !== null && performance.now() - heardMs > QUIET_MS) socket.close()
  }, HERE_EVERY_MS)
  document.addEventListener('visibilitychange', here)
  return {
    ask(wish) {
      const id = requestId()
      return send({ ...wish, id }) ? id : null
    },
  }
}

function liveAddress(): string {
  const scheme = location.protocol === 'https:' ? 'wss' : 'ws'
  return `${scheme}://${location.host}/live`
}

/** Doubles from try to try up to 4 s; half of it is chance, so that many pages do not come back at once. */
function backOffMs(tries: number): number {
  const longest = Math.min(LAST_BACK_OFF_MS, FIRST_BACK_OFF_MS * 2 ** tries)
  return longest * (0.5 + Math.random() / 2)
}

/** 128 bits of chance in hex: a page on a plain address has no randomUUID. */
function requestId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16))
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('')
}

const KINDS: readonly unknown[] = ['frame', 'welcome', 'role', 'answer', 'beat'] satisfies readonly ToPage['kind'][]

/** The service is the page's own and checks what it sends; here only a stranger and a newer format are told apart. */
function messageIn(data: unknown): ToPage | 'newer' | null {
  if (typeof data !== 'string') return null
  const value: unknown = JSON.parse(data)
  if (hasFormat(value) && value.format !== 1) return 'newer'
  return isToPage(value) ? value : null
}

function hasFormat(value: unknown): value is { readonly format: unknown } {
  return typeof value === 'object' && value !== null && 'format' in value
}

function isToPage(value: unknown): value is ToPage {
  return typeof value === 'object' && value !== null && 'kind' in value && KINDS.includes(value.kind)
}

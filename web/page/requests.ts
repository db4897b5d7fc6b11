import type { Answer, FromPage, LiveFrame } from '../../src/schema/messages/live-frame.ts'
import type { Wish } from '../wire/live.ts'
import { type OwedStop, owedStop, type StopNews } from '../wire/stop-delivery.ts'
import { NO_SERVICE, STOP_NOT_DELIVERED, stopDeliveredWords } from '../words/words.ts'

export interface RequestEnds {
  /** Sends a request; returns its id, or null while the service is out of reach. */
  send(wish: Wish): string | null
  /** A frame is shown, so that the whole screen says that a STOP was not delivered. */
  hasFrame(): boolean
  /** Shows for a while why something was not done, or what came of it. */
  tell(words: string): void
  /** What the service said to a typed reading belongs to its field. */
  typed(answer: Answer): void
  /** Brings the gauge back, whatever lies over it. */
  toGauge(): void
  changed(): void
}

/** Requests after which a list or form stays where it is. */
const STAYS_AS_IT_IS: readonly FromPage['kind'][] = [
  'stop',
  'supply on',
  'note setting',
  'mark',
  'explain',
  'keep course',
]

/** What this page has asked for: what is shown of each answer, and the STOP that is asked for until it has come through. */
export class Requests {
  readonly #ends: RequestEnds
  /** The request that, once done, brings the gauge back. */
  #awaited: string | null = null
  /** The request whose answer belongs to the field of a typed reading. */
  #typed: string | null = null
  /** What is kept, and where, is shown. */
  #kept: string | null = null
  #owed: OwedStop | null = null
  /** The STOP that was asked for once more: what the service answers to it is shown. */
  #onceMore: string | null = null

  constructor(ends: RequestEnds) {
    this.#ends = ends
  }

  /** A STOP of this page did not come through at once, and is not known to have come through since. */
  get stopIsLate(): boolean {
    return this.#owed?.late === true
  }

  ask(wish: Wish): void {
    const { send, hasFrame, tell } = this.#ends
    const id = send(wish)
    if (wish.kind === 'stop') {
      this.#onceMore = this.stopIsLate ? id : null
      this.#hearOfStop({ kind: 'asked', id, atMs: performance.now() })
    }
    if (id === null && wish.kind !== 'stop') tell(NO_SERVICE)
    // with a frame the whole screen says it
    else if (id === null && !hasFrame()) tell(`${STOP_NOT_DELIVERED.big}. ${STOP_NOT_DELIVERED.second}`)
    else if (wish.kind === 'type in') this.#typed = id
    else if (wish.kind === 'keep course') this.#kept = id
    else if (id !== null && !STAYS_AS_IT_IS.includes(wish.kind)) this.#awaited = id
  }

  /** The service has answered a request of this page. */
  answered(answer: Answer & { readonly id: string }): void {
    const { id, ok, words } = answer
    const { tell, typed, toGauge } = this.#ends
    if (id === this.#onceMore && ok) tell(stopDeliveredWords(words))
    this.#hearOfStop({ kind: 'answered', id, ok })
    if (id === this.#kept && ok) tell(words)
    if (id === this.#typed) typed(answer)
    else if (!ok) tell(words)
    else if (id === this.#awaited) toGauge()
  }

  /** A frame has come: a supply that is off settles a STOP, too. */
  see({ supply, state }: LiveFrame): void {
    this.#hearOfStop({ kind: 'frame', off: supply.output === 'off' && state !== 'supply moving' })
  }

  /** The connection has come or gone. */
  connected(connected: boolean): void {
    if (!connected) this.#hearOfStop({ kind: 'connection lost' })
    else if (this.#owed !== null) this.ask({ kind: 'stop' }) // it was meant, and still is
  }

  /** Time has passed. */
  tick(): void {
    this.#hearOfStop({ kind: 'time', atMs: performance.now() })
  }

  #hearOfStop(news: StopNews): void {
    const wasLate = this.stopIsLate
    const before = this.#owed
    this.#owed = owedStop(before, news)
    if (this.#owed === before) return
    if (this.stopIsLate && !wasLate) this.#ends.toGauge()
    this.#ends.changed()
  }
}

import type { LiveFrame, LiveState, ToPage } from '../../src/schema/messages/live-frame.ts'
import { type ServiceClock, serviceNow, setClock } from '../measure/service-clock.ts'
import type { Welcome } from '../screens/watch-form.ts'
import { openHistory } from '../view/history.ts'
import type { PageFacts } from '../view/view.ts'

/** What the page knows of its service, by the newest message of each kind. */
export class Known {
  readonly history = openHistory()
  #frame: LiveFrame | null = null
  #welcome: Welcome | null = null
  #link: Pick<PageFacts, 'connected' | 'steering' | 'asked' | 'places'> = {
    connected: false,
    steering: 'nobody',
    asked: false,
    places: [],
  }
  #clock: ServiceClock | null = null

  get frame(): LiveFrame | null {
    return this.#frame
  }

  get welcome(): Welcome | null {
    return this.#welcome
  }

  /** What a view is drawn from besides the frame, as far as the service says it. */
  get link(): Pick<PageFacts, 'connected' | 'steering' | 'asked' | 'places'> {
    return this.#link
  }

  get steers(): boolean {
    return this.#link.steering === 'you'
  }

  /** The service's clock now, ms. */
  nowMs(): number {
    return serviceNow(this.#clock, performance.now())
  }

  connected(connected: boolean): void {
    this.#link = { ...this.#link, connected }
  }

  /** Takes in what a message says; an answer belongs to its request and says nothing here. */
  take(message: ToPage): void {
    switch (message.kind) {
      case 'frame':
        this.#frame = message
        this.#setClock(message.atMs)
        this.history.add(message)
        break
      case 'beat':
        this.#setClock(message.atMs)
        break
      case 'welcome':
        this.#welcome = message
        this.#link = { ...this.#link, places: message.places }
        break
      case 'role':
        this.#link = { ...this.#link, steering: message.steering, asked: message.asked }
        break
      case 'answer':
        break
      default:
        message satisfies never
    }
  }

  #setClock(serviceMs: number): void {
    this.#clock = setClock(this.#clock, serviceMs, performance.now())
  }
}

/** States that no form or list may hide. */
const URGENT: readonly LiveState[] = ['key now', 'release key', 'stopped']

/** Forms and lists make room: something urgent is new, or another mode has begun. */
export function wantsTheGauge(before: LiveFrame | null, next: LiveFrame): boolean {
  const urgent = URGENT.includes(next.state) && next.state !== before?.state
  return urgent || (before !== null && next.mode !== before.mode)
}

/** What is new of the service's clock, in words; null: nothing. What stood there before this page came is no news. */
export function clockNews(before: LiveFrame | null, next: LiveFrame): string | null {
  const toldSeq = before?.events.at(-1)?.seq ?? Number.POSITIVE_INFINITY
  return next.events.findLast(({ what, seq }) => what === 'clock' && seq > toldSeq)?.words ?? null
}

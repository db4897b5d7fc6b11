import type { LiveSource } from '../alignment/live-source.ts'
import type { LiveFrame } from '../schema/messages/live-frame.ts'
import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import { sentence } from '../words/sentence/sentence.ts'
import type { Answer } from './answers.ts'
import { type Page, say, textOf } from './page.ts'
import { NOBODY_STEERS, presence, roleOf, type SteeringEvent, steer } from './steering.ts'

/** What the pages need. */
export interface PagesNeeds {
  readonly source: LiveSource
  /** The clock of the people and browsers at the pages. */
  readonly clock: Clock
  readonly log: Log
}

/** The pages that are connected, and which of them steers. */
export class Pages {
  readonly #needs: PagesNeeds
  readonly #pages = new Map<number, Page>()
  #steering = NOBODY_STEERS
  #present = false
  /** The welcome that pages know. */
  #welcomed: Uint8Array

  constructor(needs: PagesNeeds) {
    this.#needs = needs
    this.#welcomed = textOf(needs.source.welcome())
  }

  get count(): number {
    return this.#pages.size
  }

  has(page: Page): boolean {
    return this.#pages.has(page.number)
  }

  /** Those that are here now; who goes while they are walked through stays in it. */
  all(): readonly Page[] {
    return [...this.#pages.values()]
  }

  isSteering(page: Page): boolean {
    return this.#steering.steers === page.number
  }

  /** A page that came: told of the bench, given its part, shown what is. */
  enter(page: Page): void {
    const { source, clock, log } = this.#needs
    const first = textOf(source.welcome())
    if (this.#pages.size === 0) this.#welcomed = first
    page.outbox.say(first)
    this.#pages.set(page.number, page)
    log.info({ page: page.who }, 'it came')
    this.steer({ what: 'came', page: page.number, atMs: clock.nowMs() })
    page.outbox.frame(textOf(source.latest()))
    this.tellPresence()
  }

  /** From here on the page counts as gone, whatever its socket still does. */
  forget(page: Page, why: string): void {
    if (!this.#pages.delete(page.number)) return
    this.#needs.log.info({ page: page.who }, why)
    this.steer({ what: 'went', page: page.number })
    this.tellPresence()
  }

  /** One event further in who steers; each page whose part changed is told. */
  steer(event: SteeringEvent): Answer {
    const { after, ok, words } = steer(this.#steering, event)
    this.#steering = after
    for (const page of this.#pages.values()) {
      const role = roleOf(after, page.number)
      if (page.role?.steering === role.steering && page.role.asked === role.asked) continue
      page.role = role
      say(page, { kind: 'role', ...role })
    }
    return { ok, words }
  }

  /** Tells the source when somebody came to the page that steers, or nobody is there any more. */
  tellPresence(): void {
    const { source, clock, log } = this.#needs
    const now = presence(this.#steering, clock.nowMs())
    if (now.present === this.#present) return
    this.#present = now.present
    log.info({ present: now.present }, sentence(now.why))
    source.steererPresent(now.present, now.why)
  }

  showFrame(frame: LiveFrame): void {
    if (this.#pages.size === 0) return
    const text = textOf(frame)
    const { steers } = this.#steering
    const first = steers === null ? undefined : this.#pages.get(steers)
    first?.outbox.frame(text) // hands and ears are there; who only watches can wait for the loop
    for (const page of this.#pages.values()) if (page !== first) page.outbox.frame(text)
  }

  /** What a page was told of the bench grows old: a link goes or comes, a job is closed. */
  tellChanges(): void {
    if (this.#pages.size === 0) return
    const now = textOf(this.#needs.source.welcome())
    if (Buffer.compare(now, this.#welcomed) === 0) return
    this.#welcomed = now
    for (const page of this.#pages.values()) page.outbox.say(now)
  }

  /** Cuts off whoever has not read for too long, and looks who steers now. */
  tick(): void {
    const { clock, log } = this.#needs
    for (const page of this.all()) {
      const why = page.outbox.tick()
      if (why === null) continue
      log.warn({ page: page.who }, `${page.who}: ${why}; cut off`)
      page.socket.terminate()
      this.forget(page, why)
    }
    this.steer({ what: 'time passes', atMs: clock.nowMs() })
    this.tellPresence()
  }
}

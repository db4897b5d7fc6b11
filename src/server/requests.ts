import type { RawData } from 'ws'
import type { LiveSource } from '../alignment/live-source.ts'
import { BenchError } from '../fault/bench-error.ts'
import type { FromPage } from '../schema/messages/live-frame.ts'
import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import { type Answer, openAnswers } from './answers.ts'
import { type Page, say } from './page.ts'
import type { Pages } from './pages.ts'
import { FOR_EVERY_PAGE } from './steering.ts'

/** Requests of one page that may wait for their answers. */
const MAX_UNANSWERED = 32

/** What hearing requests needs. */
export interface RequestsNeeds {
  readonly source: LiveSource
  readonly pages: Pages
  readonly clock: Clock
  readonly log: Log
  /** Ends a page that has sent too much rubbish. */
  readonly dismiss: (page: Page, why: string) => void
}

/** What pages send, read and answered. */
export class Requests {
  readonly #needs: RequestsNeeds
  readonly #answers = openAnswers()

  constructor(needs: RequestsNeeds) {
    this.#needs = needs
  }

  async hear(page: Page, data: RawData, binary: boolean): Promise<void> {
    const { pages, clock } = this.#needs
    if (!pages.has(page)) return // dismissed: what it still sends is not read
    const heard = page.read(binary ? '' : data.toString(), binary)
    if (!heard.ok) return this.#refuse(page, heard.id, heard.happened)
    const { message } = heard
    if (message.kind === 'here') {
      pages.steer({ what: 'here', page: page.number, visible: message.visible, atMs: clock.nowMs() })
      return pages.tellPresence()
    }
    if (page.unanswered >= MAX_UNANSWERED)
      return this.#refuse(page, message.id, `${MAX_UNANSWERED} of its requests are not answered yet`)
    page.unanswered += 1
    const answer = await this.#answerTo(page, message)
    page.unanswered -= 1
    if (pages.has(page)) say(page, { kind: 'answer', id: message.id, ...answer })
  }

  #refuse(page: Page, id: string, happened: string): void {
    const { log, dismiss } = this.#needs
    const error = new BenchError('SERVER_FRAME_REFUSED', page.who, happened)
    log.warn({ code: error.code, page: page.who }, error.message)
    say(page, { kind: 'answer', id, ok: false, words: error.message })
    if (!page.pardon()) dismiss(page, 'too many unusable messages')
  }

  #answerTo(page: Page, message: Exclude<FromPage, { kind: 'here' }>): Promise<Answer> {
    const { source, pages } = this.#needs
    const { kind } = message
    // What a page asks about its own part means nothing to another one, so only the rest is remembered across pages.
    const own = kind === 'steer' || kind === 'hand over'
    const key = `${own ? page.number : ''} ${JSON.stringify(message)}`
    // A stop is never taken for an old one: done twice it does no harm.
    const before = kind === 'stop' ? undefined : this.#answers.find(key)
    if (before) return before
    if (!pages.isSteering(page) && !FOR_EVERY_PAGE.includes(kind)) {
      const error = new BenchError('SERVER_NOT_STEERING', page.who, `it asked for "${kind}" and only watches`)
      return Promise.resolve({ ok: false, words: error.message })
    }
    const answer = own ? Promise.resolve(this.#askSteering(page, kind)) : source.request(message)
    this.#answers.keep(key, answer)
    return answer
  }

  #askSteering(page: Page, kind: 'steer' | 'hand over'): Answer {
    const { pages, clock } = this.#needs
    const { number } = page
    const told = pages.steer(
      kind === 'steer'
        ? { what: 'asks to steer', page: number, atMs: clock.nowMs() }
        : { what: 'hands over', page: number },
    )
    pages.tellPresence()
    if (told.ok) return told
    return { ok: false, words: new BenchError('JOB_REQUEST_REFUSED', page.who, told.words).message }
  }
}

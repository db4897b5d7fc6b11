import type { Picture } from '../draw/draw.ts'
import { type HeldDigits, holdDigits } from '../measure/hold-digits.ts'
import type { Panels } from '../screens/panels.ts'
import { type Spoken, speak } from '../view/status.ts'
import { type View, viewOf } from '../view/view.ts'
import { numberOf } from '../view/view-number.ts'
import type { Device } from './device.ts'
import type { Known } from './known.ts'
import type { News } from './news.ts'
import type { Requests } from './requests.ts'

/** What is known, and where it is put. */
export interface ShownParts {
  readonly known: Known
  readonly requests: Requests
  readonly device: Device
  readonly picture: Picture
  readonly panels: Panels
  readonly news: News
  /** Pedals and the buttons beside the main one; their line of news, or "". */
  readonly hands: { paint(): string }
}

/** What stands on the page: gauge or form, news, and the line for a screen reader. */
export class Shown {
  readonly #parts: ShownParts
  #view: View | null = null
  /** The number as it stands for the eye. */
  #held: HeldDigits | null = null
  #spoken: Spoken = { said: '', saidAtMs: Number.NEGATIVE_INFINITY }

  constructor(parts: ShownParts) {
    this.#parts = parts
  }

  /** What was drawn last; null before the first frame. */
  get view(): View | null {
    return this.#view
  }

  /** Puts on the page what is known now; returns the number of the frame that it shows, null before the first. */
  paint(): number | null {
    const { known, device, panels, news, hands } = this.#parts
    const { frame, welcome, steers } = known
    this.#drawGauge()
    const idle = this.#view === null || this.#view.screen === 'idle'
    panels.paint({ frame, welcome, steers, nowMs: known.nowMs(), idle })
    const refused = news.paint({ frame, steers, level: device.settings.level })
    const told = hands.paint()
    this.#tellReader(refused || told || (this.#view?.status ?? ''))
    return frame?.seq ?? null
  }

  #drawGauge(): void {
    const { known, requests, device, picture } = this.#parts
    const { frame } = known
    if (frame === null) return
    const nowMs = known.nowMs()
    this.#held = holdDigits(this.#held, numberOf(frame).text, nowMs)
    this.#view = viewOf(frame, nowMs, {
      ...known.link,
      stopOwed: requests.stopIsLate,
      zoomBefore: this.#view?.gauge?.zoom ?? 0,
      gaugePx: picture.gaugePx(),
      pxPerMm: device.pxPerMm,
      held: this.#held,
    })
    picture.draw(this.#view)
  }

  #tellReader(words: string): void {
    const { status } = this.#parts.picture
    this.#spoken = speak(this.#spoken, words, performance.now())
    if (status.textContent !== this.#spoken.said) status.textContent = this.#spoken.said
  }
}

import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { longPressOf, secondsLeft } from '../measure/take-back.ts'
import { hearKeys, type KeyPlan, type Meant } from '../settings/keys.ts'
import type { ButtonRequest } from '../view/view.ts'
import type { Wish } from '../wire/live.ts'
import { PRESS } from '../words/words-of-hands.ts'
import { handsBar } from './hands-bar.ts'
import { handsNote } from './hands-note.ts'

/** What the page shows at this moment, as far as feet and knuckles go by it. */
export interface HandsNow {
  readonly frame: LiveFrame | null
  /** What the main button asks for; null where it is not there. */
  readonly main: ButtonRequest | null
  readonly steers: boolean
  /** A list or form lies over the gauge. */
  readonly covered: boolean
  /** Service clock, ms. */
  readonly atMs: number
}

export interface HandsEnds {
  now(): HandsNow
  plan(): KeyPlan
  ask(wish: Wish): void
  /** Asks for what stands on the main button, by key. */
  press(request: ButtonRequest): void
  changed(): void
}

/** Pedals, the buttons for what a long press does, and the line that says what came of it. `bar` and `lines` take them in. */
export function openHands(bar: HTMLElement, lines: HTMLElement, ends: HandsEnds): { paint(): string } {
  const takeBack = () => ends.ask({ kind: 'take back' })
  const mark = () => ends.ask({ kind: 'mark' })
  const buttons = handsBar({ takeBack, mark })
  const note = handsNote(ends.changed)
  bar.append(buttons.element)
  lines.prepend(note.element)

  const meant = (): Meant => {
    const { frame, main, steers, covered } = ends.now()
    if (frame === null || !steers) return NOTHING
    if (covered) {
      note.tell(PRESS.covered)
      return NOTHING
    }
    const sinceSeq = frame.events.at(-1)?.seq ?? 0
    const short = main === null ? null : () => wish(main, sinceSeq)
    const long = longPressOf(frame)
    if (long === null) return { short, long }
    if (long === 'keep') return { short, long: { words: PRESS.holdKeep, does: () => ends.ask({ kind: 'keep' }) } }
    return long === 'take back'
      ? { short, long: { words: PRESS.holdTakeBack, does: takeBack } }
      : { short, long: { words: PRESS.holdMark, does: mark } }
  }
  const wish = (request: ButtonRequest, sinceSeq: number) => {
    // the dwell was quicker than the foot, also where the next step has begun since
    const { frame } = ends.now()
    const isNew = frame?.events.some(({ seq, what }) => what === 'captured' && seq > sinceSeq) === true
    if (request === 'capture' && (frame?.state === 'captured' || isNew)) return
    ends.press(request)
  }
  hearKeys({
    plan: ends.plan,
    main: meant,
    stop: () => ends.ask({ kind: 'stop' }),
    holding: note.hold,
    inVain: (why) => note.tell(why === 'field' ? PRESS.inField : PRESS.between),
  })
  return {
    paint() {
      const { frame, steers, atMs } = ends.now()
      buttons.draw({
        leftS: frame === null || !steers ? null : secondsLeft(frame, atMs),
        holds: ends.plan().holds,
        marks: steers && frame?.mode === 'job',
      })
      return note.paint(frame)
    },
  }
}

const NOTHING: Meant = { short: null, long: null }

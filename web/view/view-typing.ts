import type { Quantity } from '../../src/quantity/quantity.ts'
import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { likeWords, readOffWords } from '../words/words.ts'

/** The field for a meter that a person reads. */
export interface TypingView {
  readonly quantity: Quantity
  /** What is typed, and off which meter it is read. */
  readonly name: string
  /** Goes with a number that is typed alone. */
  readonly unit: string
  readonly like: string
  /** Both peaks may be typed, with a stroke between them: a pad of digits alone has none. */
  readonly keyboard: 'decimal' | 'text'
  /** What the field belongs to: with another one it begins empty. */
  readonly key: string
}

const BOTH_PEAKS: readonly Quantity[] = ['FM deviation', 'AM depth']

/** Null where nothing is typed now. */
export function typingOf(frame: LiveFrame): TypingView | null {
  const { typing, step } = frame
  if (frame.state !== 'type in' || typing === null) return null
  return {
    quantity: typing.quantity,
    name: readOffWords(typing.quantity, typing.instrument),
    unit: typing.unit,
    like: likeWords(typing.example),
    keyboard: BOTH_PEAKS.includes(typing.quantity) ? 'text' : 'decimal',
    key: JSON.stringify([step?.id, step?.pass, step?.stop?.number, typing.quantity]),
  }
}

/** A number is sent with the unit that stands beside the field, unless another one was typed. */
export function typedText(text: string, unit: string): string {
  const plain = text.trim()
  return unit === '' || /[^\d\s.,/+\-−]/.test(plain) ? plain : `${plain} ${unit}`
}

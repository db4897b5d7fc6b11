import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import type { ToKeeper } from '../../schema/messages/keeper-message.ts'
import type { Words } from '../../words/said/said.ts'
import type { Act } from './keeper-state.ts'

/** What happens to the keeper. Times are ms of its clock; `bootMs` is a clock that runs on while the computer sleeps. */
export type KeeperEvent =
  | { readonly kind: 'asked'; readonly request: ToKeeper; readonly atMs: number }
  | { readonly kind: 'tick'; readonly atMs: number; readonly bootMs: number }
  | { readonly kind: 'begun'; readonly act: Act; readonly atMs: number }
  | { readonly kind: 'looked'; readonly back: SupplyReadBack }
  | { readonly kind: 'did'; readonly act: Act; readonly beganMs: number; readonly atMs: number }
  | {
      readonly kind: 'failed'
      readonly act: Act
      readonly code: string
      readonly words: Words
      readonly beganMs: number
      readonly atMs: number
    }
  /** A standby is heard, or is not heard any more. */
  | { readonly kind: 'standby'; readonly present: boolean; readonly atMs: number }
  /** Something calls for safe that no look shows. */
  | { readonly kind: 'alarm'; readonly why: Words; readonly atMs: number }
  /** Pipe closed, told to end: safe, then the end. */
  | { readonly kind: 'leave'; readonly why: Words; readonly atMs: number }

/**
 * What comes to a page, with every sentence put into words at its door (`web/wire/live.ts`): same names and shapes as in `live-frame.ts`,
 * `gauge-view.ts`, but what is a sentence as data there is a text here.
 */
import type { Worded } from '../../words/sentence/sentence.ts'
import type * as gauge from './gauge-view.ts'
import type * as live from './live-frame.ts'

export type { PeakView, PegView, SlotView } from './gauge-view.ts'
export type {
  KeyView,
  LiveState,
  Pass,
  PlaceOfStep,
  PlaceOnBench,
  RequestKind,
  SettingView,
  SignedRecord,
  SupplyView,
} from './live-frame.ts'
export { FromPage, STATES } from './live-frame.ts'
export type Answer = Worded<live.Answer>
export type Captured = Worded<live.Captured>
export type LiveEvent = Worded<live.LiveEvent>
export type LiveFrame = Worded<live.LiveFrame>
export type Mark = Worded<live.Mark>
export type ReadingView = Worded<gauge.ReadingView>
export type StepLine = Worded<live.StepLine>
export type StepView = Worded<live.StepView>
export type ToPage = Worded<live.ToPage>

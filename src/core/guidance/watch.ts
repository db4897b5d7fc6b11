import { printText } from '../../quantity/print-value.ts'
import type { Quantity } from '../../quantity/quantity.ts'
import type { MeterFacts, Reading } from '../../schema/kept/reading.ts'
import type { SupplyState } from '../../schema/messages/keeper-message.ts'
import type { LiveEvent, LiveFrame } from '../../schema/messages/live-frame.ts'
import { said, type Words } from '../../words/said/said.ts'
import type { Goal } from '../goal/goal.ts'
import { readBy } from '../goal/meter-for.ts'
import { addReading, ageOf, liveRule, sigmaDbOf } from '../reading/live.ts'
import { type Measured, startMeasured } from '../reading/measured.ts'
import { lateWords, MISS_TOLD_MS } from '../reading/missed.ts'
import { nudgeView, pegView, readingView, settleView, slotView } from './gauge.ts'
import { type Guide, say } from './guide.ts'
import { KEPT_EVENTS } from './kept-events.ts'
import { workGuide } from './work-guide.ts'

/** Just watching one quantity: the same gauge and the same words as in a job, no record, the supply untouched. */
export interface Watch extends Measured {
  readonly words: Words
  readonly events: readonly LiveEvent[]
  readonly down: Words
  /** The last reply that was missed, with the cure, and when one was last told; null before the first. */
  readonly missed: { readonly words: Words; readonly atMs: number; readonly toldMs: number } | null
  readonly supply: SupplyState | null
  readonly startedMs: number
  readonly nowMs: number
}

export function startWatch(facts: MeterFacts, goal: Goal, words: Words, nowMs: number): Watch {
  return {
    ...startMeasured(liveRule(facts, goal, 0, { usual: null })),
    words,
    events: [],
    down: '',
    missed: null,
    supply: null,
    startedMs: nowMs,
    nowMs,
  }
}

export type WatchEvent =
  | { readonly kind: 'tick' }
  | { readonly kind: 'reading'; readonly reading: Reading }
  | { readonly kind: 'supply'; readonly state: SupplyState }
  | { readonly kind: 'link'; readonly instrument: string; readonly up: boolean; readonly words: Words }
  | { readonly kind: 'missed'; readonly instrument: string; readonly words: Words }

/** One event further. Every reading counts: nothing was commanded. */
export function advanceWatch(before: Watch, event: WatchEvent, nowMs: number): Watch {
  const watch = { ...before, nowMs: Math.max(before.nowMs, nowMs) }
  switch (event.kind) {
    case 'tick':
      return watch
    case 'supply':
      return { ...watch, supply: event.state }
    case 'link':
      if (event.instrument !== watch.rule.facts.instrument) return watch
      return event.up
        ? tell(
            { ...watch, ...startMeasured(watch.rule), down: '' },
            'link back',
            said('guide.back', { instrument: event.instrument }),
          )
        : tell({ ...watch, down: event.words }, 'link lost', event.words)
    case 'missed': {
      if (event.instrument !== watch.rule.facts.instrument) return watch
      const told = watch.missed !== null && watch.nowMs - watch.missed.toldMs < MISS_TOLD_MS
      const toldMs = told ? (watch.missed?.toldMs ?? 0) : watch.nowMs
      const after = { ...watch, missed: { words: event.words, atMs: watch.nowMs, toldMs } }
      return told ? after : tell(after, 'note', said('guide.reply-missed', { why: event.words }))
    }
    case 'reading': {
      if (!readBy(watch.rule.facts, event.reading)) return watch
      const around = { counts: true, amps: watch.supply?.amps ?? null, heating: false }
      const live = addReading(watch.live, event.reading, watch.rule, around)
      const next = { ...watch, live }
      const passed = live.peak?.phase === 'passed over' && watch.live.peak?.phase !== 'passed over'
      if (passed) return tell(next, 'passed over', said('peak.over-the-top'))
      return live.peak?.newBest && live.peak.proved ? tell(next, 'new best', said('peak.new-best')) : next
    }
    default:
      return event satisfies never
  }
}

function tell(watch: Watch, what: LiveEvent['what'], words: Words): Watch {
  const seq = (watch.events.at(-1)?.seq ?? 0) + 1
  return { ...watch, events: [...watch.events.slice(1 - KEPT_EVENTS), { seq, what, words }] }
}

function guideOf(watch: Watch): Guide {
  const { live, rule } = watch
  if (watch.down !== '')
    return say('link lost', said('guide.lost', { instrument: rule.facts.instrument }), {
      because: watch.down,
      hands: 'off',
    })
  const { ageMs, oldAfterMs } = ageOf(live, rule.facts, watch.nowMs)
  if (Math.min(ageMs, watch.nowMs - watch.startedMs) > oldAfterMs)
    return say('old', said('guide.reading-old'), {
      because: lateWords(rule.facts.instrument, watch.missed, live.last),
      hands: 'off',
    })
  const guide = workGuide(live, rule, {
    nowMs: watch.nowMs,
    turned: true,
    adjuster: '',
    atBestSinceMs: null,
    approach: null,
  })
  return guide.state === 'steady' ? { ...guide, words: said('guide.there') } : guide
}

/** The whole picture of a watch. */
export function watchFrame(
  watch: Watch,
  about: { readonly bench: LiveFrame['bench']; readonly seq: number },
): LiveFrame {
  const { live, rule } = watch
  const guide = guideOf(watch)
  const amps = watch.supply?.amps ?? null
  return {
    ...emptyFrame(about, watch.nowMs),
    mode: 'watch',
    state: guide.state,
    reading: readingView(live, rule, watch.nowMs),
    slot: slotView(live, rule),
    peg: pegView(live, rule, guide.drop),
    peak: live.peak
      ? {
          fromStartDb: live.peak.fromStartDb,
          belowDb: live.peak.belowDb,
          sigmaDb: sigmaDbOf(rule.facts),
          proved: live.peak.proved,
          round: 1,
          rounds: 1,
          gainDb: null,
          adjuster: '',
          ...nudgeView(live.peak),
        }
      : null,
    settle: settleView(live),
    guide: { words: guide.words, way: guide.way, hands: guide.hands },
    because: guide.because,
    supply: {
      plugVolts: watch.supply?.volts ?? null,
      terminalVolts: watch.supply?.volts ?? null,
      amps,
      output: watch.supply?.output ?? 'unknown',
      resting: watch.supply?.resting ?? 'safe',
      moving: watch.supply?.moving ?? false,
      wantedVolts: null,
    },
    events: watch.events,
    offers: offersOf(watch.supply),
  }
}

/** The supply is offered while it is off, and only then. */
function offersOf(supply: SupplyState | null): LiveFrame['offers'] {
  const always = ['watch', 'start job', 'stop'] as const
  return supply?.output === 'off' ? [...always, 'supply on'] : always
}

/** A frame in which nothing is watched. */
export function emptyFrame(
  about: { readonly bench: LiveFrame['bench']; readonly seq: number },
  nowMs: number,
): LiveFrame {
  return {
    kind: 'frame',
    format: 1,
    seq: about.seq,
    atMs: nowMs,
    bench: about.bench,
    mode: 'idle',
    state: 'idle',
    reading: null,
    slot: null,
    peg: null,
    peak: null,
    settle: { share: 0, seconds: 0, word: '' },
    guide: { words: '', way: '', hands: '' },
    because: '',
    step: null,
    supply: {
      plugVolts: null,
      terminalVolts: null,
      amps: null,
      output: 'unknown',
      resting: 'safe',
      moving: false,
      wantedVolts: null,
    },
    key: { keyed: false, seconds: 0, atMostS: 0, share: 0, restLeftS: 0 },
    events: [],
    steps: [],
    captured: [],
    marks: [],
    settings: [],
    typing: null,
    job: null,
    beside: [],
    offers: ['watch', 'start job', 'stop'],
  }
}

/** An example of a target for a quantity, as a person would type it. */
export function exampleTarget(quantity: Quantity): string {
  switch (quantity) {
    case 'frequency':
      return '27.205 MHz +- 150 Hz'
    case 'RF power':
      return '3.6 .. 4.0 W'
    case 'FM deviation':
      return '1.60 .. 1.95 kHz'
    case 'AM depth':
      return '80 .. 90 %'
    case 'DC voltage':
      return '2.20 .. 2.60 V'
    case 'DC current':
      return '1.05 .. 1.45 A'
    case 'audio level':
      return `${printText(4, 'V')} +- 0.1 V`
    case 'audio distortion':
      return 'minimum'
    case 'SINAD':
      return 'maximum'
    case 'audio tone':
      return '1.00 kHz +- 10 Hz'
    case 'RF level':
      return '<= 0.5 uV'
    case 'signal meter':
      return '8.5 .. 9.5'
    default:
      return quantity satisfies never
  }
}

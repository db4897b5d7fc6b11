import type { Quantity } from '../../../quantity/quantity.ts'
import type { Stop } from '../../../schema/files/step-file.ts'
import type { Reading } from '../../../schema/kept/reading.ts'
import type { SupplyState } from '../../../schema/messages/keeper-message.ts'
import type {
  Captured,
  FromPage,
  LiveEvent,
  Mark,
  Pass,
  SettingView,
  StepLine,
} from '../../../schema/messages/live-frame.ts'
import type { Words } from '../../../words/said/said.ts'
import type { Step } from '../../goal/step.ts'
import type { Effects } from '../../homing/effect.ts'
import type { Rounds } from '../../peaking/rounds.ts'
import type { JobPlan } from '../../plan/lines.ts'
import type { BandChannel } from '../../radio/channels.ts'
import type { Kept } from '../../reading/capture.ts'
import type { Cause } from '../../reading/hold-off.ts'
import type { Measured } from '../../reading/measured.ts'
import type { WarmUp } from '../../warm-up/warm-up.ts'
import type { KeyClock } from './key-down.ts'

/** Where the job stands. `work` is the only phase in which readings can be captured. */
export type Phase =
  | { readonly name: 'read' }
  /** Something to do by hand and confirm: before the step, or at its next stop. */
  | { readonly name: 'action'; readonly words: Words }
  /** The set's own settings are being written down. */
  | { readonly name: 'settings' }
  /** The supply is to go up, and goes up only with the key up. */
  | { readonly name: 'key up first' }
  /** The supply and the oscillator are on their way to what the step wants. `id` is the effect that is waited for. */
  | { readonly name: 'arming'; readonly id: number; readonly supplyChanges: boolean }
  | { readonly name: 'work' }
  /** The set grows warm, and no other step can be done meanwhile; keyed again when the next sample is due. */
  | { readonly name: 'warming' }
  /** A value that is far out, and what may have been forgotten: kept or read again when a person has looked. */
  | { readonly name: 'question'; readonly taken: readonly Kept[]; readonly ask: Words; readonly why: Words }
  /** On the way to the journal; said to be captured only when it is there. */
  | { readonly name: 'keeping'; readonly taken: readonly Kept[] }
  /** Captured; goes on to the next step by itself when the key is up. */
  | { readonly name: 'done'; readonly sinceMs: number }
  | { readonly name: 'link lost'; readonly instrument: string; readonly words: Words }
  | { readonly name: 'paused'; readonly words: Words }
  | { readonly name: 'stopped'; readonly words: Words }
  | { readonly name: 'finished' }

/** A step being worked on. */
export interface OpenStep {
  readonly step: Step
  readonly channel: BandChannel | null
  /** What this stop reads, main quantity first: as far as somebody on this bench measures it. */
  readonly measured: readonly Measured[]
  readonly pass: Pass
  /** Which of the step's stops (key up or down, channels, tones) is being read. */
  readonly stop: Stop
  readonly stopAt: number
  readonly rounds: Rounds | null
  /** The adjuster in hand; "" for a check. */
  readonly adjuster: string
  /** What is still to be done by hand and confirmed before readings are taken. */
  readonly actions: readonly Words[]
  /** What the control voltage was while its jump to another channel is waited for, V; newest last. */
  readonly jumpSeen: readonly number[]
  /** Keyed since the step was opened or the last value typed: a meter that a person reads is typed with the key up again. */
  readonly wasKeyed: boolean
  /** Said before measuring: meters of this stop that cannot prove their band. */
  readonly coarse: readonly Words[]
  /** Cautions for a time-out of the set that is shorter than this step's key-down. */
  readonly timeOuts: readonly Words[]
  /** Mean supply current seen in each state, for the drop on the lead. */
  readonly statesSeen: readonly { readonly value: number; readonly amps: number | null }[]
  /** The program has trimmed the supply for the lead once. */
  readonly trimmed: boolean
  /** Since when the peak guide has said "at best", bench ms. */
  readonly atBestSinceMs: number | null
  /** What the counter last said when it was the wrong channel, kept while the key is up; "" once it was right. */
  readonly wrongSeen: Words
  /** The main target and the tone, in words. */
  readonly targetWords: Words
  readonly toneWords: Words
  /** Says why the key must come up before anything else; "" when it need not. */
  readonly release: Words
}

export interface StepResult {
  readonly state: 'to do' | 'done' | 'out of band' | 'left out'
  readonly reason: Words
}

/** Where a reading begins to count, per quantity, after the changes so far. */
export interface CountFrom {
  readonly epoch: number
  /** Until when the set takes to follow its supply, bench ms. */
  readonly supplyMs: number
  readonly fromMs: ReadonlyMap<Quantity, number>
}

export interface Job {
  readonly plan: JobPlan
  readonly phase: Phase
  /** Index of the line at hand. */
  readonly at: number
  readonly open: OpenStep
  readonly results: readonly StepResult[]
  /** null before the first sample of a warm-up. */
  readonly warming: Warming | null
  readonly captured: readonly Captured[]
  /** The newest capture, for as long as it may be taken back. */
  readonly lastKept: {
    readonly numbers: readonly number[]
    readonly at: number
    readonly stopAt: number
    readonly atMs: number
  } | null
  readonly marks: readonly Mark[]
  /** Cautions that a person has gone on from. */
  readonly cautionsSeen: readonly Words[]
  /** Somebody has answered, in this job and since it was opened here, that the load is on. */
  readonly loadIsOn: boolean
  /** What was captured since the job was opened here, to be held against each other. */
  readonly taken: readonly Taken[]
  /** What the adjusters are known to do, from this job and those before it. */
  readonly effects: Effects
  readonly settings: readonly SettingView[]
  /** The list of lines as pages show it; made anew when something in it changed. */
  readonly sheet: readonly StepLine[]
  /** Something on the board has been turned: as found is closed. */
  readonly turned: boolean
  /** Pairs "adjuster step" that were opened again once already. */
  readonly reopened: readonly string[]
  readonly events: readonly LiveEvent[]
  readonly supply: SupplyState | null
  /** What the supply was last told, at its terminals. */
  readonly armed: { readonly volts: number; readonly tone: boolean } | null
  readonly key: KeyClock
  /** Newest RF power and frequency, whatever step: key and channel are seen in them. */
  readonly seen: { readonly power: Reading | null; readonly frequency: Reading | null }
  readonly counting: CountFrom
  /** The lead between supply and set: ohm, and the currents it was measured with. */
  readonly lead: { readonly ohms: number; readonly receiveAmps: number; readonly keyedAmps: number }
  /** Instruments that do not answer, each with why. */
  readonly down: readonly { readonly instrument: string; readonly words: Words }[]
  /** What each instrument missed last, with the cure, and when. */
  readonly missed: readonly Missed[]
  /** What the bench was last told to read. */
  readonly watched: readonly Quantity[]
  readonly pagePresent: boolean
  /** Since when nobody has been at the page that steers, bench ms; null while somebody is, and once the supply went off for it. */
  readonly absentSinceMs: number | null
  readonly nextId: number
  readonly keyWarned: number
  readonly nowMs: number
  /** Wall time of the newest event, ISO 8601. */
  readonly wall: string
  readonly log: readonly JobMark[]
}

export interface Missed {
  readonly instrument: string
  readonly words: Words
  readonly atMs: number
  /** When a miss of this instrument was last told. */
  readonly toldMs: number
}

/** A change of state with its time, kept so that it can be said afterwards where the time went. */
export interface JobMark {
  readonly atMs: number
  readonly step: string
  readonly state: string
}

export type JobEvent =
  | { readonly kind: 'tick'; readonly atMs: number }
  | { readonly kind: 'reading'; readonly reading: Reading; readonly atMs: number }
  | { readonly kind: 'supply'; readonly state: SupplyState; readonly atMs: number }
  /** The bench has raised its epoch because of `cause`. */
  | { readonly kind: 'changed'; readonly cause: Cause; readonly epoch: number; readonly atMs: number }
  | { readonly kind: 'armed'; readonly id: number; readonly ok: boolean; readonly words: Words; readonly atMs: number }
  | {
      readonly kind: 'link'
      readonly instrument: string
      readonly up: boolean
      readonly words: Words
      readonly atMs: number
    }
  /** One reply of an instrument was missed; its link stands. */
  | { readonly kind: 'missed'; readonly instrument: string; readonly words: Words; readonly atMs: number }
  | {
      readonly kind: 'acted'
      readonly resting: 'normal' | 'safe'
      readonly why: Words
      /** The output was read back as it says. */
      readonly proved: boolean
      readonly atMs: number
    }
  /** The values wanted kept are on disk, or could not be written. */
  | { readonly kind: 'kept'; readonly ok: boolean; readonly words: Words; readonly atMs: number }
  | { readonly kind: 'page'; readonly present: boolean; readonly why: Words; readonly atMs: number }
  /** The computer slept, or its clock was set: in words. */
  | { readonly kind: 'clock'; readonly words: Words; readonly atMs: number }
  | { readonly kind: 'request'; readonly request: FromPage; readonly atMs: number }

/** What the shell is to do. Nothing else turns a knob. */
export type Effect =
  | {
      readonly kind: 'arm'
      readonly id: number
      /** At the supply's terminals. */
      readonly volts: number
      readonly amps: number
      readonly tone: { readonly hz: number; readonly volts: number } | null
      /** The supply stands as the step wants it already: only the tone changes, and a keyed supply is not touched. */
      readonly toneOnly: boolean
      /** Switch the output on first (limits, trip, normal voltage, read back). */
      readonly start: boolean
    }
  | { readonly kind: 'normal'; readonly why: Words }
  | { readonly kind: 'safe'; readonly why: Words }
  | { readonly kind: 'tone off' }
  | { readonly kind: 'watch'; readonly quantities: readonly Quantity[] }
  | { readonly kind: 'raise epoch'; readonly cause: Cause }
  | { readonly kind: 'keep'; readonly taken: readonly Kept[] }

export interface Advance {
  readonly job: Job
  readonly effects: readonly Effect[]
  /** The answer to a request; null for other events. */
  readonly answer: { readonly ok: boolean; readonly words: Words } | null
}

/** A captured value with the conditions that tell it from others of its kind. */
export interface Taken {
  readonly number: number
  readonly step: string
  readonly pass: Kept['pass']
  readonly quantity: Kept['quantity']
  readonly label: Kept['label']
  readonly value: number
  readonly state: 'receive' | 'transmit'
  readonly mode: string
  readonly channel: number | null
  readonly transmitHz: number
  readonly supplyVolts: number
  readonly tone: { readonly hz: number; readonly volts: number } | null
  /** Which of the step's stops it is, in words; "" where there is only one. */
  readonly which: Words
}

/** A set that grows warm behind the steps that need no key: its samples so far, and when the next short key-down is due. */
export interface Warming {
  /** Index of the line that waits. */
  readonly at: number
  readonly samples: WarmUp
  /** Where it should end, Hz; null where the step names no channel. */
  readonly aimHz: number | null
  /** Bench clock, ms. */
  readonly dueMs: number
}

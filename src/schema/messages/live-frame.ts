import { z } from 'zod'
import type { Quantity } from '../../quantity/quantity.ts'
import type { Words } from '../../words/said/said.ts'
import { Intake } from '../kept/intake.ts'
import type { Place, PlaceName } from '../kept/place-kind.ts'
import type { KeptValue } from '../kept/record.ts'
import type { PeakView, PegView, ReadingView, SlotView } from './gauge-view.ts'

/**
 * Where the person stands. One of these a frame; the page, the ear and the simulated hand all go by it.
 * - idle: nothing is watched; read step: the step is shown, "ready" starts it; supply moving: arming
 * - action: something to do and confirm (open PW fully); key now / release key / rest: the transmitter's turn
 * - hold-off: readings do not count yet; settling: they count and are not steady yet (check)
 * - far, near, in, steady: set-to outside the band, close to it, inside it, inside the aim window and steady
 * - climb, passed over, return, at best: the peak guide; nudge: a small turn, then hands still, for meters that cannot be turned by; highest: the largest is looked for; type in: a person reads the meter
 * - warming: the set grows warm; a short key-down is due now and then
 * - settings: the set's own settings are written down, as found or as left
 * - question: a value is far out, and something may have been forgotten: it is kept, or read again
 * - captured: a value is kept; wrong channel, no effect, cannot reach, over range, old, link lost: nothing counts
 * - paused: at normal, waiting for the person (page was gone, meter lost); stopped: supply off for safety; finished: the job is done
 */
export const STATES = [
  'idle',
  'read step',
  'supply moving',
  'action',
  'key now',
  'release key',
  'rest',
  'hold-off',
  'settling',
  'far',
  'near',
  'in',
  'steady',
  'climb',
  'passed over',
  'return',
  'at best',
  'nudge',
  'highest',
  'warming',
  'type in',
  'settings',
  'question',
  'captured',
  'wrong channel',
  'no effect',
  'cannot reach',
  'over range',
  'old',
  'link lost',
  'paused',
  'stopped',
  'finished',
] as const
export type LiveState = (typeof STATES)[number]

/** One place of a step, with which one it is. */
export type PlaceOfStep = { readonly [Name in PlaceName]: { readonly what: Name } & Place<Name> }[PlaceName]

export interface StepView {
  readonly id: string
  /** The rows of the printed sheet it stands for ("A9 to A11"). */
  readonly row: string
  readonly number: number
  readonly of: number
  readonly title: string
  readonly technique: 'set' | 'peak' | 'dip' | 'check' | 'highest' | 'wait' | 'do' | 'settings'
  readonly pass: Pass
  /** Where a step repeats: which of its channels, tones or levels is being read; null where it does not. */
  readonly stop: { readonly number: number; readonly of: number; readonly words: Words } | null
  /** An open microphone would hear the gauge: pages are silent while this says off. */
  readonly sounds: 'on' | 'off'
  /** What is turned now, "" for a check; where it is and with what it is turned. */
  readonly adjuster: string
  readonly adjusterWhere: string
  readonly tool: Place<'tool'> | null
  /** Where the hands and the leads go, in the order in which they go there. */
  readonly where: readonly PlaceOfStep[]
  /** What is read, the main quantity first, and with which instrument; null where nobody on this bench measures it. */
  readonly reads: readonly { readonly quantity: Quantity; readonly instrument: string | null }[]
  /** The set's case is on no side of the supply: nothing earthed may touch it. */
  readonly floating: boolean
  readonly targetWords: Words
  readonly transmit: 'receive' | 'transmit'
  readonly mode: string
  readonly channelWanted: number | null
  /** The computed middle of the bands in use, shown beside the sheet's own channel. */
  readonly channelMiddle: number | null
  /** What the counter says the set is on; null when not known (receive). */
  readonly channelSeen: number | null
  readonly tone: Words
  /** The action to confirm before this step, or "". */
  readonly before: Words
  /** What is to be done now needs to know the bands of the job. */
  readonly asksForBands: boolean
  /** Cautions of this step that were not yet seen in this job, to be read before "ready"; and those that were. */
  readonly cautions: readonly Words[]
  readonly cautionsSeen: readonly Words[]
  /** The bands of this job, in words. */
  readonly bands: readonly string[]
}

export interface SupplyView {
  /** Volts at the set's plug: measured at the terminals, less the drop on the lead. */
  readonly plugVolts: number | null
  readonly terminalVolts: number | null
  readonly amps: number | null
  readonly output: 'on' | 'off' | 'unknown'
  readonly resting: 'normal' | 'safe' | 'working'
  readonly moving: boolean
  /** What this step wants at the plug; null where the supply is not touched. */
  readonly wantedVolts: number | null
}

export interface KeyView {
  readonly keyed: boolean
  readonly seconds: number
  readonly atMostS: number
  /** Used share of this key-down, 0 to 1.2. */
  readonly share: number
  readonly restLeftS: number
}

/** found: before anything was turned; work: while aligning; left: at the end, cover on and hands off. */
export type Pass = 'found' | 'work' | 'left'

/** One captured value as the page shows it: what is kept of it, without its evidence. */
export type Captured = Readonly<Omit<KeptValue, 'evidence'>>

/** A moment that a person marked with both hands busy, to say afterwards what it was; `words` is "" until then. */
export interface Mark {
  /** Number within the job, from 1. */
  readonly number: number
  /** Wall time, ISO 8601. */
  readonly at: string
  /** Title of the step that was open. */
  readonly title: string
  /** What the meter showed, as it was shown ("3.85 W"); "" when nothing was read. */
  readonly reading: Words
  readonly words: string
}

/** Something that happened once. The page plays each `seq` once, however frames are coalesced. */
export interface LiveEvent {
  readonly seq: number
  readonly what:
    | 'new best'
    | 'passed over'
    | 'captured'
    | 'key now'
    | 'release key'
    | 'key down 70'
    | 'key down 90'
    | 'snap'
    | 'no effect'
    | 'old'
    | 'link lost'
    | 'link back'
    | 'stopped'
    | 'step done'
    | 'finished'
    | 'clock'
    | 'note'
  readonly words: Words
}

export interface StepLine {
  /** Of the line, for requests that name it; what it is made of stands in `step` and `pass`. */
  readonly id: string
  /** The step's own id, alike in every pass. */
  readonly step: string
  readonly pass: Pass
  readonly row: string
  readonly title: string
  readonly state: 'to do' | 'open' | 'done' | 'out of band' | 'left out'
  readonly result: Words
}

/** The signed record of a closed job: its file and the fingerprint of the key; "" while there is none. */
export interface SignedRecord {
  readonly record: string
  readonly fingerprint: string
}

/** One of the set's own settings in its three columns; "" where nothing is written yet. */
export interface SettingView {
  readonly name: string
  readonly found: string
  readonly job: string
  readonly left: string
  /** Why it is left other than it was found. */
  readonly reason: string
}

/** One picture of the bench, whole in itself: a page that missed some needs only the newest. */
export interface LiveFrame {
  readonly kind: 'frame'
  readonly format: 1
  readonly seq: number
  /** Service clock, ms. */
  readonly atMs: number
  readonly bench: { readonly name: string; readonly simulated: boolean }
  readonly mode: 'idle' | 'watch' | 'job'
  readonly state: LiveState
  readonly reading: ReadingView | null
  readonly slot: SlotView | null
  readonly peg: PegView | null
  readonly peak: PeakView | null
  /** In state highest: the largest so far as it is written ("1.84 kHz"), and its place in e; absent otherwise. */
  readonly largest?: { readonly label: string; readonly e: number }
  /** Settling: 0 to 1, and the seconds it has been watched. */
  readonly settle: { readonly share: number; readonly seconds: number; readonly word: Words }
  /** The one sentence of guidance, which way the reading should go, and whether hands stay on the tool. */
  readonly guide: {
    readonly words: Words
    readonly way: 'up' | 'down' | 'back' | 'hold' | ''
    readonly hands: 'on' | 'off' | ''
  }
  /** Why, for states where nothing counts. */
  readonly because: Words
  readonly step: StepView | null
  readonly supply: SupplyView
  readonly key: KeyView
  readonly events: readonly LiveEvent[]
  readonly steps: readonly StepLine[]
  readonly captured: readonly Captured[]
  readonly marks: readonly Mark[]
  /** Other quantities that this step reads beside the main one. */
  readonly beside: readonly ReadingView[]
  /** The set's own settings, for the list to restore; empty where the procedure has none. */
  readonly settings: readonly SettingView[]
  /** A quantity that a person reads and types now, with an example of how it is written and its unit there; null otherwise. */
  readonly typing: {
    readonly quantity: Quantity
    readonly instrument: string
    readonly example: string
    readonly unit: string
  } | null
  /** The job at hand or just closed: its serial, and the signed record once there is one. */
  readonly job: ({ readonly serial: string; readonly id: string } & SignedRecord) | null
  /** Requests that make sense now. */
  readonly offers: readonly RequestKind[]
  /** Until when the last capture may be taken back, service clock, ms; absent while it may not. */
  readonly takeBackUntilMs?: number
}

const id = z.string().min(1).max(64)

/** What a page, or the simulated hand, may ask for. `id` is the page's own and never used again, not even after a reload: a request sent twice is done once. */
export const FromPage = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('here'), visible: z.boolean() }),
  z.strictObject({ kind: z.literal('watch'), id, quantity: z.string().max(40), target: z.string().max(80) }),
  /** While watching: the supply to the normal voltage of a procedure's set, with its trip and limit. */
  z.strictObject({ kind: z.literal('supply on'), id, procedure: z.string().max(120) }),
  z.strictObject({
    kind: z.literal('start job'),
    id,
    procedure: z.string().max(120),
    serial: z.string().max(40),
    bands: z.array(z.string().max(40)).max(20),
    /** File of the rule card that was chosen; none: nothing beyond the sheet's own targets, and no AM. */
    rules: z.string().max(120).optional(),
    complaint: z.string().max(500).optional(),
    intake: Intake.optional(),
    /** An earlier job of the same serial, whose as-found readings stand. */
    continues: z.string().max(80).optional(),
  }),
  /** A job whose service ended in the middle: opened where it stood, with nothing switched on. */
  z.strictObject({ kind: z.literal('reopen job'), id, job: z.string().max(80) }),
  /** What a person read off a meter; `sure` after the question about the decade. */
  z.strictObject({
    kind: z.literal('type in'),
    id,
    quantity: z.string().max(40),
    text: z.string().max(60),
    sure: z.boolean().optional(),
  }),
  z.strictObject({
    kind: z.literal('note setting'),
    id,
    name: z.string().max(60),
    column: z.enum(['found', 'job', 'left']),
    value: z.string().max(60),
    reason: z.string().max(200).optional(),
  }),
  z.strictObject({ kind: z.literal('ready'), id }),
  z.strictObject({ kind: z.literal('confirm'), id }),
  z.strictObject({ kind: z.literal('capture'), id, by: z.enum(['key', 'click']) }),
  z.strictObject({ kind: z.literal('next'), id }),
  /** The step that came out of band is opened once more; of a value that is asked about, its stop. */
  z.strictObject({ kind: z.literal('again'), id }),
  /** The value that is asked about is right as it is. */
  z.strictObject({ kind: z.literal('keep'), id }),
  /** The last capture was a mistake: within five seconds, while `offers` has it. Both values stay in the record. */
  z.strictObject({ kind: z.literal('take back'), id }),
  /** This moment matters; what it was is said afterwards. */
  z.strictObject({ kind: z.literal('mark'), id }),
  /** Something odd happened: what led to it is kept as a file, for whoever has to find out why. */
  z.strictObject({ kind: z.literal('keep course'), id }),
  z.strictObject({
    kind: z.literal('explain'),
    id,
    mark: z.number().int().min(1).max(999),
    words: z.string().max(200),
  }),
  z.strictObject({ kind: z.literal('open step'), id, step: z.string().max(60) }),
  z.strictObject({ kind: z.literal('leave out'), id, step: z.string().max(60), reason: z.string().min(3).max(200) }),
  z.strictObject({ kind: z.literal('stop'), id }),
  z.strictObject({ kind: z.literal('go on'), id }),
  z.strictObject({ kind: z.literal('close job'), id }),
  z.strictObject({ kind: z.literal('steer'), id }),
  z.strictObject({ kind: z.literal('hand over'), id }),
])
export type FromPage = z.infer<typeof FromPage>
export type RequestKind = FromPage['kind']

/** One thing that the loaded procedures need of the bench, or that it measures beside: who is there for it, and how. */
export interface PlaceOnBench {
  /** `tone`: the audio oscillator for the microphone socket. */
  readonly what: Quantity | 'tone'
  /** Some loaded procedure asks for it. */
  readonly needed: boolean
  /** Its name in the bench file; null: nobody, the place is empty. */
  readonly instrument: string | null
  /** up: it answers; down: it does not; typed: a person reads it and types; none: nobody is there. */
  readonly link: 'up' | 'down' | 'typed' | 'none'
  /** Whether its input is isolated from its computer link; yes wherever that cannot short anything. */
  readonly isolated: 'yes' | 'no' | 'unknown'
  /** dB between the set and the meter, 0 where there is no pad. */
  readonly lossDb: number
}

/** What whoever asked is told: done, or in words why not. */
export interface Answer {
  readonly ok: boolean
  readonly words: Words
  /** Not refused: asked whether it is meant so, and done where the same comes again as `sure`. */
  readonly asksBack?: true
}

/** What the service sends beside frames. */
export type ToPage =
  | LiveFrame
  | {
      readonly kind: 'welcome'
      readonly format: 1
      readonly bench: { readonly name: string; readonly simulated: boolean }
      /** What this bench measures, with an example of a target for each. */
      readonly measures: readonly {
        readonly quantity: Quantity
        readonly instrument: string
        readonly example: string
      }[]
      readonly procedures: readonly {
        readonly file: string
        readonly title: string
        readonly bands: readonly { readonly id: string; readonly words: string; readonly use: 'yes' | 'ask' | 'no' }[]
        /** What has to be known of this bench's supply before a job of it is begun. */
        readonly supplyCautions: readonly Words[]
        /** What has to be known before the supply is switched on to watch a radio of it. */
        readonly watchCautions: readonly Words[]
      }[]
      /** Files that are wrong and not offered: where, and what would be right, a line each. */
      readonly wrongFiles: readonly { readonly file: string; readonly words: readonly Words[] }[]
      /** Rule cards that can be chosen: file, title, and what they allow in words. */
      readonly ruleCards: readonly { readonly file: string; readonly title: string; readonly allows: Words }[]
      /** Jobs that were never closed, newest first. */
      readonly openJobs: readonly {
        readonly job: string
        readonly serial: string
        readonly procedure: string
        readonly startedAt: string
        readonly captured: number
      }[]
      /** Closed jobs, newest first: a new one of the same serial may go on from what was found in one of them. */
      readonly closedJobs: readonly {
        readonly job: string
        readonly serial: string
        readonly procedure: string
        readonly closedAt: string
      }[]
      readonly setPage: string | null
      readonly places: readonly PlaceOnBench[]
    }
  | { readonly kind: 'role'; readonly steering: 'you' | 'another' | 'nobody'; readonly asked: boolean }
  | ({ readonly kind: 'answer'; readonly id: string } & Answer)
  | { readonly kind: 'beat'; readonly atMs: number }

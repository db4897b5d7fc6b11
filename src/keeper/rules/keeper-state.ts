import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import type { FromKeeper, ToKeeper } from '../../schema/messages/keeper-message.ts'
import { said, type Words } from '../../words/said/said.ts'
import { realFactor, STANDBY } from './silence.ts'

/** The keeper's times (ms on its clock), steps and tolerances. */
export const KEEPER = {
  /** Without a beat this long: safe. */
  beatLostMs: 3000,
  /** Questions to the supply unanswered for this long: safe. */
  unreadableMs: 1000,
  /** From one look at the supply to the next: output on (at least 8 a second), output off, proving that it is off. */
  lookOnMs: 110,
  lookOffMs: 190,
  proveMs: 50,
  /** A supply that does not answer is looked at no oftener than this; the order "off" has its own pace. */
  blindMs: 200,
  /** Looks while waiting for the volts. */
  reachLookMs: 100,
  /** Upward: 0.1 V each 100 ms, with a look between two steps that sees the key up. */
  rampStepVolts: 0.1,
  rampStepMs: 100,
  rampLookMs: 40,
  /** The measured volts count as reached within the larger of both, this many looks running, in this time. */
  reachVolts: 0.05,
  reachShare: 0.01,
  reachLooks: 3,
  reachMs: 5000,
  /** A setting read back may differ by the larger of both, and is asked this often. */
  agreeAmps: 0.02,
  agreeShare: 0.02,
  agreeLooks: 3,
  /** Volts below this share of the setting for this long, output on: the current limit rules. Soft start is left alone. */
  sagShare: 0.8,
  sagMs: 500,
  softStartMs: 1000,
  /** How long the output may take to do as told before it counts as having acted on its own. */
  relayMs: 600,
  /** Looks running above the ceiling. */
  overLooks: 2,
  /** Off is proved below this many volts, or by a fall of that many. */
  offVolts: 1,
  offFallVolts: 0.2,
  /** An order "off" is given again when it is not proved in this time, or not taken; later each time. */
  offAgainMs: 700,
  offWaitsMs: [0, 50, 100, 200, 400, 500] as readonly number[],
  /** The longest from an order "off" that was taken to the next: a line that is mended carries one soon. */
  offEveryMs: 900,
  /** When an unproved "off" is said, when whoever asked for it is refused. */
  sayUnprovedMs: 1000,
  offRefusedMs: 3000,
  /** The longest a way up may take, per volt of its goal; a way up to normal waits this long for the key besides. */
  rampMsPerVolt: 2000,
  keyWaitMs: 30_000,
  /** An ending keeper tries this long to prove the output off. */
  endMs: 30_000,
  /** Once off is proved: the longest that lowering the voltage setting may take. */
  lowerMs: 1500,
  /** A setting is sent again once after a missed reply. */
  settingTries: 2,
  longestQueue: 8,
} as const

/** The supply's own over-voltage trip, an external crowbar (V), or nothing. */
export type TripRule = 'own' | 'none' | { readonly crowbarVolts: number }

/** Fixed from the start: the ceiling of the bench file, and how large a gap between two ticks means the computer slept. */
export interface KeeperRules {
  readonly who: string
  readonly ownVolts: number
  readonly ownAmps: number
  readonly sleptMs: number
  /** Without a beat this long: safe. */
  readonly beatLostMs: number
  /** A keeper whose last tick is older than this only switches off. */
  readonly staleMs: number
  /** Times the usual waits for the supply's answers: on a fast clock they take as long as ever. 1 for real work. */
  readonly patience: number
  /** From one look at the supply to the next with the output on, ms. */
  readonly lookOnMs: number
  /** The lowest voltage that the supply can be set to. */
  readonly leastVolts: number
  /** What ends an over-voltage when this keeper cannot. Without any, nothing goes above normal. */
  readonly trip: TripRule
  /** No way up while no standby is heard; for a keeper that is a process of its own. */
  readonly needsStandby: boolean
}

/**
 * The rules on a clock that runs `times` faster than real time. Everything goes by the clock, except that programs need real
 * time to answer: never less than half a second of it for a beat or the supply, and standing still for 2 s of it is sleep.
 */
export function rulesFor(who: string, ownVolts: number, ownAmps: number, times: number): KeeperRules {
  return {
    who,
    ownVolts,
    ownAmps,
    sleptMs: SLEPT_MS * times,
    beatLostMs: Math.max(KEEPER.beatLostMs, LEAST_MS * times),
    staleMs: STANDBY.staleMs * realFactor(times),
    patience: Math.max(1, (LEAST_MS * times) / KEEPER.unreadableMs),
    lookOnMs: KEEPER.lookOnMs,
    leastVolts: 0,
    trip: 'own',
    needsStandby: false,
  }
}

const SLEPT_MS = 2000
/** Real time that a program may need to answer, ms. */
const LEAST_MS = 500

/** One kind of request. */
export type Verb<V extends ToKeeper['verb']> = Extract<ToKeeper, { verb: V }>
/** A request that changes something and is answered. */
export type Order = Verb<'limits'> | Verb<'set'> | Verb<'on'> | Verb<'normal'>
export type Limits = Omit<Verb<'limits'>, 'verb' | 'id' | 'wish'>

/** One thing to do with the supply. */
export type Act =
  | { readonly do: 'look' }
  | { readonly do: 'off' }
  | { readonly do: 'on' }
  | { readonly do: 'volts'; readonly volts: number }
  | { readonly do: 'amps'; readonly amps: number }
  | { readonly do: 'trip'; readonly volts: number }

/** One step of a plan. The looks asked for here are fresh: begun after the step before was done. */
export type Step =
  | { readonly do: 'act'; readonly act: Act }
  /** Decides with a fresh look what the order needs. */
  | { readonly do: 'decide' }
  | { readonly do: 'prove off' }
  /** The first output, so low that neither a reversed plug nor a short does harm, is looked at. */
  | { readonly do: 'sniff'; readonly volts: number; readonly amps: number }
  /** The settings read back are these. */
  | { readonly do: 'agree'; readonly volts: number | null; readonly amps: number | null }
  | { readonly do: 'ramp'; readonly volts: number; readonly keyed: 'refuse' | 'wait' }
  /** The receive limit, once the key is up. */
  | { readonly do: 'rest limit'; readonly amps: number }
  | { readonly do: 'reach'; readonly volts: number }

/** An order being carried out. */
export interface Plan {
  readonly order: Order
  readonly steps: readonly Step[]
  /** When the step at hand began. */
  readonly sinceMs: number
  /** Looks that agreed so far (`reach`), or that did not (`agree`). */
  readonly looks: number
  readonly tries: number
  /** When the last upward step left. */
  readonly steppedMs: number
  /** When the step at hand is given up. */
  readonly untilMs: number
  /** Volts when the order was decided: "off" is proved by a fall from there. */
  readonly fromVolts: number
}

/** On the way to the resting state "safe". */
export interface Safing {
  readonly why: Words
  readonly sinceMs: number
  readonly stage: 'find' | 'off' | 'prove'
  /** Not asked for: said and locked. */
  readonly byItself: boolean
  readonly ids: readonly number[]
  readonly tries: number
  /** When the next order "off" is due; when the last one was taken. */
  readonly offDueMs: number
  readonly offDoneMs: number
  /** Volts from which the fall is measured. */
  readonly fromVolts: number | null
  readonly saidUnproved: boolean
  /** After which of its tries the voltage of an output that will not go off was last brought down; -1: not yet. */
  readonly downAtTry: number
}

/** Off is proved, and the voltage setting is on its way down. */
export interface Lowering {
  readonly volts: number
  readonly sinceMs: number
  readonly stage: 'write' | 'look'
  /** When the newest write was over. */
  readonly doneMs: number
  readonly tries: number
  /** Why the newest write was not taken; null when it was. */
  readonly refusal: Words | null
}

export interface KeeperState {
  readonly rules: KeeperRules
  /** Somebody is there who makes the supply safe when this keeper dies or freezes. */
  readonly standby: boolean
  readonly limits: Limits | null
  /** Trip and current limit have been set and read back under these limits. */
  readonly armed: boolean
  /** Why nothing but `limits` of a new wish is taken: after any `off`, asked for or not; null when orders are taken. */
  readonly locked: Words | null
  /** What `on` will give. */
  readonly target: { readonly volts: number; readonly amps: number } | null
  /** The newest wish heard of; all up to `dead` have ended, and nothing is done for them any more. */
  readonly wishes: { readonly newest: number; readonly dead: number }
  readonly plan: Plan | null
  readonly queue: readonly Order[]
  readonly safing: Safing | null
  readonly lowering: Lowering | null
  /** Why the setting is not written any more once off is proved again; null while it may be. */
  readonly mayNotLower: Words | null
  /** Normal voltage of the newest limits, kept when those are gone; null before the first. */
  readonly normalVolts: number | null
  /** Receive limit to be set when the key comes up; null for none. */
  readonly restAmps: number | null
  readonly resting: 'normal' | 'safe' | 'working'
  /** The output as it was last ordered, and since when. */
  readonly output: { readonly asked: 'on' | 'off' | 'unknown'; readonly sinceMs: number }
  readonly inFlight: Act | null
  readonly lookBegunMs: number
  readonly back: SupplyReadBack | null
  /** The newest look failed. */
  readonly blind: { readonly beganMs: number; readonly atMs: number } | null
  /** Why there is no link to it, in words; null while there is one. */
  readonly lost: Words | null
  /** When the supply was last heard; when the first question since then left, null where all are answered. */
  readonly heardMs: number
  readonly askedMs: number | null
  readonly beatMs: number
  readonly bootMs: number | null
  readonly sagSinceMs: number | null
  readonly overLooks: number
  readonly ending: { readonly why: Words; readonly sinceMs: number } | null
  /** Set once an ending keeper may go: whether the output was proved off. */
  readonly ended: { readonly proved: boolean } | null
}

/** A line for the disk. */
export interface KeeperNote {
  readonly what: 'found on' | 'going safe' | 'safe' | 'not proved' | 'left high' | 'ended'
  readonly why: Words
  readonly proved: boolean
  readonly volts: number | null
  readonly amps: number | null
  readonly atMs: number
}

/** What the fold wants said and written down. */
export interface Told {
  readonly says: FromKeeper[]
  readonly notes: KeeperNote[]
}

/**
 * The keeper before its first look: locked, on its way to safe, whatever the supply is doing. `offFirst` says why the
 * output is to go off before anything is looked at.
 */
export function startedKeeper(rules: KeeperRules, atMs: number, offFirst: Words | null = null): KeeperState {
  return {
    rules,
    standby: !rules.needsStandby,
    limits: null,
    armed: false,
    locked: offFirst ?? said('keeper.just-started'),
    target: null,
    wishes: { newest: 0, dead: 0 },
    plan: null,
    queue: [],
    safing: {
      why: offFirst ?? said('keeper.started'),
      sinceMs: atMs,
      stage: offFirst === null ? 'find' : 'off',
      byItself: true,
      ids: [],
      tries: 0,
      offDueMs: atMs,
      offDoneMs: atMs,
      fromVolts: null,
      saidUnproved: false,
      downAtTry: -1,
    },
    lowering: null,
    mayNotLower: null,
    normalVolts: null,
    restAmps: null,
    resting: 'safe',
    output: { asked: 'unknown', sinceMs: atMs },
    inFlight: null,
    lookBegunMs: Number.NEGATIVE_INFINITY,
    back: null,
    blind: null,
    lost: null,
    heardMs: atMs,
    askedMs: null,
    beatMs: atMs,
    bootMs: null,
    sagSinceMs: null,
    overLooks: 0,
    ending: null,
    ended: null,
  }
}

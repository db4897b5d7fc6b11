import { type Kept, keep } from '../../src/keeper/rules/keep.ts'
import type { KeeperEvent } from '../../src/keeper/rules/keeper-event.ts'
import {
  type Act,
  type KeeperNote,
  type KeeperState,
  rulesFor,
  startedKeeper,
  type TripRule,
} from '../../src/keeper/rules/keeper-state.ts'
import { beatDueMs, wanted } from '../../src/keeper/rules/keeper-wanted.ts'
import type { FromKeeper, ToKeeper } from '../../src/schema/messages/keeper-message.ts'
import { type Worded, worded } from '../../src/words/sentence/sentence.ts'
import { type Command, command, look, type SupplyModel, supplyModel } from './supply-model.ts'

/** An act as it was begun: what the keeper knew, and how the supply really stood. */
export interface Done {
  readonly act: Act
  readonly beganMs: number
  readonly before: KeeperState
  readonly supply: { readonly on: boolean; readonly setVolts: number }
}

/** The keeper's fold on a supply model, one act at a time, each taking `actMs`; no shell, no clock but this one. */
export interface FoldBench {
  readonly model: SupplyModel
  /** In words, as they are read. */
  readonly says: Worded<FromKeeper>[]
  readonly notes: Worded<KeeperNote>[]
  readonly acts: Done[]
  state(): KeeperState
  nowMs(): number
  ask(request: Asked): void
  feed(event: KeeperEvent): void
  /** Lets time pass; beats each second unless `beats` is false. Fails every exchange while `deaf`. */
  pass(ms: number): void
  beats: boolean
  deaf: boolean
  /** Exchanges with this act fail with this code. */
  refuses: { act: Act['do']; code: string } | null
  /** Answer to a request, if it has come. */
  answer(id: number): Worded<FromKeeper> | undefined
}

type Loose<T> = T extends { wish: number }
  ? Omit<T, 'wish'> & { wish?: number }
  : T extends { upTo: number }
    ? Omit<T, 'upTo'> & { upTo?: number }
    : T
/** A request whose wish need not be said: a live one then; `normal` and `off` end all that the keeper has heard of. */
export type Asked = Loose<ToKeeper>

/** The request as it goes through the pipe, for this wish unless it says another. */
export function withWish(request: Asked, wish: number): ToKeeper {
  switch (request.verb) {
    case 'limits':
    case 'set':
    case 'on':
      return { ...request, wish: request.wish ?? wish }
    case 'normal':
    case 'off':
      return { ...request, upTo: request.upTo ?? 0 }
    default:
      return request
  }
}

const TICK_MS = 100

export function foldBench(
  options: { ownVolts?: number; ownAmps?: number; actMs?: number; model?: SupplyModel; trip?: TripRule } = {},
): FoldBench {
  const model = options.model ?? supplyModel()
  const actMs = options.actMs ?? 10
  let nowMs = 0
  const rules = rulesFor('supply', options.ownVolts ?? 16.5, options.ownAmps ?? 4, 1)
  let state = startedKeeper({ ...rules, trip: options.trip ?? 'own' }, 0)
  const says: Worded<FromKeeper>[] = []
  const notes: Worded<KeeperNote>[] = []
  const acts: Done[] = []
  let nextTickMs = 0
  let nextBeatMs = 0

  const feed = (event: KeeperEvent) => {
    const kept: Kept = keep(state, event)
    state = kept.state
    says.push(...worded(kept.says))
    notes.push(...worded(kept.notes))
  }
  const due = () =>
    Math.min(nextTickMs, Math.max(nowMs, beatDueMs(state)), bench.beats ? nextBeatMs : Number.POSITIVE_INFINITY)
  const runClock = (toMs: number) => {
    while (due() <= toMs) {
      nowMs = Math.max(nowMs, due())
      if (bench.beats && nowMs >= nextBeatMs) {
        feed({ kind: 'asked', request: { verb: 'beat' }, atMs: nowMs })
        nextBeatMs = nowMs + 1000
      }
      feed({ kind: 'tick', atMs: nowMs, bootMs: nowMs })
      nextTickMs = nowMs + TICK_MS
    }
    nowMs = toMs
  }
  const perform = (act: Act) => {
    const beganMs = nowMs
    acts.push({ act, beganMs, before: state, supply: { on: model.on, setVolts: model.setVolts } })
    feed({ kind: 'begun', act, atMs: beganMs })
    const failing = bench.deaf ? 'TRANSPORT_REPLY_TIMEOUT' : bench.refuses?.act === act.do ? bench.refuses.code : null
    const words = failing === null ? null : act.do === 'look' ? null : failing
    const refused = failing !== null || act.do === 'look' ? words : command(model, commandOf(act), beganMs)
    runClock(beganMs + (failing === 'TRANSPORT_REPLY_TIMEOUT' ? 400 : actMs))
    const code = failing ?? (refused === null ? null : 'INSTRUMENT_REFUSED')
    if (code !== null) feed({ kind: 'failed', act, code, words: refused ?? 'no reply', beganMs, atMs: nowMs })
    else if (act.do === 'look') feed({ kind: 'looked', back: look(model, beganMs, nowMs) })
    else feed({ kind: 'did', act, beganMs, atMs: nowMs })
  }
  const bench: FoldBench = {
    model,
    says,
    notes,
    acts,
    beats: true,
    deaf: false,
    refuses: null,
    state: () => state,
    nowMs: () => nowMs,
    ask: (request) => feed({ kind: 'asked', request: withWish(request, state.wishes.dead + 1), atMs: nowMs }),
    feed,
    pass: (ms) => {
      const endMs = nowMs + ms
      while (nowMs < endMs) {
        const next = wanted(state, nowMs)
        if (next.do === 'end') return runClock(endMs)
        if (next.do === 'act') perform(next.act)
        else runClock(Math.min(endMs, Math.max(nowMs + 0.1, Math.min(next.untilMs, due()))))
      }
    },
    answer: (id) => says.find((one) => 'id' in one && one.id === id),
  }
  return bench
}

function commandOf(act: Exclude<Act, { do: 'look' }>): Command {
  return act
}

export const LIMITS = {
  ceilingVolts: 16,
  tripVolts: 16.5,
  ceilingAmps: 2.5,
  normalVolts: 13.8,
  receiveAmps: 0.8,
  keyedAboveAmps: 0.9,
} as const

/** A bench with limits given and the output on at `volts`. */
export function workingBench(volts = 13.8, amps = 2.5): FoldBench {
  const bench = foldBench()
  bench.pass(500)
  bench.ask({ verb: 'limits', id: 1001, ...LIMITS })
  bench.ask({ verb: 'set', id: 1002, volts, amps })
  bench.ask({ verb: 'on', id: 1003 })
  bench.pass(2000)
  if (bench.answer(1003)?.kind !== 'done')
    throw new Error(`not on: ${JSON.stringify(bench.says.filter((one) => one.kind !== 'state'))}`)
  return bench
}

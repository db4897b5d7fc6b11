import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import { said, type Words } from '../../words/said/said.ts'
import { inVolts } from './keeper-limits.ts'
import { lowerOnceOff } from './keeper-lowering.ts'
import { KEEPER, type KeeperNote, type KeeperState, type Safing, type Told } from './keeper-state.ts'
import { stateOf } from './supply-state.ts'

interface Cause {
  readonly why: Words
  readonly atMs: number
  /** Nobody asked for it: it is said, and locks. */
  readonly byItself: boolean
  /** Who asked, and the newest wish that it ends. */
  readonly id?: number
  readonly upTo?: number
}

/** Every wish heard of so far, and all up to `upTo`, are over. */
export function endWishes(state: KeeperState, upTo = 0): KeeperState {
  const newest = Math.max(state.wishes.newest, upTo)
  return { ...state, wishes: { newest, dead: newest } }
}

/** Output off, before anything else. Whoever else waits is refused, and nothing is taken until the limits of a new wish come. */
export function goSafe(before: KeeperState, cause: Cause, told: Told): KeeperState {
  const { why, atMs, byItself } = cause
  const waiting = [...(before.plan ? [before.plan.order] : []), ...before.queue]
  for (const order of waiting)
    told.says.push({
      kind: 'refused',
      id: order.id,
      code: 'KEEPER_REFUSED',
      words: said('keeper.switched-off', { why }),
    })
  const state: KeeperState = {
    ...endWishes(before, cause.upTo),
    limits: null,
    armed: false,
    locked: byItself || before.locked === null ? why : before.locked,
    target: null,
    plan: null,
    queue: [],
    lowering: null,
    restAmps: null,
    sagSinceMs: null,
    overLooks: 0,
    resting: 'safe',
  }
  const ids = cause.id === undefined ? [] : [cause.id]
  const under = before.safing
  if (under) {
    const turned = byItself && !under.byItself
    if (turned) note(state, told, 'going safe', why, false, atMs)
    return {
      ...state,
      safing: {
        ...under,
        ids: [...under.ids, ...ids],
        byItself: under.byItself || byItself,
        why: turned ? why : under.why,
      },
    }
  }
  note(state, told, 'going safe', why, false, atMs)
  return { ...state, safing: freshSafing(why, atMs, byItself, ids, before.back?.volts ?? null) }
}

function freshSafing(
  why: Words,
  atMs: number,
  byItself: boolean,
  ids: readonly number[],
  fromVolts: number | null,
): Safing {
  return {
    why,
    sinceMs: atMs,
    stage: 'off',
    byItself,
    ids,
    tries: 0,
    offDueMs: atMs,
    offDoneMs: atMs,
    fromVolts,
    saidUnproved: false,
    downAtTry: -1,
  }
}

/** The order "off" was taken, or not: then again, later each time. */
export function offTried(state: KeeperState, taken: boolean, atMs: number): KeeperState {
  const safing = state.safing
  if (!safing) return state
  if (taken) return { ...state, safing: { ...safing, stage: 'prove', offDoneMs: atMs } }
  return { ...state, safing: offAgain(safing, atMs, Number.POSITIVE_INFINITY) }
}

function offAgain(safing: Safing, atMs: number, latestMs: number): Safing {
  const tries = safing.tries + 1
  const waitMs = KEEPER.offWaitsMs[Math.min(tries, KEEPER.offWaitsMs.length - 1)] ?? KEEPER.sayUnprovedMs
  return { ...safing, stage: 'off', tries, offDueMs: Math.min(atMs + waitMs, Math.max(atMs, latestMs)) }
}

/** An output that still says "on" once that was said aloud: its voltage goes down as far as it can, once after each try of "off". Never up. */
export function wontGoOff(state: KeeperState, safing: Safing): boolean {
  const { back, blind, rules } = state
  if (!safing.saidUnproved || safing.downAtTry === safing.tries || blind !== null || back === null) return false
  const isSeen = back.beganMs >= safing.sinceMs && back.output === 'on'
  return isSeen && back.setVolts > rules.leastVolts + KEEPER.reachVolts
}

/** Its voltage was ordered down, taken or not, or may not be by this keeper: "off" comes first again. */
export function downTried(state: KeeperState): KeeperState {
  const { safing } = state
  return safing ? { ...state, safing: { ...safing, downAtTry: safing.tries } } : state
}

/** A look while on the way to safe: found on at the start, proved off, or neither yet. */
export function lookedWhileSafing(state: KeeperState, safing: Safing, back: SupplyReadBack, told: Told): KeeperState {
  if (safing.stage === 'find') {
    const found = back.output === 'on'
    const why = found
      ? said('keeper.found-on', { volts: inVolts(back.volts), amps: `${back.amps.toFixed(2)} A` })
      : safing.why
    if (found) note(state, told, 'found on', why, false, back.atMs)
    return {
      ...state,
      safing: { ...safing, why, byItself: found, stage: 'off', offDueMs: back.atMs, fromVolts: back.volts },
    }
  }
  if (safing.stage === 'prove' && back.beganMs >= safing.offDoneMs && offProved(back, safing.fromVolts))
    return proved(state, safing, back.atMs, told)
  const fromVolts = safing.fromVolts === null ? back.volts : Math.max(safing.fromVolts, back.volts)
  return { ...state, safing: { ...safing, fromVolts } }
}

/** The output is off by its own word and its volts are gone or falling; a supply that has tripped may still say "on". */
export function offProved(back: SupplyReadBack, fromVolts: number | null): boolean {
  if (back.output === 'on') return back.tripped && back.volts < KEEPER.offVolts
  return back.volts < KEEPER.offVolts || (fromVolts !== null && back.volts < fromVolts - KEEPER.offFallVolts)
}

function proved(before: KeeperState, safing: Safing, atMs: number, told: Told): KeeperState {
  const state: KeeperState = {
    ...before,
    safing: null,
    output: { asked: 'off', sinceMs: safing.offDoneMs },
  }
  for (const id of safing.ids) told.says.push({ kind: 'done', id, state: stateOf(state) })
  if (safing.byItself || safing.saidUnproved)
    told.says.push({ kind: 'acted', resting: 'safe', why: safing.why, proved: true, atMs })
  note(state, told, 'safe', safing.why, true, atMs)
  return lowerOnceOff(state, atMs, told)
}

/** What time alone changes on the way to safe: off again, and saying aloud that it is not proved. */
export function tickedWhileSafing(before: KeeperState, atMs: number, told: Told): KeeperState {
  let safing = before.safing
  if (!safing) return before
  const { patience } = before.rules
  if (safing.stage === 'find' && atMs - safing.sinceMs >= KEEPER.unreadableMs * patience)
    safing = { ...safing, stage: 'off', why: said('keeper.unread-at-start'), offDueMs: atMs }
  if (safing.stage === 'prove' && atMs - safing.offDoneMs >= KEEPER.offAgainMs * patience)
    safing = offAgain(safing, atMs, safing.offDoneMs + KEEPER.offEveryMs * patience)
  const forMs = atMs - safing.sinceMs
  if (forMs >= KEEPER.sayUnprovedMs * patience && !safing.saidUnproved) {
    safing = { ...safing, saidUnproved: true }
    told.says.push({ kind: 'acted', resting: 'safe', why: safing.why, proved: false, atMs })
    note(before, told, 'not proved', safing.why, false, atMs)
  }
  if (forMs >= KEEPER.offRefusedMs * patience && safing.ids.length > 0) {
    for (const id of safing.ids)
      told.says.push({ kind: 'refused', id, code: 'KEEPER_NOT_SAFE', words: unproved(before) })
    safing = { ...safing, ids: [] }
  }
  return { ...before, safing }
}

function unproved({ back, blind, lost }: KeeperState): Words {
  if (back === null || blind !== null)
    return lost === null ? said('keeper.unproved-unread') : said('keeper.unproved-unread-lost', { why: lost })
  const volts = inVolts(back.volts)
  return back.output === 'on' ? said('keeper.unproved-says-on', { volts }) : said('keeper.unproved-says-off', { volts })
}

/** An ending keeper gives up proving. */
export function giveUp(state: KeeperState, why: Words, atMs: number, told: Told): KeeperState {
  note(state, told, 'not proved', why, false, atMs)
  return { ...state, ended: { proved: false } }
}

function note(
  state: KeeperState,
  told: Told,
  what: KeeperNote['what'],
  why: Words,
  isProved: boolean,
  atMs: number,
): void {
  const back = state.blind ? null : state.back
  told.notes.push({ what, why, proved: isProved, volts: back?.volts ?? null, amps: back?.amps ?? null, atMs })
}

import type { Quantity } from '../quantity/quantity.ts'
import type { Captured } from '../schema/live-frame.ts'
import { addCaptured, captureOf } from './capture.ts'
import { DWELL_MS } from './dwell.ts'
import { quantitiesOf } from './goal.ts'
import { LEAD_TO_MEND_OHMS, terminalVolts, wantsKey } from './job-seen.ts'
import type { Effect, Job } from './job-types.ts'
import { startLive } from './live.ts'
import { startPeak } from './peak.ts'
import { adjusterDone } from './rounds.ts'
import { short } from './settling.ts'
import { openStep } from './step-open.ts'
import { change, changeOpen, enter, type Turn, tell, want } from './turn.ts'

/** How long the peak guide must say "at best" before the adjuster is done. */
const AT_BEST_MS = 1200
/** How long "captured" is shown before the next step opens by itself. */
const SHOWN_MS = 1200

/** Sends supply and oscillator to what the step wants; first asks for the key to come up where the supply has to rise. */
export function arm(before: Turn): Turn {
  const { job } = before
  const { set } = job.plan.procedure
  const step = job.open.step
  const keyed = step.states.includes('transmit')
  const volts = aimedVolts(job)
  const start = job.supply?.output !== 'on'
  const rises = volts > (job.armed?.volts ?? set.supplyVolts) + 0.005
  if (job.key.keyed && (rises || start)) return enter(before, { name: 'key up first' })
  const id = job.nextId
  const tone = step.key?.tone ?? null
  const supplyChanges = start || Math.abs(volts - (job.armed?.volts ?? set.supplyVolts)) > 0.005
  const armed = change(before, { nextId: id + 1, armed: { volts, tone: tone !== null } })
  return want(enter(armed, { name: 'arming', id, supplyChanges }), {
    kind: 'arm',
    id,
    volts,
    amps: keyed ? set.limitAmps : set.receiveAmps,
    tone,
    start,
  })
}

/** Volts at the terminals for this step. A step that trims the supply itself aims between its receive and transmit drop. */
function aimedVolts(job: Job): number {
  const { step, trimmed } = job.open
  const plugVolts = step.supplyVolts ?? job.plan.procedure.set.supplyVolts
  if (!step.adjust.includes('supply')) return terminalVolts(job, plugVolts, step.states.includes('transmit'))
  if (!trimmed) return plugVolts
  return (terminalVolts(job, plugVolts, true) + terminalVolts(job, plugVolts, false)) / 2
}

/** What the bench should read: the step's own quantities first, then what shows key and channel. */
export function wanted(job: Job): readonly Quantity[] {
  const own = quantitiesOf(job.open.step)
  const keyed: readonly Quantity[] = job.open.step.states.includes('transmit') ? ['RF power', 'frequency'] : []
  const measured = new Set(job.plan.meters.map((meter) => meter.quantity))
  return [...new Set([...own, ...keyed])].filter((quantity) => measured.has(quantity))
}

/** The resting state after a step, however it ends. */
export function backToNormal(before: Turn, why: string): Turn {
  const { armed, open } = before.job
  if (!armed) return before
  const effects: Effect[] = [{ kind: 'normal', why }]
  if (armed.tone) effects.push({ kind: 'tone off' })
  return want(
    changeOpen(change(before, { armed: null }), { lives: open.rules.map(startLive), atBestSinceMs: null }),
    ...effects,
  )
}

/** Opens step number `at` for reading; whatever was going on ends, back to normal. */
export function openAt(before: Turn, at: number): Turn {
  const rested = backToNormal(before, 'another step was opened')
  return enter(change(rested, { at, open: openStep(rested.job.plan, at) }), { name: 'read' })
}

/** What follows from how things stand: an adjuster done, a value captured, a step ended, the next one opened. */
export function progress(before: Turn): Turn {
  const { job } = before
  switch (job.phase.name) {
    case 'key up first':
      return job.key.keyed ? before : arm(before)
    case 'work':
      return work(before)
    case 'done':
      return !job.key.keyed && job.nowMs - job.phase.sinceMs >= SHOWN_MS ? openNext(before) : before
    default:
      return before
  }
}

/** The next step that is still to do, from here on and then from the top; finished when there is none. */
export function openNext(before: Turn): Turn {
  const { results, at } = before.job
  const order = results.map((_, index) => (at + 1 + index) % results.length)
  const next = order.find((index) => results[index]?.state === 'to do')
  if (next !== undefined) return openAt(before, next)
  return enter(tell(backToNormal(before, 'the last step is done'), 'finished', 'Every step is done or left out.'), {
    name: 'finished',
  })
}

function work(before: Turn): Turn {
  const { job } = before
  if (job.open.release !== '') return job.key.keyed ? before : changeOpen(before, { release: '' })
  if (job.key.keyed !== wantsKey(job)) return before
  const main = job.open.lives[0]
  const rule = job.open.rules[0]
  if (!main?.current || !rule) return before
  if (main.peak) return workPeak(before)
  const turned = job.open.step.technique === 'set' && !job.open.step.adjust.includes('supply')
  if (turned) {
    const dwelt = main.insideSinceMs !== null && job.nowMs - main.insideSinceMs >= DWELL_MS
    return dwelt && main.settle.verdict === 'settled' ? capture(before, 'dwell') : before
  }
  const allSettled = job.open.lives.every((live) => live.settle.verdict === 'settled')
  return allSettled || outOfTime(job) ? capture(before, 'dwell') : before
}

/** A keyed check takes what it can when nine tenths of the key-down are used: at least three readings of each quantity. */
function outOfTime(job: Job): boolean {
  return wantsKey(job) && job.key.used >= 0.9 && job.open.lives.every((live) => short(live.settle) !== null)
}

function workPeak(before: Turn): Turn {
  const { job } = before
  const { atBestSinceMs, rounds, adjuster } = job.open
  const watch = job.open.lives[0]?.peak
  if (!watch || !rounds) return before
  if (watch.phase !== 'at best') return atBestSinceMs === null ? before : changeOpen(before, { atBestSinceMs: null })
  if (atBestSinceMs === null) return changeOpen(before, { atBestSinceMs: job.nowMs })
  if (job.nowMs - atBestSinceMs < AT_BEST_MS) return before
  const after = adjusterDone(rounds, 10 * Math.log10(watch.bestValue))
  const { next } = after
  if (next === null) return capture(changeOpen(before, { rounds: after }), 'dwell')
  const lives = job.open.lives.map((live, at) => (at === 0 ? { ...live, peak: startPeak(), earlier: [] } : live))
  const told = tell(before, 'note', `${adjuster} is at its best. Now ${next}.`)
  return changeOpen(told, {
    rounds: after,
    adjuster: next,
    lives,
    atBestSinceMs: null,
    release: `${adjuster} is at its best. Key up, tool into ${next}`,
  })
}

/** Keeps what is there of every quantity of the step; refused (nothing changes) when the main one has fewer than three readings. */
export function capture(before: Turn, by: Captured['by']): Turn {
  const { job } = before
  const { step, rules, lives, channel } = job.open
  const state = step.states[job.open.state] ?? 'receive'
  const title = step.states.length > 1 ? `${step.title} (${state})` : step.title
  const taken = lives.flatMap((live, index) => {
    const rule = rules[index]
    if (!rule) return []
    const expected = index === 0 && step.expect && rule.goal.kind === 'peak' ? { goal: expectedGoal(step.expect) } : {}
    const one = captureOf(live, rule, step, { title, at: job.wall, by, ...expected })
    return one ? [one] : []
  })
  const main = taken[0]
  if (!main || main.quantity !== step.quantity) return before
  const amps = job.supply?.amps ?? null
  let next = before
  for (const one of taken) {
    next = want(change(next, { captured: addCaptured(next.job.captured, one) }), { kind: 'keep', captured: one })
  }
  next = tell(
    next,
    'captured',
    `${title}: ${main.digits} ${main.unit}${channel ? `, channel ${channel.channel}` : ''}.`,
  )
  return stateDone(changeOpen(next, { statesSeen: [...job.open.statesSeen, { value: main.value, amps }] }))
}

function expectedGoal(expect: { low: number; high: number }) {
  const band = { low: expect.low, high: expect.high, aim: (expect.low + expect.high) / 2 }
  return { kind: 'band' as const, band, aimLow: expect.low, aimHigh: expect.high, rule: null }
}

function stateDone(before: Turn): Turn {
  const { open } = before.job
  if (open.state + 1 < open.step.states.length)
    return changeOpen(before, { state: open.state + 1, lives: open.rules.map(startLive), atBestSinceMs: null })
  return open.step.adjust.includes('supply') ? trimSupply(before) : finishStep(before)
}

/** Receive and transmit were read at the plug: the drop between them is the lead's. Trims once, with the key up, when that helps. */
function trimSupply(before: Turn): Turn {
  const { open, captured } = before.job
  const [receive, keyed] = open.statesSeen.slice(-2)
  if (!receive || !keyed || receive.amps === null || keyed.amps === null || keyed.amps <= receive.amps)
    return finishStep(before)
  const drop = receive.value - keyed.value
  const ohms = Math.max(0, drop / (keyed.amps - receive.amps))
  const inside = captured
    .filter((one) => one.step === open.step.id && one.latest)
    .every((one) => one.verdict === 'inside')
  const bad = (open.step.differenceAtMost !== null && drop > open.step.differenceAtMost) || ohms > LEAD_TO_MEND_OHMS
  const known = change(before, { lead: { ohms, receiveAmps: receive.amps, keyedAmps: keyed.amps } })
  if (bad) return finishStep(tell(known, 'note', `The lead drops ${drop.toFixed(2)} V: lead or plug is bad, mend it.`))
  if (inside || open.trimmed) return finishStep(known)
  const told = tell(known, 'note', `The lead drops ${drop.toFixed(2)} V: the supply makes up for it.`)
  return arm(changeOpen(told, { trimmed: true, state: 0, statesSeen: [], lives: open.rules.map(startLive) }))
}

/** The step ends: judged by its latest values, and back to normal. */
function finishStep(before: Turn): Turn {
  const { job } = before
  const latest = job.captured.filter((one) => one.step === job.open.step.id && one.latest)
  const inside = latest.length > 0 && latest.every((one) => one.verdict === 'inside')
  const results = job.results.map((result, at) =>
    at === job.at ? { state: inside ? ('done' as const) : ('out of band' as const), reason: '' } : result,
  )
  const rested = backToNormal(change(before, { results }), 'the step is done')
  return enter(tell(rested, 'step done', `${job.open.step.title}: ${inside ? 'in band' : 'out of band'}.`), {
    name: 'done',
    sinceMs: job.nowMs,
  })
}

import type { Captured } from '../../../schema/messages/live-frame.ts'
import { said, type Words } from '../../../words/said/said.ts'
import { isKeyed } from '../../goal/step.ts'
import { keyUpNudgeWords } from '../../guidance/guide-words.ts'
import { startPeak } from '../../peaking/peak-watch.ts'
import { adjusterDone, type Rounds } from '../../peaking/rounds.ts'
import type { JobPlan } from '../../plan/lines.ts'
import { turnsSomething } from '../../plan/lines.ts'
import { notRaised } from '../../plan/raising.ts'
import { type Kept, markLatest, stepEnd } from '../../reading/capture.ts'
import { AT_BEST_MS, DWELL_MS } from '../../reading/dwell.ts'
import { isInsideAim, type Live, type LiveRule } from '../../reading/live.ts'
import { eachLive, startMeasured } from '../../reading/measured.ts'
import { short } from '../../settling/settling.ts'
import { LEAD_TO_MEND_OHMS, lostOf, suspectLeads, terminalVolts, wantsKey } from '../state/job-seen.ts'
import type { Effect, Job, Phase } from '../state/job-types.ts'
import { change, changeOpen, enter, setResult, type Turn, tell, turn, want } from '../state/turn.ts'
import { forgetDisturbed, reopenDisturbed } from './disturbed.ts'
import { keptOf } from './kept-of.ts'
import { learned } from './learned.ts'
import { outOfBand } from './out-of-band.ts'
import { questionOn } from './question.ts'
import { remarksOn, takenOf } from './remarks.ts'
import { openStep, stopOf } from './step-open.ts'
import { timeOutsOf } from './time-outs.ts'
import { behindWarmUp, isWarm, sampleDue, sampled, warmingWords } from './warming.ts'

/** How long "captured" is shown before the next step opens by itself; out of band it stays until somebody says "next". */
const SHOWN_MS = 1200

/** Why nothing is raised while nobody is at the page. */
export const NOBODY_STEERS = said('job.nobody-steers')

/** Sends supply and oscillator to what the step wants; first asks for the key to come up where the supply has to rise. */
export function arm(before: Turn): Turn {
  const { job } = before
  const { set } = job.plan.procedure
  const { step, stop } = job.open
  const lost = lostOf(job)
  if (lost)
    return enter(
      tell(backToNormal(before, said('job.instrument-lost', { instrument: lost.instrument })), 'link lost', lost.words),
      {
        name: 'link lost',
        ...lost,
      },
    )
  const keyed = isKeyed(step)
  const volts = aimedVolts(job)
  const start = job.supply?.output !== 'on'
  const rises = volts > (job.armed?.volts ?? set.supplyVolts) + 0.005
  if (!job.pagePresent && (rises || start)) return enter(before, { name: 'paused', words: NOBODY_STEERS })
  if (job.key.keyed && (rises || start)) return enter(before, { name: 'key up first' })
  const id = job.nextId
  const { tone } = stop
  const supplyChanges = start || Math.abs(volts - (job.armed?.volts ?? set.supplyVolts)) > 0.005
  const line = job.plan.lines[job.at]
  const turned = job.turned || (line !== undefined && turnsSomething(line))
  const armed = change(before, { nextId: id + 1, turned, armed: { volts, tone: tone !== null } })
  return want(enter(armed, { name: 'arming', id, supplyChanges }), {
    kind: 'arm',
    id,
    volts,
    amps: step.limitAmps ?? (keyed ? set.limitAmps : set.receiveAmps),
    tone,
    toneOnly: job.armed !== null && !supplyChanges,
    start,
  })
}

/** Volts at the terminals for this step. A step that trims the supply itself aims between its receive and transmit drop. */
function aimedVolts(job: Job): number {
  const { step, trimmed } = job.open
  const plugVolts = step.supplyVolts ?? job.plan.procedure.set.supplyVolts
  if (!step.adjust.includes('supply')) return terminalVolts(job, plugVolts, isKeyed(step))
  if (!trimmed) return plugVolts
  return (terminalVolts(job, plugVolts, true) + terminalVolts(job, plugVolts, false)) / 2
}

/** The resting state after a step, however it ends. */
export function backToNormal(before: Turn, why: Words): Turn {
  const { armed, open } = before.job
  if (!armed) return before
  const effects: Effect[] = [{ kind: 'normal', why }]
  if (armed.tone) effects.push({ kind: 'tone off' })
  return want(
    changeOpen(change(before, { armed: null }), {
      measured: open.measured.map(({ rule }) => startMeasured(rule)),
      atBestSinceMs: null,
    }),
    ...effects,
  )
}

/** Opens step number `at` for reading; whatever was going on ends, back to normal. */
export function openAt(before: Turn, at: number): Turn {
  const rested = backToNormal(before, said('job.another-step-opened'))
  const opened = change(rested, { at, open: openStep(rested.job.plan, at, rested.job.effects) })
  return enter(changeOpen(opened, { timeOuts: timeOutsOf(opened.job) }), firstPhase(rested.job.plan, at))
}

/** How a line begins: read and made ready for, done by hand, or written down. */
export function firstPhase(plan: JobPlan, at: number): Phase {
  const step = plan.lines[at]?.step
  if (step?.technique === 'do') return { name: 'action', words: step.before }
  return step?.technique === 'settings' ? { name: 'settings' } : { name: 'read' }
}

/** What follows from how things stand: an adjuster done, a value captured, a step ended, the next one opened. */
export function progress(before: Turn): Turn {
  const { job } = before
  switch (job.phase.name) {
    case 'key up first':
      return job.key.keyed ? before : arm(before)
    case 'work':
      return work(before)
    case 'warming':
      return job.key.keyed ? before : betweenSamples(before)
    case 'done':
      if (job.key.keyed || job.nowMs - job.phase.sinceMs < SHOWN_MS) return before
      return outOfBand(job) === null ? openNext(before) : before
    default:
      return before
  }
}

/** The next line that is still to do, from here on and then from the top; what is read as left comes last. Finished when there is none. */
export function openNext(before: Turn): Turn {
  const { results, at, plan, warming } = before.job
  if (warming && results[warming.at]?.state === 'to do') return besideWarmUp(before, warming.at)
  const order = results.map((_, index) => (at + 1 + index) % results.length)
  const open = order.filter((index) => results[index]?.state === 'to do')
  const next = open.find((index) => plan.lines[index]?.pass !== 'left') ?? Math.min(...open)
  if (Number.isFinite(next)) return openAt(before, next)
  return enter(tell(backToNormal(before, said('job.last-step-done')), 'finished', said('job.every-step-done-told')), {
    name: 'finished',
  })
}

/** A warm-up is under way: its next sample when that is due, else a step that needs no key, else the wait itself is shown. */
function besideWarmUp(before: Turn, at: number): Turn {
  const due = sampleDue(before.job)
  const other = due ? -1 : behindWarmUp(before.job)
  if (other >= 0) return openAt(before, other)
  const shown = at === before.job.at ? before : openAt(before, at)
  const ready = changeOpen(shown, { actions: [] })
  return due ? arm(ready) : enter(ready, { name: 'warming' })
}

function betweenSamples(before: Turn): Turn {
  return sampleDue(before.job) || behindWarmUp(before.job) >= 0 ? openNext(before) : before
}

/** One short key-down of a warm-up is read: the set is warm, or it is keyed again later. */
function sample(before: Turn, value: number): Turn {
  const taken = change(before, { warming: sampled(before.job, value) })
  const how = warmingWords(taken.job)
  if (!isWarm(taken.job)) return enter(tell(taken, 'note', said('job.warm-up-stands', { how })), { name: 'warming' })
  return finishWait(taken, how)
}

/** The wait is over, for the reason given. */
export function finishWait(before: Turn, why: Words): Turn {
  const { job } = before
  const rested = backToNormal(setResult(before, job.at, 'done', why), said('job.set-is-warm'))
  return enter(tell(rested, 'step done', said('step.told', { title: job.open.step.title, what: why })), {
    name: 'done',
    sinceMs: job.nowMs,
  })
}

function work(before: Turn): Turn {
  const { job } = before
  if (job.open.release !== '') return job.key.keyed ? before : changeOpen(before, { release: '' })
  const { live: main, rule } = job.open.measured[0] ?? {}
  if (!main?.current || !rule) return before
  if (job.open.step.technique === 'wait') {
    const keyedRight = rule.facts.typed || job.key.keyed === wantsKey(job)
    return keyedRight && main.current.value !== null ? sample(before, main.current.value) : before
  }
  if (rule.facts.typed) return workTyped(before, main, rule)
  if (job.key.keyed !== wantsKey(job)) return before
  if (suspectLeads(job) !== '') return before
  if (main.peak) return workPeak(before)
  if (job.open.step.technique === 'highest') return heldLongEnough(job, main) ? capture(before, 'dwell') : before
  const turned = job.open.step.technique === 'set' && !job.open.step.adjust.includes('supply')
  if (turned) {
    const dwelt = main.insideSinceMs !== null && job.nowMs - main.insideSinceMs >= DWELL_MS
    return dwelt && main.settle.verdict === 'settled' ? capture(before, 'dwell') : before
  }
  const allSettled = job.open.measured.every(({ live }) => live.settle.verdict === 'settled')
  return allSettled || outOfTime(job) ? capture(before, 'dwell') : before
}

/** The largest has been looked for as long as the step says. */
function heldLongEnough(job: Job, live: Live): boolean {
  const first = live.kept[0]
  return first !== undefined && live.kept.length >= 3 && job.nowMs - first.beganMs >= job.open.step.holdS * 1000
}

/** What a person typed: kept at once, but while something is turned only when it lies where the hand should get. */
function workTyped(before: Turn, main: Live, rule: LiveRule): Turn {
  const { job } = before
  if (!main.current) return before
  if (job.open.rounds) return typedRound(before, main)
  const aimed = job.open.step.technique !== 'set' || isInsideAim(main.current, rule.goal)
  if (aimed) return capture(before, 'typed')
  return changeOpen(before, { wasKeyed: false, measured: eachLive(job.open, (live) => ({ ...live, current: null })) })
}

/** The best a person found on a meter of their own ends the turn of one adjuster. */
function typedRound(before: Turn, main: Live): Turn {
  const { rounds } = before.job.open
  const value = main.current?.value ?? 0
  return rounds && value > 0 ? nextAdjuster(before, rounds, 10 * Math.log10(value), 'typed') : before
}

/** A keyed check takes what it can when nine tenths of the key-down are used, the first key-down of all at once: at least three readings of each quantity. */
function outOfTime(job: Job): boolean {
  const enough = job.open.step.firstKey || job.key.used >= 0.9
  return wantsKey(job) && enough && job.open.measured.every(({ live }) => short(live.settle) !== null)
}

function workPeak(before: Turn): Turn {
  const { job } = before
  const { atBestSinceMs, rounds } = job.open
  const watch = job.open.measured[0]?.live.peak
  if (!watch || !rounds) return before
  if (watch.phase === 'nudge' && wantsKey(job)) {
    return changeOpen(before, { release: keyUpNudgeWords(watch.memory.nudging.order, job.open.adjuster) })
  }
  // a top at the end of the travel is no peak: it is for a person to say
  if (watch.phase !== 'at best' || watch.flat === 'stop')
    return atBestSinceMs === null ? before : changeOpen(before, { atBestSinceMs: null })
  if (atBestSinceMs === null) return changeOpen(before, { atBestSinceMs: job.nowMs })
  if (job.nowMs - atBestSinceMs < AT_BEST_MS) return before
  return nextAdjuster(before, rounds, 10 * Math.log10(watch.bestValue), 'dwell', watch.fromStartDb)
}

/** One adjuster is at its best: the next one, another round, or captured. */
function nextAdjuster(
  before: Turn,
  rounds: Rounds,
  bestDb: number,
  by: Captured['by'],
  gainedDb: number | null = null,
): Turn {
  const { job } = before
  const { adjuster } = job.open
  const after = adjusterDone(rounds, bestDb, gainedDb)
  const { next } = after
  if (next === null) return capture(changeOpen(before, { rounds: after }), by)
  const measured = eachLive(job.open, (live, _, at) =>
    at === 0 ? { ...live, current: null, peak: live.peak ? startPeak() : null, earlier: [] } : live,
  )
  const told = tell(before, 'note', said('job.adjuster-done', { adjuster, next }))
  return changeOpen(told, {
    rounds: after,
    adjuster: next,
    measured,
    wasKeyed: false,
    atBestSinceMs: null,
    release: said('job.adjuster-done-key-up', { adjuster, next }),
  })
}

/** Keeps what is there of every quantity of the step, a question first where it is far out; refused (nothing changes) when the main one has too few readings. */
export function capture(before: Turn, by: Captured['by']): Turn {
  const { job } = before
  const taken: Kept[] = []
  for (const [index, { live, rule }] of job.open.measured.entries()) {
    const one = keptOf(job, live, rule, { main: index === 0, by, number: job.captured.length + 1 + taken.length })
    if (one) taken.push(one)
  }
  if (!taken[0] || taken[0].quantity !== job.open.step.quantity) return before
  const question = questionOn(job, taken[0])
  // nothing is kept raised while a person goes and looks
  if (question)
    return enter(backToNormal(before, said('job.value-asked-about')), { name: 'question', taken, ...question })
  return keep(before, taken)
}

/** On its way to the journal. */
export function keep(before: Turn, taken: readonly Kept[]): Turn {
  return want(enter(before, { name: 'keeping', taken }), { kind: 'keep', taken })
}

/** What was captured is on disk: now it counts, and the step goes on. Nothing is lost when it could not be written: it is told, at normal. */
export function kept(job: Job, ok: boolean, words: Words): Turn {
  if (job.phase.name !== 'keeping') return turn(job)
  const { taken } = job.phase
  const main = taken[0]
  if (!ok || !main) return enter(backToNormal(turn(job), words), { name: 'paused', words })
  const captured = markLatest([...job.captured, ...taken.map(({ evidence: _, ...one }) => one)])
  const { channel, statesSeen, measured, stopAt } = job.open
  const lastKept = { numbers: taken.map(({ number }) => number), at: job.at, stopAt, atMs: job.nowMs }
  const { title } = main
  const value = `${main.digits} ${main.unit}`
  const told = tell(
    enter(turn({ ...job, captured, lastKept }), { name: 'work' }),
    'captured',
    channel
      ? said('step.captured-on-channel', { title, value, channel: channel.channel })
      : said('step.captured', { title, value }),
  )
  const newest = takenOf(job, taken)
  const goal = measured[0]?.rule.goal
  const remarks = remarksOn(job.taken, newest, {
    set: job.plan.procedure.set,
    parts: main.evidence.readings.at(-1)?.parts ?? [],
    mostDeviationHz: goal?.kind === 'band' ? goal.band.high : null,
  })
  const remarked = remarks.reduce(
    (so, what) => tell(so, 'note', said('step.told', { title, what })),
    change(told, { taken: [...job.taken, ...newest] }),
  )
  const seen = { value: main.value, amps: main.evidence.conditions.amps }
  return stopDone(changeOpen(remarked, { statesSeen: [...statesSeen, seen] }))
}

/** One stop is read: the next one, or the step is over. A channel that nobody can see in receive is asked for; a new tone is set. */
function stopDone(before: Turn): Turn {
  const { open, plan } = before.job
  const { step } = open
  const at = open.stopAt + 1
  if (at >= step.stops.length) return step.adjust.includes('supply') ? trimSupply(before) : finishStep(before)
  const next = stopOf(plan, step, at, before.job.effects)
  const moved = changeOpen(before, { ...next, atBestSinceMs: null, wrongSeen: '', wasKeyed: false })
  if (next.stop.state === 'receive' && next.channel && next.channel !== open.channel)
    return askFor(moved, said('job.set-channel', { channel: next.channel.channel }))
  if (before.job.key.keyed && next.channel !== open.channel)
    return changeOpen(moved, { release: said('key.up-then-channel', { channel: next.channel?.channel ?? '' }) })
  const { tone } = next.stop
  const same = tone?.hz === open.stop.tone?.hz && tone?.volts === open.stop.tone?.volts
  // after a question, or while nobody was there, the supply stands at normal
  const rested = before.job.armed === null
  return (same && !rested) || (rested && !before.job.pagePresent) ? moved : arm(moved)
}

function askFor(before: Turn, words: Words): Turn {
  return enter(changeOpen(before, { actions: [words] }), { name: 'action', words })
}

/** Receive and transmit were read at the plug: the drop between them is the lead's. Trims once, with the key up, when that helps. */
function trimSupply(before: Turn): Turn {
  const { open, captured, plan } = before.job
  const [receive, keyed] = open.statesSeen.slice(-2)
  if (!receive || !keyed || receive.amps === null || keyed.amps === null || keyed.amps <= receive.amps)
    return finishStep(before)
  const drop = receive.value - keyed.value
  const dropped = { drop: `${drop.toFixed(2)} V` }
  const ohms = Math.max(0, drop / (keyed.amps - receive.amps))
  const inside = captured.filter((one) => one.step === open.step.id && one.latest).every((one) => one.accepted)
  const bad = (open.step.differenceAtMost !== null && drop > open.step.differenceAtMost) || ohms > LEAD_TO_MEND_OHMS
  const known = change(before, { lead: { ohms, receiveAmps: receive.amps, keyedAmps: keyed.amps } })
  if (bad) return finishStep(tell(known, 'note', said('step.lead-to-mend', dropped)))
  if (inside || open.trimmed) return finishStep(known)
  if (notRaised(plan.supplyTrip, plan.procedure.set) !== null)
    return finishStep(tell(known, 'note', said('step.lead-not-made-up', dropped)))
  const told = tell(known, 'note', said('step.lead-made-up', dropped))
  return arm(changeOpen(told, { ...stopOf(known.job.plan, open.step, 0), trimmed: true, statesSeen: [] }))
}

/** The step ends: judged by its latest values (as found is only written down), and back to normal. */
function finishStep(before: Turn): Turn {
  const { job } = before
  const { step, pass } = job.open
  const { title } = step
  const { inside, state } = stepEnd(job.captured, { step: step.id, pass })
  const rested = backToNormal(setResult(learned(before), job.at, state), said('job.step-done'))
  const words = inside ? said('step.in-band', { title }) : said('step.out-of-band', { title })
  const told = reopenDisturbed(tell(rested, 'step done', words))
  if (step.firstKey && !inside) return stopFor(told, said('job.first-key-no-rf'))
  return enter(told, { name: 'done', sinceMs: job.nowMs })
}

/** A line that is only done or written down is over. */
export function finishLine(before: Turn): Turn {
  return openNext(setResult(before, before.job.at, 'done'))
}

/** Supply off for safety; a person has to say "go on". */
export function stopFor(before: Turn, why: Words): Turn {
  const off = want(change(before, { armed: null }), { kind: 'safe', why }, { kind: 'tone off' })
  return enter(tell(off, 'stopped', said('job.supply-switched-off', { why })), { name: 'stopped', words: why })
}

/** A step that a person opens is begun afresh, and so is what its adjusters move too. */
export function beginAfresh(before: Turn, at: number): Turn {
  return openAt(setResult(forgetDisturbed(before, at), at, 'to do'), at)
}

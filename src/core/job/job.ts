import type { Quantity } from '../../quantity/quantity.ts'
import type { Reading } from '../../schema/kept/reading.ts'
import type { SupplyState } from '../../schema/messages/keeper-message.ts'
import type { LiveEvent } from '../../schema/messages/live-frame.ts'
import { holds, said, type Words } from '../../words/said/said.ts'
import { readBy, readByMain } from '../goal/meter-for.ts'
import { KEPT_EVENTS } from '../guidance/kept-events.ts'
import type { JobPlan } from '../plan/lines.ts'
import { type Cause, holdOffMs, SUPPLY_MS } from '../reading/hold-off.ts'
import { addReading, beforeRelease, restartLive } from '../reading/live.ts'
import { eachLive } from '../reading/measured.ts'
import { MISS_TOLD_MS } from '../reading/missed.ts'
import { request } from './job-request.ts'
import { guideOf } from './picture/job-guide.ts'
import { budgetOf, channelSeen, lostOf, wanted, wantsKey, wrongChannel } from './state/job-seen.ts'
import type { Advance, Job, JobEvent } from './state/job-types.ts'
import { runKeyClock, startKeyClock } from './state/key-down.ts'
import { withSheet } from './state/sheet.ts'
import { change, enter, type Turn, tell, turn, want } from './state/turn.ts'
import { afterKeeping, leftAlone, page } from './steps/attendance.ts'
import { channelJumped, jumpAwaitedFrom, seenForJump } from './steps/channel-jump.ts'
import { arm, backToNormal, firstPhase, kept, progress, stopFor } from './steps/job-steps.ts'
import { openStep } from './steps/step-open.ts'

/** A job at its first step that is not left out. Nothing is switched on before the person is ready. Throws TypeError for a procedure without steps. */
export function startJob(plan: JobPlan, nowMs: number, wall: string): Job {
  const results = plan.lines.map(({ leftOut }) => ({
    state: leftOut === null ? ('to do' as const) : ('left out' as const),
    reason: leftOut ?? '',
  }))
  const at = Math.max(
    0,
    results.findIndex((result) => result.state === 'to do'),
  )
  const empty = { found: '', job: '', left: '', reason: '' }
  return withSheet(null, {
    sheet: [],
    plan,
    phase: firstPhase(plan, at),
    at,
    settings: plan.procedure.settings.map(({ name }) => ({ name, ...empty })),
    turned: false,
    reopened: [],
    open: openStep(plan, at),
    results,
    warming: null,
    captured: [],
    taken: [],
    lastKept: null,
    marks: [],
    cautionsSeen: [],
    loadIsOn: false,
    effects: plan.effects,
    events: leftOutEvents(plan),
    supply: null,
    armed: null,
    key: startKeyClock(nowMs),
    seen: { power: null, frequency: null },
    counting: { epoch: 0, supplyMs: 0, fromMs: new Map() },
    lead: { ohms: 0, receiveAmps: 0, keyedAmps: 0 },
    down: [],
    missed: [],
    watched: [],
    pagePresent: true,
    absentSinceMs: null,
    nextId: 1 + leftOutEvents(plan).length,
    keyWarned: 0,
    nowMs,
    wall,
    log: [],
  })
}

/** Rows that this job cannot do are said at once, not only in the list. */
function leftOutEvents(plan: JobPlan): readonly LiveEvent[] {
  return plan.lines
    .filter(({ wanting }) => wanting)
    .slice(0, KEPT_EVENTS)
    .map(({ step, leftOut }, at) => ({
      seq: at + 1,
      what: 'note',
      words: said('job.left-out', { row: step.row, title: step.title, why: leftOut ?? '' }),
    }))
}

/** One event further: the job after it and what the shell is to do. The only place where a job changes. */
export function advance(before: Job, event: JobEvent, wall: string): Advance {
  const job = { ...before, nowMs: Math.max(before.nowMs, event.atMs), wall }
  if (event.kind === 'request') {
    const asked = request(job, event.request)
    return finish(before, asked.turn, asked.answer)
  }
  return finish(before, meet(job, event), null)
}

function finish(before: Job, met: Turn, answer: Advance['answer']): Advance {
  const after = mark(lookAt(progress(keyOverrun(met))))
  return { job: withSheet(before, after.job), effects: after.effects, answer }
}

function meet(job: Job, event: Exclude<JobEvent, { kind: 'request' }>): Turn {
  switch (event.kind) {
    case 'tick':
      return leftAlone(turn({ ...job, key: runKeyClock(job.key, job.nowMs, job.key.keyed, budgetOf(job)) }))
    case 'reading':
      return reading(job, event.reading)
    case 'supply':
      return supply(job, event.state)
    case 'changed':
      return changed(job, event.cause, event.epoch)
    case 'armed':
      return armed(job, event.id, event.ok, event.words)
    case 'link':
      return link(job, event.instrument, event.up, event.words)
    case 'missed':
      return missed(job, event)
    case 'acted':
      return acted(job, event.resting, actedWords(event))
    case 'kept':
      return afterKeeping(kept(job, event.ok, event.words))
    case 'page':
      return page(job, event.present, event.why)
    case 'clock':
      return tell(turn(job), 'clock', event.words)
    default:
      return event satisfies never
  }
}

/** Readings that began before a change, or within its hold-off, count for nothing from here on. */
function changed(job: Job, cause: Cause, epoch: number): Turn {
  // what was read beside a meter that a person reads stays, while the value is typed with the key up
  const released =
    cause === 'key' && job.open.wasKeyed && !job.key.keyed && job.open.measured[0]?.rule.facts.typed === true
  const fromMs = new Map<Quantity, number>(job.counting.fromMs)
  for (const facts of job.plan.meters) {
    const until = job.nowMs + holdOffMs(cause, facts)
    fromMs.set(facts.quantity, Math.max(until, fromMs.get(facts.quantity) ?? 0))
  }
  return turn({
    ...job,
    counting: { epoch, fromMs, supplyMs: cause === 'supply' ? job.nowMs + SUPPLY_MS : job.counting.supplyMs },
    open: released
      ? { ...job.open, measured: eachLive(job.open, (live, rule) => beforeRelease(live, rule, job.nowMs)) }
      : { ...job.open, measured: eachLive(job.open, (live) => restartLive(live, job.nowMs)), atBestSinceMs: null },
  })
}

function reading(job: Job, said: Reading): Turn {
  const main = readByMain(job.plan.meters, said)
  const seen = {
    power: main && said.quantity === 'RF power' ? said : job.seen.power,
    frequency: main && said.quantity === 'frequency' ? said : job.seen.frequency,
  }
  const before = channelSeen(job)
  const withSeen = { ...job, seen }
  const after = channelSeen(withSeen)
  const typed = job.plan.meters.some((facts) => readBy(facts, said) && facts.typed)
  const counts =
    job.phase.name === 'work' &&
    said.epoch >= job.counting.epoch &&
    said.beganMs >= (job.counting.fromMs.get(said.quantity) ?? 0) &&
    (job.key.keyed === wantsKey(job) || (job.open.wasKeyed && typed)) &&
    wrongChannel(withSeen) === ''
  const amps = job.supply?.amps ?? null
  const measured = eachLive(job.open, (live, rule) =>
    readBy(rule.facts, said) ? addReading(live, said, rule, { counts, amps, heating: job.key.keyed }) : live,
  )
  const wrongSeen = after ? wrongChannel(withSeen) : job.open.wrongSeen
  const jumpSeen =
    said.quantity === 'DC voltage' &&
    (job.open.measured[0] === undefined || readBy(job.open.measured[0].rule.facts, said))
      ? seenForJump(job, measured[0]?.live.last?.value ?? null)
      : job.open.jumpSeen
  const next = guideEvents(job, turn({ ...withSeen, open: { ...job.open, measured, wrongSeen, jumpSeen } }))
  if (channelJumped(next.job)) return goOnBecauseOfJump(next.job)
  return before && after && before.transmitHz !== after.transmitHz
    ? want(next, { kind: 'raise epoch', cause: 'channel' })
    : next
}

/** Both hands are on prod and channel knob: the jump says "ready" for them. */
function goOnBecauseOfJump(job: Job): Turn {
  const { turn: after, answer } = request(job, { kind: 'ready', id: 'jump' })
  const [value = 0] = job.open.jumpSeen.slice(-1)
  return answer.ok ? tell(after, 'note', said('job.channel-jumped', { volts: `${value.toFixed(2)} V` })) : turn(job)
}

/** What a reading made of the peak guide is told once. */
function guideEvents(before: Job, after: Turn): Turn {
  const was = before.open.measured[0]?.live.peak
  const is = after.job.open.measured[0]?.live.peak
  if (!was || !is || was === is) return after
  // told at its second reading: a key that comes up looks like a jump for one
  const stays = was.phase === 'snap' && before.open.measured[0]?.live.earlier.at(-2)?.peak.phase !== 'snap'
  if (is.phase === 'snap' && stays) return tell(after, 'snap', said('peak.jumped'))
  if (is.phase === 'passed over' && was.phase !== 'passed over')
    return tell(after, 'passed over', said('peak.over-the-top'))
  return is.newBest && is.proved ? tell(after, 'new best', said('peak.new-best')) : after
}

/** Keyed or not is seen in the supply current, with a little hysteresis. Every change of the key raises the epoch. */
function supply(job: Job, state: SupplyState): Turn {
  const at = job.plan.procedure.set.keyedAboveAmps
  const keyed = state.amps === null ? job.key.keyed : state.amps >= (job.key.keyed ? at * 0.9 : at)
  const key = runKeyClock(job.key, job.nowMs, keyed, budgetOf(job))
  const open = keyed && job.phase.name === 'work' ? { ...job.open, wasKeyed: true } : job.open
  const next = turn({ ...job, open, supply: state, key, keyWarned: keyed ? job.keyWarned : 0 })
  return keyed === job.key.keyed ? next : want(next, { kind: 'raise epoch', cause: 'key' })
}

function armed(job: Job, id: number, ok: boolean, words: Words): Turn {
  if (job.phase.name !== 'arming' || job.phase.id !== id) return turn(job)
  if (!ok) return enter(backToNormal(turn(job), words), { name: 'paused', words })
  const next = want(enter(turn(job), { name: 'work' }), { kind: 'raise epoch', cause: 'channel' })
  return job.phase.supplyChanges ? want(next, { kind: 'raise epoch', cause: 'supply' }) : next
}

function link(job: Job, instrument: string, up: boolean, words: Words): Turn {
  const others = job.down.filter((one) => one.instrument !== instrument)
  const down = up ? others : [...others, { instrument, words }]
  const used = job.open.measured.some(({ rule }) => rule.facts.instrument === instrument)
  const next = turn({ ...job, down })
  if (!used) return next
  const { phase } = job
  if (!up && (phase.name === 'work' || phase.name === 'arming')) {
    const lost = tell(backToNormal(next, said('job.instrument-lost', { instrument })), 'link lost', words)
    return enter(lost, { name: 'link lost', instrument, words })
  }
  if (up && phase.name === 'link lost' && !lostOf(next.job))
    return arm(tell(next, 'link back', said('job.instrument-back', { instrument })))
  return up ? next : tell(next, 'link lost', words)
}

/** Told with cause and cure, and kept for whoever asks why a reading is old. */
function missed(job: Job, { instrument, words }: Extract<JobEvent, { kind: 'missed' }>): Turn {
  const before = job.missed.find((one) => one.instrument === instrument)
  const told = before !== undefined && job.nowMs - before.toldMs < MISS_TOLD_MS
  const now = { instrument, words, atMs: job.nowMs, toldMs: told ? before.toldMs : job.nowMs }
  const next = turn({ ...job, missed: [...job.missed.filter((one) => one !== before), now] })
  const used = job.open.measured.some(({ rule }) => rule.facts.instrument === instrument)
  return used && !told ? tell(next, 'note', said('guide.reply-missed', { why: words })) : next
}

/** Why the keeper acted, and whether that is proved: for page and journal. */
export function actedWords({
  resting,
  why,
  proved,
}: Pick<JobEvent & { kind: 'acted' }, 'resting' | 'why' | 'proved'>): Words {
  const told = resting === 'normal' || proved || sendsToTheSupply(why)
  return told ? why : said('job.off-not-proved-by-hand', { why })
}

/** Words that tell to switch it off by hand already; an older keeper says so in a sentence. */
function sendsToTheSupply(why: Words): boolean {
  if (typeof why === 'string') return /switch .*off by hand/.test(why)
  return holds(why, 'keeper.off-not-proved') || holds(why, 'generator.by-hand')
}

/** The keeper acted by itself. Safe: the output is off, and a person has to say "go on". */
function acted(job: Job, resting: 'normal' | 'safe', why: Words): Turn {
  const next = turn({ ...job, armed: null })
  if (job.phase.name === 'finished') return next
  if (resting === 'safe') return enter(tell(next, 'stopped', why), { name: 'stopped', words: why })
  return enter(next, { name: 'paused', words: why })
}

/** Warnings at 70 and 90 %, "release the key" at 100 %, supply off at 120 %, whatever the phase. */
function keyOverrun(before: Turn): Turn {
  const { key, keyWarned, phase } = before.job
  if (!key.keyed || phase.name === 'stopped') return before
  const budget = budgetOf(before.job)
  if (key.used >= 1.2) {
    const why = said('key.too-long', { most: `${budget.atMostS} s` })
    return stopFor(before, why)
  }
  if (key.used >= 1 && keyWarned < 100)
    return tell(change(before, { keyWarned: 100 }), 'release key', said('key.time-is-up-told'))
  if (key.used >= 0.9 && keyWarned < 90)
    return tell(change(before, { keyWarned: 90 }), 'key down 90', said('key.tenth-left'))
  if (key.used >= 0.7 && keyWarned < 70)
    return tell(change(before, { keyWarned: 70 }), 'key down 70', said('key.three-tenths-left'))
  return before
}

/** Meters are asked only while their readings can count: with the key as the step wants it. */
function lookAt(after: Turn): Turn {
  const { job } = after
  const counts = job.phase.name === 'work' && job.key.keyed === wantsKey(job)
  const quantities = counts ? wanted(job) : jumpAwaitedFrom(job) === null ? [] : (['DC voltage'] as const)
  if (quantities.join() === job.watched.join()) return after
  return want(change(after, { watched: quantities }), { kind: 'watch', quantities })
}

/** Keeps the times at which the state changed. */
function mark(after: Turn): Turn {
  const { job } = after
  const state = guideOf(job).state
  const last = job.log.at(-1)
  if (last && last.state === state && last.step === job.open.step.id) return after
  const marked = change(after, { log: [...job.log, { atMs: job.nowMs, step: job.open.step.id, state }] })
  return state === 'key now' && last?.state !== 'key now' ? tell(marked, 'key now', said('key.now-told')) : marked
}

import { printText, printValue } from '../../../quantity/print-value.ts'
import type { Quantity } from '../../../quantity/quantity.ts'
import type { ReadingView } from '../../../schema/messages/gauge-view.ts'
import type { KeyView, LiveFrame, StepView, SupplyView } from '../../../schema/messages/live-frame.ts'
import { quantitiesOf } from '../../goal/goal.ts'
import { meterFor, roleIn } from '../../goal/meter-for.ts'
import type { Step } from '../../goal/step.ts'
import { nudgeView, pegView, readingView, settleView, slotView } from '../../guidance/gauge.ts'
import { chassisFloats } from '../../plan/intake.ts'
import { type LiveRule, sigmaDbOf } from '../../reading/live.ts'
import type { Measured } from '../../reading/measured.ts'
import { errorE } from '../../uncertainty/band.ts'
import { budgetOf, channelSeen, plugVolts, wantsKey } from '../state/job-seen.ts'
import type { Job } from '../state/job-types.ts'
import { keyedS, restLeftS } from '../state/key-down.ts'
import { cautionsNow } from '../steps/cautions.ts'
import { takeBackUntilMs } from '../steps/marks.ts'
import { outOfBand } from '../steps/out-of-band.ts'
import { stopWords } from '../steps/step-open.ts'
import { mayBeWarm } from '../steps/warming.ts'
import { guideOf, offersIn } from './job-guide.ts'

/** The whole picture of a job, for pages and for the simulated hand. Decides nothing that the job has not decided. */
export function frameOf(
  job: Job,
  about: { readonly bench: LiveFrame['bench']; readonly seq: number; readonly job?: LiveFrame['job'] },
): LiveFrame {
  const guide = guideOf(job)
  const [main] = job.open.measured
  const showing = job.phase.name === 'work' || job.phase.name === 'done' || job.phase.name === 'link lost'
  const shown = showing && main ? main : null
  return {
    kind: 'frame',
    format: 1,
    seq: about.seq,
    atMs: job.nowMs,
    bench: about.bench,
    mode: 'job',
    state: guide.state,
    reading: shown ? readingView(shown.live, shown.rule, job.nowMs) : null,
    slot: main ? slotView(main.live, main.rule) : null,
    peg: shown ? pegView(shown.live, shown.rule, guide.drop) : null,
    peak: peakView(job),
    settle: shown ? settleView(shown.live) : { share: 0, seconds: 0, word: '' },
    guide: { words: guide.words, way: guide.way, hands: guide.hands },
    because: guide.because,
    step: stepView(job),
    supply: supplyView(job),
    key: keyView(job),
    events: job.events,
    steps: job.sheet,
    captured: job.captured,
    marks: job.marks,
    beside: showing ? beside(job) : [],
    settings: job.settings,
    typing: guide.state === 'type in' && main ? typingOf(main.rule) : null,
    job: about.job ?? { serial: job.plan.serial, id: '', record: '', fingerprint: '' },
    ...(guide.state === 'highest' && shown ? largestOf(shown) : {}),
    offers: offersOf(job, guide.state),
    ...takeBackOf(job),
  }
}

function offersOf(job: Job, state: LiveFrame['state']): LiveFrame['offers'] {
  return [
    ...(mayBeWarm(job) ? (['confirm'] as const) : []),
    ...(state === 'captured' && outOfBand(job) !== null ? (['again'] as const) : []),
    ...(takeBackUntilMs(job) === null ? [] : (['take back'] as const)),
    ...offersIn(state),
  ]
}

function takeBackOf(job: Job): Pick<LiveFrame, 'takeBackUntilMs'> {
  const untilMs = takeBackUntilMs(job)
  return untilMs === null ? {} : { takeBackUntilMs: untilMs }
}

/** The largest seen so far, for its mark on the gauge. */
function largestOf({ live, rule }: Measured): Pick<LiveFrame, 'largest'> {
  if (live.highest === null || rule.goal.kind !== 'band') return {}
  const { print, facts, goal } = rule
  const label = printText(live.highest, facts.unit, print.step, print.prefix ?? undefined)
  return { largest: { label, e: errorE(live.highest, goal.band) } }
}

/** What is typed, with an example written as the meter shows it. */
function typingOf({ facts, goal, print }: LiveRule): LiveFrame['typing'] {
  const near = goal.kind === 'band' ? (goal.band.aim ?? goal.band.high ?? goal.band.low ?? 1) : 1
  const { digits, unit } = printValue(near, facts.unit, print.step)
  return { quantity: facts.quantity, instrument: facts.instrument, example: `${digits} ${unit}`, unit }
}

function peakView(job: Job): LiveFrame['peak'] {
  const { rounds, adjuster, measured } = job.open
  const [main] = measured
  const watch = main?.live.peak
  if (!rounds || !watch) return null
  return {
    fromStartDb: watch.fromStartDb,
    belowDb: watch.belowDb,
    sigmaDb: sigmaDbOf(main.rule.facts),
    proved: watch.proved,
    round: rounds.round,
    rounds: job.open.step.rounds.most,
    gainDb: rounds.gainDb,
    adjuster,
    ...nudgeView(watch),
  }
}

function stepView(job: Job): StepView {
  const { step, adjuster, channel } = job.open
  const described = job.plan.procedure.adjusters[adjuster]
  const seen = channelSeen(job)
  const cautions = cautionsNow(job)
  return {
    id: step.id,
    row: step.row,
    number: job.at + 1,
    of: job.plan.lines.length,
    pass: job.open.pass,
    stop:
      step.stops.length > 1 ? { number: job.open.stopAt + 1, of: step.stops.length, words: stopWords(job.open) } : null,
    sounds: job.phase.name === 'stopped' ? 'on' : step.sounds, // an alarm is heard, whatever is measured
    title: step.title,
    technique: step.technique,
    adjuster: adjuster === 'supply' ? '' : adjuster,
    adjusterWhere: described?.what ?? '',
    tool: described?.tool ?? null,
    where: placesOf(step.where, described?.tool),
    reads: quantitiesOf(step).map((quantity) => ({ quantity, instrument: meterOf(job, quantity) })),
    floating: chassisFloats(job.plan),
    targetWords: job.open.targetWords,
    transmit: wantsKey(job) ? 'transmit' : 'receive',
    mode: step.mode,
    channelWanted: channel?.channel ?? null,
    channelMiddle: channel && job.plan.middle ? job.plan.middle.channel : null,
    channelSeen: seen?.channel ?? null,
    tone: job.open.toneWords,
    before: step.before,
    asksForBands: step.asksForBands && job.phase.name === 'action' && job.phase.words === step.before,
    cautions: cautions.fresh,
    cautionsSeen: cautions.seen,
    bands: job.plan.bands,
  }
}

/** The places of a step; where it says nothing of the tool, the adjuster's own. */
export function placesOf(where: Step['where'], tool: StepView['tool'] | undefined): StepView['where'] {
  const { prod, common, side, set, microphone } = where
  const own = where.tool ?? tool
  return [
    ...(prod ? [{ what: 'prod' as const, ...prod }] : []),
    ...(common ? [{ what: 'common' as const, ...common }] : []),
    ...(side ? [{ what: 'side' as const, ...side }] : []),
    ...(set ? [{ what: 'set' as const, ...set }] : []),
    ...(own ? [{ what: 'tool' as const, ...own }] : []),
    ...(microphone ? [{ what: 'microphone' as const, ...microphone }] : []),
  ]
}

function meterOf(job: Job, quantity: Quantity): string | null {
  return meterFor(job.plan.meters, quantity, roleIn(job.open.step, quantity))?.instrument ?? null
}

function supplyView(job: Job): SupplyView {
  const { supply, open, phase } = job
  const terminalVolts = supply?.volts ?? null
  const amps = supply?.amps ?? null
  const busy = phase.name === 'work' || phase.name === 'arming' || phase.name === 'read'
  return {
    plugVolts: plugVolts(job),
    terminalVolts,
    amps,
    output: supply?.output ?? 'unknown',
    resting: supply?.resting ?? 'safe',
    moving: supply?.moving ?? false,
    wantedVolts: busy ? (open.step.supplyVolts ?? job.plan.procedure.set.supplyVolts) : null,
  }
}

function keyView(job: Job): KeyView {
  const budget = budgetOf(job)
  return {
    keyed: job.key.keyed,
    seconds: keyedS(job.key),
    atMostS: budget.atMostS,
    share: job.key.used,
    restLeftS: restLeftS(job.key, budget),
  }
}

function beside(job: Job): readonly ReadingView[] {
  return job.open.measured.slice(1).flatMap(({ live, rule }) => readingView(live, rule, job.nowMs) ?? [])
}

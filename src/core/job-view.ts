import type { KeyView, LiveFrame, ReadingView, StepLine, StepView, SupplyView } from '../schema/live-frame.ts'
import { pegView, readingView, settleView, slotView } from './gauge.ts'
import { guideOf, offersIn } from './job-guide.ts'
import { budgetOf, channelSeen, wantsKey } from './job-seen.ts'
import type { Job } from './job-types.ts'
import { keyedS, restLeftS } from './key-down.ts'
import { sigmaDbOf } from './live.ts'

/** The whole picture of a job, for pages and for the simulated hand. Decides nothing that the job has not decided. */
export function frameOf(job: Job, about: { readonly bench: LiveFrame['bench']; readonly seq: number }): LiveFrame {
  const guide = guideOf(job)
  const live = job.open.lives[0]
  const rule = job.open.rules[0]
  const showing = job.phase.name === 'work' || job.phase.name === 'done' || job.phase.name === 'link lost'
  const shown = showing && live && rule ? { live, rule } : null
  return {
    kind: 'frame',
    format: 1,
    seq: about.seq,
    atMs: job.nowMs,
    bench: about.bench,
    mode: 'job',
    state: guide.state,
    reading: shown ? readingView(shown.live, shown.rule, job.nowMs) : null,
    slot: live && rule ? slotView(live, rule) : null,
    peg: shown ? pegView(shown.live, shown.rule, guide.drop) : null,
    peak: peakView(job),
    settle: shown ? settleView(shown.live) : { share: 0, seconds: 0, word: '' },
    guide: { words: guide.words, way: guide.way, hands: guide.hands },
    because: guide.because,
    step: stepView(job),
    supply: supplyView(job),
    key: keyView(job),
    events: job.events,
    steps: stepLines(job),
    captured: job.captured,
    beside: showing ? beside(job) : [],
    offers: offersIn(guide.state),
  }
}

function peakView(job: Job): LiveFrame['peak'] {
  const { rounds, adjuster, lives, rules } = job.open
  const watch = lives[0]?.peak
  const facts = rules[0]?.facts
  if (!rounds || !watch || !facts) return null
  return {
    fromStartDb: watch.fromStartDb,
    belowDb: watch.belowDb,
    sigmaDb: sigmaDbOf(facts),
    proved: watch.proved,
    round: rounds.round,
    rounds: job.open.step.rounds.most,
    gainDb: rounds.gainDb,
    adjuster,
  }
}

function stepView(job: Job): StepView {
  const { step, adjuster, channel } = job.open
  const described = job.plan.procedure.adjusters[adjuster]
  const { where } = step
  const places = [
    { what: 'prod', place: where.prod },
    { what: 'common', place: where.common },
    { what: 'side', place: where.side },
    { what: 'set', place: where.set },
    { what: 'tool', place: where.tool ?? described?.tool },
    { what: 'microphone', place: where.microphone },
  ]
  const seen = channelSeen(job)
  return {
    id: step.id,
    row: step.row,
    number: job.at + 1,
    of: job.plan.procedure.steps.length,
    title: step.title,
    technique: step.technique,
    adjuster: adjuster === 'supply' ? '' : adjuster,
    adjusterWhere: described?.what ?? '',
    tool: described?.tool ?? '',
    where: places.flatMap(({ what, place }) => (place === undefined ? [] : [{ what, place }])),
    targetWords: job.open.targetWords,
    transmit: wantsKey(job) ? 'transmit' : 'receive',
    mode: step.mode,
    channelWanted: channel?.channel ?? null,
    channelMiddle: channel && job.plan.middle ? job.plan.middle.channel : null,
    channelSeen: seen?.channel ?? null,
    tone: job.open.toneWords,
    before: step.before,
    cautions: [...step.cautions, ...job.plan.procedure.cautions],
  }
}

function supplyView(job: Job): SupplyView {
  const { supply, lead, open, phase } = job
  const terminalVolts = supply?.volts ?? null
  const amps = supply?.amps ?? null
  const busy = phase.name === 'work' || phase.name === 'arming' || phase.name === 'read'
  return {
    plugVolts: terminalVolts === null || amps === null ? null : terminalVolts - lead.ohms * amps,
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
  return job.open.lives.slice(1).flatMap((live, at) => {
    const rule = job.open.rules[at + 1]
    const view = rule ? readingView(live, rule, job.nowMs) : null
    return view ? [view] : []
  })
}

function stepLines(job: Job): readonly StepLine[] {
  return job.plan.procedure.steps.map((step, at) => {
    const result = job.results[at] ?? { state: 'to do' as const, reason: '' }
    const open = at === job.at && job.phase.name !== 'finished' && result.state === 'to do'
    const kept = job.captured.filter((one) => one.step === step.id && one.latest)
    return {
      id: step.id,
      row: step.row,
      title: step.title,
      state: open ? 'open' : result.state,
      result: result.state === 'left out' ? result.reason : kept.map((one) => `${one.digits} ${one.unit}`).join(', '),
    }
  })
}

import { printText } from '../../../quantity/print-value.ts'
import type { Quantity } from '../../../quantity/quantity.ts'
import { quantityWords } from '../../../quantity/quantity-words.ts'
import type { LiveFrame, LiveState } from '../../../schema/messages/live-frame.ts'
import { type Said, said, type Words } from '../../../words/said/said.ts'
import { isKeyed } from '../../goal/step.ts'
import { type Guide, say } from '../../guidance/guide.ts'
import { nudgeWords } from '../../guidance/guide-words.ts'
import { workGuide } from '../../guidance/work-guide.ts'
import { nudgeS } from '../../peaking/step-and-wait.ts'
import { ageOf, type Live, type LiveRule } from '../../reading/live.ts'
import { lateWords } from '../../reading/missed.ts'
import { budgetOf, noRf, suspectLeads, wantsKey, wrongChannel } from '../state/job-seen.ts'
import type { Job } from '../state/job-types.ts'
import { restLeftS } from '../state/key-down.ts'
import { outOfBand, outSecond, outWords } from '../steps/out-of-band.ts'
import { cannotDo } from '../steps/step-open.ts'
import { dueWords, warmingWords } from '../steps/warming.ts'

/** Where the person stands and the one sentence of guidance for it. */
export function guideOf(job: Job): Guide {
  const { phase, open } = job
  switch (phase.name) {
    case 'read': {
      const because = cannotDo(job)
      return say('read step', because === '' ? readWords(job) : said('job.cannot-do', { why: because }), { because })
    }
    case 'action':
      return say('action', phase.words)
    case 'settings':
      return say('settings', open.pass === 'left' ? said('job.put-back-settings') : said('job.write-down-settings'))
    case 'question':
      return job.key.keyed
        ? say('release key', said('job.question-first'), { because: phase.ask, hands: 'off' })
        : say('question', phase.ask, { because: phase.why, hands: 'off' })
    case 'keeping':
      return say('steady', said('job.writing-down'), { hands: 'off', drop: 1 })
    case 'key up first':
      return say('release key', said('key.up-first'))
    case 'arming':
      if (!phase.supplyChanges && open.stopAt > 0 && open.toneWords !== '')
        return say('supply moving', said('job.tone-to', { tone: open.toneWords }))
      return say(
        'supply moving',
        said('job.supply-to', {
          volts: printText(job.open.step.supplyVolts ?? job.plan.procedure.set.supplyVolts, 'V', 0.01),
        }),
      )
    case 'done':
      return job.key.keyed ? say('release key', said('job.captured-release-key')) : doneGuide(job)
    case 'warming':
      if (job.key.keyed) return say('release key', said('job.sampled-release-key'), { hands: 'off' })
      return say('warming', dueWords(job), {
        because: said('job.set-grows-warm', { how: warmingWords(job) }),
        hands: 'off',
      })
    case 'link lost':
      return say('link lost', said('guide.lost', { instrument: phase.instrument }), {
        because: phase.words,
        hands: 'off',
      })
    case 'paused':
      return say('paused', said('job.at-normal'), { because: phase.words })
    case 'stopped':
      return say('stopped', ...stoppedWords(job, phase.words))
    case 'finished':
      return say('finished', said('job.every-step-done'))
    case 'work':
      return keyGuide(job) ?? measuring(job)
    default:
      return phase satisfies never
  }
}

function readWords(job: Job): Said {
  const { step, adjuster } = job.open
  if (adjuster === '' || adjuster === 'supply')
    return isKeyed(step) ? said('job.hands-on-key') : said('job.hands-off-trimmers')
  return said('job.tool-into', { adjuster })
}

/** The transmitter's turn: what the key has to do before anything can count; null when it is right. */
function keyGuide(job: Job): Guide | null {
  const { key, open } = job
  const budget = budgetOf(job)
  if (open.release !== '' && key.keyed) return say('release key', open.release, { hands: 'off' })
  const byPerson = open.measured[0]?.rule.facts.typed === true
  if (wantsKey(job) && byPerson && (key.keyed || open.wasKeyed)) return null
  if (!wantsKey(job)) return key.keyed ? say('release key', said('key.read-in-receive')) : null
  if (key.keyed && key.used >= 1) return say('release key', said('key.time-is-up'))
  if (key.keyed) return null
  if (job.nowMs < job.counting.supplyMs) return say('hold-off', said('key.set-follows-supply'), { hands: 'off' })
  const nudged = nudgeGuide(job)
  if (nudged) return nudged
  const restS = restLeftS(key, budget)
  if (restS > 0) return say('rest', said('key.rest', { left: `${Math.ceil(restS)} s` }), { hands: 'off' })
  if (open.wrongSeen !== '')
    return say('key now', said('key.channel-first', { channel: open.channel?.channel ?? '' }), {
      because: open.wrongSeen,
    })
  const { adjuster } = open
  const turned = adjuster !== '' && adjuster !== 'supply'
  return say('key now', turned ? said('key.now-tool-in', { adjuster }) : said('key.now'))
}

/** With the key up, between two readings of a meter that cannot be turned by: the nudge, for as long as a hand needs for it. */
function nudgeGuide({ open, key, nowMs }: Job): Guide | null {
  const watch = open.measured[0]?.live.peak
  if (watch?.phase !== 'nudge' || key.keyed) return null
  const { order } = watch.memory.nudging
  if (nowMs - key.sinceMs > nudgeS(order) * 1000) return null
  return say('nudge', nudgeWords(order, open.adjuster), { way: order.back ? 'back' : 'up', hands: 'on' })
}

function measuring(job: Job): Guide {
  const { live, rule } = job.open.measured[0] ?? {}
  const wrong = wrongChannel(job)
  if (wrong !== '') return say('wrong channel', said('job.wrong-channel'), { because: wrong, hands: 'off' })
  if (!live || !rule) return say('hold-off', said('guide.wait'))
  if (rule.facts.typed) return typeGuide(job, live, rule)
  const next = nextInBox(job)
  if (next !== null)
    return say('settling', said('job.next-in-box', { quantity: quantityWords(next) }), { hands: 'off' })
  const { ageMs, oldAfterMs } = ageOf(live, rule.facts, job.nowMs)
  const waitedMs = job.nowMs - Math.max(job.counting.fromMs.get(live.quantity) ?? 0, job.key.sinceMs)
  if (Math.min(ageMs, waitedMs) > oldAfterMs)
    return say('old', said('guide.reading-old'), {
      because: lateWords(
        rule.facts.instrument,
        job.missed.find(({ instrument }) => instrument === rule.facts.instrument),
        live.last,
      ),
      hands: 'off',
    })
  const silent = noRf(job)
  if (silent !== '') return say('hold-off', said('job.no-rf'), { because: silent, hands: 'off' })
  const leads = suspectLeads(job)
  if (leads !== '') return say('settling', leads, { hands: 'off', because: said('job.not-the-voltage') })
  if (job.open.step.technique === 'highest' && live.current) return highestGuide(job, live)
  return workGuide(live, rule, {
    nowMs: job.nowMs,
    turned: job.open.step.technique === 'set' && !job.open.step.adjust.includes('supply'),
    adjuster: job.open.adjuster,
    atBestSinceMs: job.open.atBestSinceMs,
    approach: job.open.step.approach,
  })
}

/** In a check the main quantity has settled, and its instrument now reads another one of the step in its place: which; else null. */
function nextInBox({ open }: Job): Quantity | null {
  const { measured, step } = open
  const [main] = measured
  if (step.technique !== 'check' || main?.live.settle.verdict !== 'settled') return null
  const box = main.rule.facts.instrument
  const next = measured.find(({ live, rule }) => live.settle.verdict !== 'settled' && rule.facts.instrument === box)
  return next?.live.quantity ?? null
}

/** A step that came out of band is not passed over: it is said, and stays until the person goes on. */
function doneGuide(job: Job): Guide {
  const out = outOfBand(job)
  if (out === null) return say('captured', said('job.captured'))
  return say('captured', outWords(out), { because: outSecond(out, job) })
}

/** The largest is looked for: what to do meanwhile, and how much of the time is over. */
function highestGuide(job: Job, live: Live): Guide {
  const { say: words, holdS } = job.open.step
  const sinceMs = live.kept[0]?.beganMs ?? job.nowMs
  const share = Math.min(1, (job.nowMs - sinceMs) / (holdS * 1000))
  return say('highest', words === '' ? said('job.looking-for-largest') : words, { hands: 'off', drop: share * 0.9 })
}

/** A meter without a socket: the person reads it and types. */
function typeGuide(job: Job, live: Live, rule: LiveRule): Guide {
  const { open } = job
  const { adjuster } = open
  const { instrument } = rule.facts
  if (open.rounds) return say('type in', said('job.type-top', { adjuster, instrument }))
  const last = live.last?.value
  if (open.step.technique !== 'set' || last == null || rule.goal.kind === 'peak')
    return say('type in', said('job.type-reading', { instrument }))
  return last > rule.goal.aimHigh
    ? say('type in', said('job.type-bring-down', { adjuster, instrument }), { way: 'down' })
    : say('type in', said('job.type-bring-up', { adjuster, instrument }), { way: 'up' })
}

/** An off that is not proved within this time, ms, is a matter for the hand at the switch. */
const UNPROVED_MS = 2000

/** "Off" is said only of an output that is off by the supply's own reading. */
function stoppedWords(job: Job, why: Words): [Said, { because: Words; hands: 'off' }] {
  if (job.supply?.output === 'off') return [said('job.supply-off'), { because: why, hands: 'off' }]
  const mark = job.log.at(-1)
  const sinceMs = mark?.state === 'stopped' ? mark.atMs : job.nowMs
  if (job.nowMs - sinceMs < UNPROVED_MS) return [said('job.switching-off'), { because: why, hands: 'off' }]
  return [said('job.switch-off-by-hand'), { because: said('job.off-not-proved', { why }), hands: 'off' }]
}

/** Requests that make sense in a state. STOP always does. */
export function offersIn(state: LiveState): LiveFrame['offers'] {
  const always = ['stop', 'open step', 'leave out', 'close job'] as const
  switch (state) {
    case 'read step':
      return ['ready', ...always]
    case 'action':
      return ['confirm', ...always]
    case 'paused':
      return ['go on', ...always]
    case 'stopped':
      return ['go on', 'leave out', 'close job']
    case 'settings':
      return ['ready', 'note setting', ...always]
    case 'type in':
      return ['type in', ...always]
    case 'captured':
      return ['next', ...always]
    case 'question':
      return ['again', 'keep', ...always]
    case 'finished':
      return ['open step', 'close job']
    case 'settling':
    case 'far':
    case 'near':
    case 'in':
    case 'steady':
    case 'climb':
    case 'passed over':
    case 'return':
    case 'at best':
    case 'highest':
    case 'no effect':
    case 'cannot reach':
      return ['capture', ...always]
    default:
      return always
  }
}

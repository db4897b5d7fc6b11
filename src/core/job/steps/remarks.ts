import type { Procedure } from '../../../schema/files/procedure-file.ts'
import type { Words } from '../../../words/said/said.ts'
import { controlWords, powerAgainstCurrent, reserveWords } from '../../radio/cross-check.ts'
import { peaksWords } from '../../radio/deviation.ts'
import { judgeLimiter } from '../../radio/limiter.ts'
import type { Kept } from '../../reading/capture.ts'
import type { Job, Taken } from '../state/job-types.ts'
import { stopWords } from './step-open.ts'

/** What was just captured, as far as other values are held against it. */
export function takenOf(job: Job, kept: readonly Kept[]): readonly Taken[] {
  const { channel, stop, step } = job.open
  const which = stopWords(job.open)
  return kept.map(({ number, pass, quantity, label, value }) => ({
    number,
    step: step.id,
    pass,
    quantity,
    label,
    value,
    state: stop.state,
    mode: step.mode,
    channel: channel?.channel ?? null,
    transmitHz: channel?.transmitHz ?? 0,
    supplyVolts: step.supplyVolts ?? job.plan.procedure.set.supplyVolts,
    tone: stop.tone,
    which,
  }))
}

/**
 * What the newest values say when they are held against each other and against earlier ones of the same pass, in words; nothing where
 * all fits. They hint at a cause and change no verdict.
 */
export function remarksOn(
  earlier: readonly Taken[],
  newest: readonly Taken[],
  about: { readonly set: Procedure['set']; readonly parts: readonly number[]; readonly mostDeviationHz: number | null },
): readonly Words[] {
  const pass = newest[0]?.pass
  const before = earlier.filter((one) => one.pass === pass)
  const all = [
    powerSaid(newest, about.set),
    reserveSaid(before, newest, about.set),
    controlSaid(before, newest),
    peaksSaid(newest, about.parts),
    limiterSaid(before, newest, about.mostDeviationHz),
  ]
  return all.filter((words) => words !== '')
}

const of = (all: readonly Taken[], quantity: Taken['quantity']) => all.find((one) => one.quantity === quantity)

function powerSaid(newest: readonly Taken[], { currentLaw }: Procedure['set']): Words {
  const [power, current] = [of(newest, 'RF power'), of(newest, 'DC current')]
  if (!currentLaw || power?.mode !== 'FM' || !current) return ''
  return powerAgainstCurrent({ watts: power.value, amps: current.value }, currentLaw).words
}

/** Power on one channel at two supplies: the higher against the lower. */
function reserveSaid(
  before: readonly Taken[],
  newest: readonly Taken[],
  { supplyLaw, supplyVolts }: Procedure['set'],
): Words {
  const low = of(newest, 'RF power')
  if (!supplyLaw || !low || low.supplyVolts !== supplyVolts || low.mode !== 'FM') return ''
  const high = before.findLast(
    ({ quantity, mode, channel, supplyVolts: volts, label }) =>
      quantity === 'RF power' &&
      mode === low.mode &&
      channel === low.channel &&
      volts > low.supplyVolts &&
      label !== 'peaked',
  )
  return high ? reserveWords(high.value, low.value, supplyLaw) : ''
}

function controlSaid(before: readonly Taken[], newest: readonly Taken[]): Words {
  const volts = newest[0]
  if (volts?.quantity !== 'DC voltage' || volts.channel === null) return ''
  const like = [...before, volts].filter(({ quantity, state }) => quantity === volts.quantity && state === volts.state)
  const latest = new Map(
    like.flatMap((one) =>
      one.channel === null ? [] : [[one.channel, { ...one, channel: one.channel, volts: one.value }]],
    ),
  )
  return controlWords([...latest.values()])
}

function peaksSaid(newest: readonly Taken[], parts: readonly number[]): Words {
  const [up, down] = parts
  const deviation = of(newest, 'FM deviation')
  if (!deviation?.tone || up === undefined || down === undefined || deviation.label === 'highest') return ''
  return peaksWords({ up, down })
}

/** Once three points are there: two levels of a tone, or several tones. */
function limiterSaid(before: readonly Taken[], newest: readonly Taken[], mostHz: number | null): Words {
  const last = of(newest, 'FM deviation')
  if (!last?.tone || mostHz === null) return ''
  const points = [...before, last].flatMap(({ quantity, tone, value }) =>
    quantity === 'FM deviation' && tone ? [{ toneHz: tone.hz, levelVolts: tone.volts, deviationHz: value }] : [],
  )
  const { verdict, words } = judgeLimiter(points, mostHz)
  return verdict === 'rises with level' || verdict === 'rises with tone' ? words : ''
}

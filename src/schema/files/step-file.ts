import { z } from 'zod'
import { readTarget } from '../../quantity/parse-target.ts'
import { readAbout, readRange, readValue } from '../../quantity/parse-value.ts'
import { type Parsed, QUANTITY_NAMES, type Quantity, unitOf } from '../../quantity/quantity.ts'
import type { Target } from '../../quantity/target.ts'
import { quantityText, readBy, roleName } from '../door/fields.ts'
import { AsksFor, asksForBands } from './asks-for.ts'
import { readKeyPlan } from './key-plan.ts'
import { Where } from './where.ts'

const volts = quantityText('V')
const amps = quantityText('A')
const seconds = quantityText('s')
const words = z.string().trim().min(1)
export const stepId = z
  .string()
  .regex(/^[a-z0-9][a-z0-9-]*$/, 'small letters, digits and hyphens, for example control-voltage')
/** An adjuster's label as printed on the board. */
export const label = z
  .string()
  .regex(/^[A-Za-z][A-Za-z0-9]{0,5}$/, "an adjuster's label as printed on the board, for example PW")

const quantity = z.enum(QUANTITY_NAMES as readonly [Quantity, ...Quantity[]], {
  error: (issue) => `"${String(issue.input)}" is not a quantity; one of ${QUANTITY_NAMES.join(', ')}`,
})

const Measured = z
  .strictObject({ measure: quantity, role: roleName().optional(), target: words })
  .transform((also, ctx) => {
    const target = readTarget(also.target, also.measure)
    if (target.ok) return { quantity: also.measure, role: also.role ?? null, target: target.value }
    ctx.addIssue({ code: 'custom', path: ['target'], message: target.refused })
    return z.NEVER
  })

const PlainStep = z.strictObject({
  id: stepId,
  row: words.optional(),
  title: words,
  supply: volts.optional(),
  /** For a step that is probed with less than the set's own limit. */
  'current limit': amps.optional(),
  channel: z.union([z.int().positive(), z.literal('middle')]).optional(),
  channels: z.array(z.int().positive()).min(2).max(20).optional(),
  tones: z.array(quantityText('Hz')).min(2).max(20).optional(),
  levels: z.array(volts).min(2).max(20).optional(),
  /** How long the largest is looked for. */
  for: seconds.optional(),
  say: words.optional(),
  /** What to do when it came out of band. */
  'out of band': words.optional(),
  sounds: z.literal('off').optional(),
  'first key-down': z.literal('yes').optional(),
  band: words.optional(),
  mode: z.enum(['FM', 'AM']).default('FM'),
  where: Where.optional(),
  before: words.optional(),
  /** What the page shows with what is to be done first. */
  'asks for': AsksFor.optional(),
  in: z.enum(['receive', 'transmit', 'receive, then transmit']).optional(),
  transmit: readBy(readKeyPlan).optional(),
  adjust: z.union([label, z.array(label).min(1).max(6)]).optional(),
  technique: z.enum(['set', 'peak', 'dip', 'check', 'highest', 'wait']).optional(),
  /** For technique wait: how much it may still move in a minute. */
  'drift below': words.optional(),
  /** Between two sampled key-downs of a wait. */
  'sample every': seconds.optional(),
  /** For technique wait: how long it usually takes; the supply may stay on that long with nobody at the page. */
  'usually takes': seconds.optional(),
  measure: quantity,
  /** By which of several meters of the quantity. */
  role: roleName().optional(),
  target: words,
  aim: words.optional(),
  'rule limit': words.optional(),
  approach: z.enum(['from above', 'from below']).optional(),
  also: z.array(Measured).default([]),
  expect: words.optional(),
  'round gains less than': quantityText('dB').optional(),
  'rounds at most': z.int().min(1).max(10).optional(),
  'difference at most': words.optional(),
  caution: z.union([words, z.array(words)]).optional(),
  'leave out': words.optional(),
})

/** A window or limit of a step in its quantity's unit; `around channel` ones become numbers when the channel is known. */
export interface AimWindow {
  readonly centre: number | 'channel'
  readonly plusMinus: number
}

function readAim(text: string, of: Quantity): Parsed<AimWindow> {
  const aboutChannel = /^channel\s*(?:\+-|\+\/-|±)\s*(.+)$/.exec(text)
  if (aboutChannel?.[1] !== undefined) {
    const half = readValue(aboutChannel[1], unitOf(of))
    return half.ok ? { ok: true, value: { centre: 'channel', plusMinus: half.value } } : half
  }
  const about = readAbout(text, unitOf(of))
  return about.ok ? { ok: true, value: { centre: about.value.centre, plusMinus: about.value.plusMinus } } : about
}

/** One thing after the other that a step reads: with the key up or down, on a channel, with a tone. */
export interface Stop {
  readonly state: 'receive' | 'transmit'
  readonly channel: number | 'middle' | null
  readonly tone: { readonly hz: number; readonly volts: number } | null
}

/** One row of the alignment table that is measured (or a few that belong together), as the job uses it. SI throughout. */
export const MeasuredStep = PlainStep.transform((step, ctx) => {
  const refuse = (field: string, message: string) => ctx.addIssue({ code: 'custom', path: [field], message })
  const take = <T>(field: string, parsed: Parsed<T>): T | undefined => {
    if (parsed.ok) return parsed.value
    refuse(field, parsed.refused)
    return undefined
  }
  const unit = unitOf(step.measure)
  const target = take<Target>('target', readTarget(step.target, step.measure))
  const aim = step.aim === undefined ? undefined : take('aim', readAim(step.aim, step.measure))
  const rule =
    step['rule limit'] === undefined ? undefined : take('rule limit', readTarget(step['rule limit'], step.measure))
  const expect = step.expect === undefined ? undefined : take('expect', readRange(step.expect, unit))
  const difference =
    step['difference at most'] === undefined
      ? undefined
      : take('difference at most', readValue(step['difference at most'], unit))
  const drift =
    step['drift below'] === undefined ? undefined : take('drift below', readValue(step['drift below'], unit))
  const peaking = target?.kind === 'maximum' || target?.kind === 'minimum'
  const adjust = step.adjust === undefined ? [] : [step.adjust].flat()
  const technique =
    step.technique ??
    (target?.kind === 'maximum' ? 'peak' : target?.kind === 'minimum' ? 'dip' : adjust.length > 0 ? 'set' : 'check')
  const states = step.in ?? (step.transmit ? 'transmit' : 'receive')
  refuseClashes(step, { peaking, adjust, technique, states }, refuse)
  const tone = step.transmit?.tone ?? null
  if (!target) return z.NEVER
  const inStates = states === 'receive, then transmit' ? (['receive', 'transmit'] as const) : ([states] as const)
  const stops = stopsOf(step, tone, inStates)
  return {
    kind: 'measure' as const,
    stops,
    limitAmps: step['current limit'] ?? null,
    holdS: step.for ?? 0,
    /** Of a wait: it is over when the quantity moves less than this in a minute; sampled once in so many seconds. */
    drift: drift === undefined ? null : { perMinute: drift, everyS: step['sample every'] ?? 60 },
    /** Of a wait: how long it usually takes, ms; 0 where nobody says. */
    takesMs: (step['usually takes'] ?? 0) * 1000,
    say: step.say ?? '',
    ifOut: step['out of band'] ?? '',
    sounds: step.sounds ?? ('on' as const),
    firstKey: step['first key-down'] === 'yes',
    id: step.id,
    row: step.row ?? step.id,
    title: step.title,
    supplyVolts: step.supply ?? null,
    band: step.band ?? null,
    mode: step.mode,
    where: step.where ?? {},
    before: step.before ?? '',
    asksForBands: asksForBands(step['asks for'], step.before),
    key: step.transmit ?? null,
    adjust,
    technique,
    quantity: step.measure,
    role: step.role ?? null,
    target,
    targetWords: step.target,
    aim: aim ?? null,
    rule: rule?.kind === 'band' ? { low: rule.low, high: rule.high } : null,
    approach: step.approach ?? null,
    also: step.also,
    expect: expect ?? null,
    rounds: { gainDb: step['round gains less than'] ?? 0.05, most: step['rounds at most'] ?? 4 },
    differenceAtMost: difference ?? null,
    cautions: step.caution === undefined ? [] : [step.caution].flat(),
    leftOut: step['leave out'] ?? null,
  }
})
export type MeasuredStep = z.infer<typeof MeasuredStep>

/** Lines of a step that do not go together, each at the field that has to change. */
function refuseClashes(
  step: z.infer<typeof PlainStep>,
  { peaking, adjust, technique, states }: Worked,
  refuse: (field: string, message: string) => void,
): void {
  if (peaking !== (technique === 'peak' || technique === 'dip'))
    refuse('technique', `"${technique}" does not go with the target "${step.target}"`)
  if (peaking && adjust.length === 0) refuse('adjust', 'a peak or dip needs an adjuster to turn')
  if (states !== 'receive' && !step.transmit)
    refuse('transmit', 'missing: say how it is keyed, for example unmodulated, 15 s then 45 s rest')
  if (states === 'receive' && step.transmit) refuse('in', 'receive, but the step has a "transmit" line')
  const repeats = ['channels', 'tones', 'levels'] as const
  const repeated = repeats.filter((field) => step[field] !== undefined)
  for (const second of repeated.slice(1))
    refuse(second, `a step repeats over one thing; "${repeated[0]}" is there already`)
  if (step.channels && step.channel !== undefined) refuse('channel', 'the step has "channels" already')
  for (const field of ['tones', 'levels'] as const)
    if (step[field] && !step.transmit?.tone) refuse(field, 'needs a tone: write "transmit: tone 1 kHz at 30 mV"')
  if (repeated.length > 0 && adjust.length > 0 && technique !== 'check')
    refuse('adjust', 'a step that repeats is read only; what is turned has a step of its own')
  if ((technique === 'highest') !== (step.for !== undefined))
    refuse('for', technique === 'highest' ? 'missing: say how long, for example 1.5 s' : 'goes with technique: highest')
  if (technique === 'highest' && adjust.length > 0)
    refuse('adjust', 'nothing is turned while the highest is looked for')
  const waiting = technique === 'wait'
  if (waiting !== (step['drift below'] !== undefined))
    refuse('drift below', waiting ? 'missing: say how much a minute, for example 5 Hz' : 'goes with technique: wait')
  if (step['sample every'] !== undefined && !waiting) refuse('sample every', 'goes with technique: wait')
  if (step['usually takes'] !== undefined && !waiting) refuse('usually takes', 'goes with technique: wait')
  if (waiting && adjust.length > 0) refuse('adjust', 'nothing is turned while a set grows warm')
  if (waiting && (repeated.length > 0 || states !== 'transmit'))
    refuse(
      'technique',
      '"wait" samples one thing in short key-downs: it needs a "transmit" line and repeats over nothing',
    )
}

/** What follows from the lines of a step: `states` as in the file, `peaking` from its target. */
interface Worked {
  readonly peaking: boolean
  readonly adjust: readonly string[]
  readonly technique: NonNullable<z.infer<typeof PlainStep>['technique']>
  readonly states: NonNullable<z.infer<typeof PlainStep>['in']>
}

function stopsOf(
  step: Pick<z.infer<typeof PlainStep>, 'channel' | 'channels' | 'tones' | 'levels'>,
  tone: Stop['tone'],
  states: readonly Stop['state'][],
): readonly Stop[] {
  const channels = step.channels ?? [step.channel ?? null]
  const tones = tone
    ? (step.tones?.map((hz) => ({ ...tone, hz })) ?? step.levels?.map((volts) => ({ ...tone, volts })) ?? [tone])
    : [null]
  return channels.flatMap((channel) => tones.flatMap((one) => states.map((state) => ({ state, channel, tone: one }))))
}

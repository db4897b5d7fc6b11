import { z } from 'zod'
import { readTarget } from '../quantity/parse-target.ts'
import { readAbout, readRange, readValue } from '../quantity/parse-value.ts'
import { type Parsed, QUANTITY_NAMES, type Quantity, unitOf } from '../quantity/quantity.ts'
import type { Target } from '../quantity/target.ts'
import { formatOne, quantityText } from './fields.ts'
import { type KeyPlan, readKeyPlan } from './key-plan.ts'

const volts = quantityText('V')
const amps = quantityText('A')
const seconds = quantityText('s')
const words = z.string().trim().min(1)
const stepId = z
  .string()
  .regex(/^[a-z0-9][a-z0-9-]*$/, 'small letters, digits and hyphens, for example control-voltage')
const label = z
  .string()
  .regex(/^[A-Za-z][A-Za-z0-9]{0,5}$/, "an adjuster's label as printed on the board, for example PW")

/** Turns a person's text into a value by one of the readers of src/quantity; the reader's own words are the refusal. */
function readBy<T>(read: (text: string) => Parsed<T>) {
  return words.transform((text, ctx) => {
    const parsed = read(text)
    if (parsed.ok) return parsed.value
    ctx.addIssue({ code: 'custom', message: parsed.refused })
    return z.NEVER
  })
}

const quantity = z.enum(QUANTITY_NAMES as readonly [Quantity, ...Quantity[]], {
  error: (issue) => `"${String(issue.input)}" is not a quantity; one of ${QUANTITY_NAMES.join(', ')}`,
})

const channelNumbers = readBy((text): Parsed<{ from: number; to: number }> => {
  const match = /^(\d{1,3})\s*(?:\.\.|–|-)\s*(\d{1,3})$/.exec(text)
  if (!match) return { ok: false, refused: `"${text}" is not a run of channels; write it like 41 .. 80` }
  return { ok: true, value: { from: Number(match[1]), to: Number(match[2]) } }
})

const BandUse = z
  .strictObject({
    plan: words,
    channels: channelNumbers.optional(),
    /** yaml reads a bare yes or no as a word here; both spellings are meant. */
    use: z.enum(['yes', 'ask', 'no']),
    words: words.optional(),
  })
  .transform((band) => ({ ...band, words: band.words ?? band.plan }))

const Adjuster = z.strictObject({
  what: words,
  tool: words.optional(),
  travel: words.optional(),
})

const SetFacts = z
  .strictObject({
    supply: volts,
    'never above': volts,
    trip: volts,
    'current limit': amps,
    'receive limit': amps,
    'keyed above': amps,
    'transmit at most': seconds,
    'then rest': seconds,
    chassis: z.enum(['floating', 'to supply minus']).default('to supply minus'),
  })
  .transform((set, ctx) => {
    if (set.supply > set['never above'])
      ctx.addIssue({ code: 'custom', path: ['supply'], message: 'is above "never above"' })
    if (set.trip <= set['never above'])
      ctx.addIssue({
        code: 'custom',
        path: ['trip'],
        message: 'must lie above "never above", or the supply trips in use',
      })
    return {
      supplyVolts: set.supply,
      ceilingVolts: set['never above'],
      tripVolts: set.trip,
      limitAmps: set['current limit'],
      receiveAmps: set['receive limit'],
      keyedAboveAmps: set['keyed above'],
      key: { atMostS: set['transmit at most'], restS: set['then rest'] },
      chassis: set.chassis,
    }
  })

const Where = z.strictObject({
  prod: words.optional(),
  common: words.optional(),
  series: quantityText('ohm').optional(),
  side: words.optional(),
  set: words.optional(),
  tool: words.optional(),
  microphone: words.optional(),
})

const Measured = z.strictObject({ measure: quantity, target: words }).transform((also, ctx) => {
  const target = readTarget(also.target, also.measure)
  if (target.ok) return { quantity: also.measure, target: target.value }
  ctx.addIssue({ code: 'custom', path: ['target'], message: target.refused })
  return z.NEVER
})

const PlainStep = z.strictObject({
  id: stepId,
  row: words.optional(),
  title: words,
  supply: volts.optional(),
  channel: z.union([z.int().positive(), z.literal('middle')]).optional(),
  band: words.optional(),
  mode: z.enum(['FM', 'AM']).default('FM'),
  where: Where.optional(),
  before: words.optional(),
  in: z.enum(['receive', 'transmit', 'receive, then transmit']).optional(),
  transmit: readBy(readKeyPlan).optional(),
  adjust: z.union([label, z.array(label).min(1).max(6)]).optional(),
  technique: z.enum(['set', 'peak', 'dip', 'check']).optional(),
  measure: quantity,
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

/** One row of the alignment table (or a few that belong together), as the job uses it. SI throughout. */
const StepFile = PlainStep.transform((step, ctx) => {
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
  const peaking = target?.kind === 'maximum' || target?.kind === 'minimum'
  const adjust = step.adjust === undefined ? [] : [step.adjust].flat()
  const technique =
    step.technique ??
    (target?.kind === 'maximum' ? 'peak' : target?.kind === 'minimum' ? 'dip' : adjust.length > 0 ? 'set' : 'check')
  const states = step.in ?? (step.transmit ? 'transmit' : 'receive')
  if (peaking !== (technique === 'peak' || technique === 'dip'))
    refuse('technique', `"${technique}" does not go with the target "${step.target}"`)
  if (peaking && adjust.length === 0) refuse('adjust', 'a peak or dip needs an adjuster to turn')
  if (states !== 'receive' && !step.transmit)
    refuse('transmit', 'missing: say how it is keyed, for example unmodulated, 15 s then 45 s rest')
  if (states === 'receive' && step.transmit) refuse('in', 'receive, but the step has a "transmit" line')
  if (!target) return z.NEVER
  return {
    id: step.id,
    row: step.row ?? step.id,
    title: step.title,
    supplyVolts: step.supply ?? null,
    channel: step.channel ?? null,
    band: step.band ?? null,
    mode: step.mode,
    where: step.where ?? {},
    before: step.before ?? '',
    states: states === 'receive, then transmit' ? (['receive', 'transmit'] as const) : ([states] as const),
    key: step.transmit ?? null,
    adjust,
    technique,
    quantity: step.measure,
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
export type Step = z.infer<typeof StepFile>

/** A procedure file: the set, its bands and adjusters, and the alignment table. */
export const Procedure = z
  .strictObject({
    format: formatOne(),
    procedure: words,
    about: words.optional(),
    set: SetFacts,
    bands: z.record(z.string(), BandUse).default({}),
    adjusters: z.record(label, Adjuster).default({}),
    cautions: z.array(words).default([]),
    steps: z.array(StepFile).min(1),
  })
  .transform((file, ctx) => {
    const seen = new Set<string>()
    file.steps.forEach((step, at) => {
      const refuse = (field: string, message: string) =>
        ctx.addIssue({ code: 'custom', path: ['steps', at, field], message })
      if (seen.has(step.id)) refuse('id', `"${step.id}" is the id of an earlier step`)
      seen.add(step.id)
      for (const name of step.adjust)
        if (name !== 'supply' && !(name in file.adjusters))
          refuse('adjust', `"${name}" is not described under "adjusters"`)
      if (step.supplyVolts !== null && step.supplyVolts > file.set.ceilingVolts)
        refuse('supply', `${step.supplyVolts} V is above "never above" ${file.set.ceilingVolts} V`)
      if (step.band !== null && !(step.band in file.bands)) refuse('band', `"${step.band}" is not one of the bands`)
      if (step.channel !== null && Object.keys(file.bands).length === 0)
        refuse('channel', 'needs a "bands" part that names a channel plan')
    })
    return {
      title: file.procedure,
      about: file.about ?? '',
      set: file.set,
      bands: file.bands,
      adjusters: file.adjusters,
      cautions: file.cautions,
      steps: file.steps,
    }
  })
export type Procedure = z.infer<typeof Procedure>
export type { KeyPlan }

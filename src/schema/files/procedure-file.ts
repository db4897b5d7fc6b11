import { z } from 'zod'
import type { Parsed } from '../../quantity/quantity.ts'
import { formatOne, quantityText, readBy } from '../door/fields.ts'
import { HAZARDS } from './hazard.ts'
import { RowFile } from './row-file.ts'
import { label, stepId } from './step-file.ts'
import { ToolOfSheet } from './where.ts'

const volts = quantityText('V')
const amps = quantityText('A')
const seconds = quantityText('s')
const words = z.string().trim().min(1)

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
  tool: ToolOfSheet.optional(),
  travel: words.optional(),
  /** Steps whose readings it moves too: done already, they are opened again. */
  disturbs: z.array(stepId).optional(),
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
    /** How the current of a healthy set follows its power: idle + so much per root watt. */
    'keyed current': z
      .strictObject({ idle: amps, 'per root watt': amps, within: quantityText('ratio') })
      .transform((law) => ({ idleAmps: law.idle, ampsPerRootWatt: law['per root watt'], within: law.within }))
      .optional(),
    /** Power at the highest supply over that at the normal one, with the power loop holding and with none. */
    'power with supply': z.strictObject({ held: z.number().positive(), open: z.number().positive() }).optional(),
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
      currentLaw: set['keyed current'] ?? null,
      supplyLaw: set['power with supply'] ?? null,
      chassis: set.chassis,
    }
  })

const Setting = z
  .strictObject({ name: words, 'limits key-down': z.literal('yes').optional() })
  .transform((setting) => ({
    name: setting.name,
    limitsKeyDown: setting['limits key-down'] === 'yes',
  }))

const Adjusters = z.record(label, Adjuster).default({})

/** A procedure file: the set, its bands and adjusters, and the alignment table. */
export const Procedure = z
  .strictObject({
    format: formatOne(),
    procedure: words,
    about: words.optional(),
    set: SetFacts,
    bands: z.record(z.string(), BandUse).default({}),
    adjusters: Adjusters,
    settings: z.array(Setting).default([]),
    covers: words.optional(),
    'not covered': z.array(words).default([]),
    cautions: z.array(words).default([]),
    /** What is dangerous about this kind of radio: each brings its caution. */
    hazards: z.array(z.enum(HAZARDS)).default([]),
    steps: z.array(RowFile).min(1),
  })
  .transform((file, ctx) => {
    const measured = file.steps.filter((step) => step.kind === 'measure')
    const ids = file.steps.map((step) => step.id)
    file.steps.forEach((step, at) => {
      const refuse = (field: string, message: string) =>
        ctx.addIssue({ code: 'custom', path: ['steps', at, field], message })
      if (ids.indexOf(step.id) < at) refuse('id', `"${step.id}" is the id of an earlier step`)
      if (step.kind === 'settings' && file.settings.length === 0)
        refuse('settings', 'the file has no "settings" part that names them')
      if (step.kind === 'read again')
        for (const id of step.steps) {
          const meant = measured.find((one) => one.id === id)
          if (!meant) refuse('read', `"${id}" is not the id of a step that is measured`)
          else if (meant.target.kind === 'maximum' || meant.target.kind === 'minimum')
            refuse('read', `"${id}" is a peak: it cannot be read without turning`)
          else if (meant.technique === 'wait')
            refuse('read', `"${id}" waits for the set to be warm: it is not read again`)
          else if (meant.adjust.includes('supply')) refuse('read', `"${id}" turns the supply: it cannot be only read`)
        }
      if (step.kind !== 'measure') return
      for (const name of step.adjust)
        if (name !== 'supply' && !(name in file.adjusters))
          refuse('adjust', `"${name}" is not described under "adjusters"`)
      if (step.supplyVolts !== null && step.supplyVolts > file.set.ceilingVolts)
        refuse('supply', `${step.supplyVolts} V is above "never above" ${file.set.ceilingVolts} V`)
      if (step.limitAmps !== null && step.limitAmps > file.set.limitAmps)
        refuse('current limit', `${step.limitAmps} A is above the set's own ${file.set.limitAmps} A`)
      if (step.band !== null && !(step.band in file.bands)) refuse('band', `"${step.band}" is not one of the bands`)
      if (step.stops.some((stop) => stop.channel !== null) && Object.keys(file.bands).length === 0)
        refuse('channel', 'needs a "bands" part that names a channel plan')
    })
    for (const [name, adjuster] of Object.entries(file.adjusters))
      for (const id of adjuster.disturbs ?? [])
        if (!ids.includes(id))
          ctx.addIssue({
            code: 'custom',
            path: ['adjusters', name, 'disturbs'],
            message: `"${id}" is not the id of a step`,
          })
    return {
      title: file.procedure,
      about: file.about ?? '',
      set: file.set,
      bands: file.bands,
      adjusters: file.adjusters,
      settings: file.settings,
      covers: file.covers ?? '',
      notCovered: file['not covered'],
      cautions: file.cautions,
      hazards: file.hazards,
      steps: file.steps,
    }
  })
export type Procedure = z.infer<typeof Procedure>

import { existsSync } from 'node:fs'
import { type BandChannel, middleOf } from '../core/radio/channels.ts'
import { offsetsOn } from '../core/radio/crystal.ts'
import { BenchError } from '../fault/bench-error.ts'
import { readValue } from '../quantity/parse-value.ts'
import { prefixFor, printText } from '../quantity/print-value.ts'
import { readYamlFile } from '../schema/door/yaml-door.ts'
import { ChannelPlan } from '../schema/files/channel-plan.ts'
import { said } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { type Command, textOf, type Values } from './command.ts'
import { loadPlans } from './load-procedures.ts'

interface Listed extends BandChannel {
  /** What the plan sets the channel apart for; "" where it does not. */
  readonly use: string
}

/** `cept-40`, `de-80:41..80` or a plan file: the channels a person means. */
function channelsOf(word: string, plans: ReadonlyMap<string, ChannelPlan>): readonly Listed[] {
  const match = /^(.*?)(?::(\d{1,3})\.\.(\d{1,3}))?$/.exec(word)
  const name = match?.[1] ?? word
  const plan = plans.get(name) ?? (existsSync(name) ? readYamlFile(name, ChannelPlan) : undefined)
  if (!plan)
    throw new BenchError(
      'COMMAND_USAGE',
      'trimwright channels',
      said('command.channels-no-plan', { name, plans: [...plans.keys()] }),
    )
  const from = match?.[2] === undefined ? 1 : Number(match[2])
  const to = match?.[3] === undefined ? Number.POSITIVE_INFINITY : Number(match[3])
  return plan.channels
    .filter(({ channel }) => channel >= from && channel <= to)
    .map((channel) => ({ ...channel, band: plan.id, use: useOf(channel.channel, plan) }))
}

function useOf(channel: number, { uses }: ChannelPlan): string {
  return uses.flatMap((use) => (use.channels.includes(channel) ? [use.for] : [])).join('; ')
}

/** The error of the reference that was asked about, a ratio; null where none was. */
function errorAsked(values: Values): number | null {
  const text = textOf(values, 'error')
  if (text === undefined) return null
  const error = readValue(text, 'ratio')
  if (!error.ok) throw new BenchError('COMMAND_USAGE', 'trimwright channels', error.refused)
  return error.value
}

const signed = (hz: number) => `${hz < 0 ? '-' : '+'}${printText(Math.abs(hz), 'Hz', 0.1, prefixFor(1, 'Hz'))}`

const receiveWords = (frequency: string) => sentence(said('command.channels-receive', { frequency }))

function apartWords(reserved: boolean, use: string): string {
  if (!reserved) return use
  return sentence(use === '' ? said('command.channels-reserved') : said('command.channels-reserved-for', { use }))
}

export const channels: Command = {
  usage: 'channels PLAN[:FROM..TO]...',
  does: said('command.channels-does'),
  options: { error: { type: 'string' } },
  help: { error: said('command.channels-error') },
  run: async (values, words, output) => {
    const plans = loadPlans()
    const error = errorAsked(values)
    if (words.length === 0) {
      for (const { id, channels: its, title } of plans.values()) {
        const count = sentence(said('command.channels-count', { count: String(its.length).padStart(3) }))
        output.out(`${id.padEnd(14)} ${count}  ${title}`)
      }
      return 0
    }
    const all = words.flatMap((word) => channelsOf(word, plans))
    const middle = middleOf(all)
    const offsets = error === null ? [] : offsetsOn(error, all)
    if (values.json === true) {
      output.out(JSON.stringify({ channels: all, middle: middle ?? null, ...(error === null ? {} : { offsets }) }))
      return middle ? 0 : 1
    }
    for (const [at, { band, channel, transmitHz, receiveHz, reserved, use }] of all.entries()) {
      const off = offsets[at]
      const transmit = `${printText(transmitHz, 'Hz', 10)}${off ? ` ${signed(off.transmitHz)}` : ''}`
      const receive =
        receiveHz === transmitHz
          ? ''
          : `  ${receiveWords(`${printText(receiveHz, 'Hz', 10)}${off ? ` ${signed(off.receiveHz)}` : ''}`)}`
      const apart = apartWords(reserved, use)
      output.out(`${band} ${String(channel).padStart(3)}  ${transmit}${receive}${apart === '' ? '' : `  ${apart}`}`)
    }
    output.out(
      sentence(
        middle
          ? said('command.channels-middle', {
              band: middle.band,
              channel: middle.channel,
              frequency: printText(middle.transmitHz, 'Hz', 10),
            })
          : said('command.channels-no-middle'),
      ),
    )
    return middle ? 0 : 1
  },
}

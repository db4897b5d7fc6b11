import { existsSync } from 'node:fs'
import { type BandChannel, middleOf } from '../core/channels.ts'
import { BenchError } from '../fault/bench-error.ts'
import { printText } from '../quantity/print-value.ts'
import { ChannelPlan } from '../schema/channel-plan.ts'
import { readYamlFile } from '../schema/yaml-door.ts'
import type { Command } from './command.ts'
import { loadPlans } from './load-procedures.ts'

/** `cept-40`, `de-80:41..80` or a plan file: the channels a person means. */
function channelsOf(word: string, plans: ReadonlyMap<string, ChannelPlan>): readonly BandChannel[] {
  const match = /^(.*?)(?::(\d{1,3})\.\.(\d{1,3}))?$/.exec(word)
  const name = match?.[1] ?? word
  const plan = plans.get(name) ?? (existsSync(name) ? readYamlFile(name, ChannelPlan) : undefined)
  if (!plan)
    throw new BenchError(
      'COMMAND_USAGE',
      'trimwright channels',
      `there is no channel plan "${name}"; the plans are ${[...plans.keys()].join(', ')}`,
    )
  const from = match?.[2] === undefined ? 1 : Number(match[2])
  const to = match?.[3] === undefined ? Number.POSITIVE_INFINITY : Number(match[3])
  return plan.channels
    .filter(({ channel }) => channel >= from && channel <= to)
    .map((channel) => ({ ...channel, band: plan.id }))
}

export const channels: Command = {
  usage: 'channels PLAN[:FROM..TO]...',
  does: 'the channels of the plans in use, and their middle',
  options: {},
  help: {},
  run: async (values, words, output) => {
    const plans = loadPlans()
    if (words.length === 0) {
      for (const plan of plans.values())
        output.out(`${plan.id.padEnd(14)} ${String(plan.channels.length).padStart(3)} channels  ${plan.title}`)
      return 0
    }
    const all = words.flatMap((word) => channelsOf(word, plans))
    const middle = middleOf(all)
    if (values.json === true) {
      output.out(JSON.stringify({ channels: all, middle: middle ?? null }))
      return middle ? 0 : 1
    }
    for (const { band, channel, transmitHz, receiveHz, reserved } of all) {
      const receive = receiveHz === transmitHz ? '' : `  receive ${printText(receiveHz, 'Hz', 10)}`
      output.out(
        `${band} ${String(channel).padStart(3)}  ${printText(transmitHz, 'Hz', 10)}${receive}${reserved ? '  reserved' : ''}`,
      )
    }
    output.out(
      middle
        ? `middle: ${middle.band} ${middle.channel}, ${printText(middle.transmitHz, 'Hz', 10)}`
        : 'middle: no usable channel',
    )
    return middle ? 0 : 1
  },
}

import { describe, expect, test } from 'vitest'
import { channels } from '../../src/commands/channels.ts'
import { loadPlans } from '../../src/commands/load-procedures.ts'

async function run(words: readonly string[], values: Readonly<Record<string, string | boolean>> = {}) {
  const lines: string[] = []
  const output = { out: (line: string) => lines.push(line), err: (line: string) => lines.push(`err ${line}`) }
  const code = await channels.run(values, words, output, new AbortController().signal)
  return { code, lines }
}

const ids = [...loadPlans().keys()]

test.each(ids)('%s is printed: a line a channel, then its middle', async (id) => {
  const { code, lines } = await run([id])
  expect(code).toBe(0)
  expect(lines).toHaveLength((loadPlans().get(id)?.channels.length ?? 0) + 1)
  expect(lines.at(-1)).toMatch(new RegExp(`^middle: ${id} \\d+, `))
})

test('without a plan every plan is named with its number of channels', async () => {
  const { lines } = await run([])
  expect(lines).toHaveLength(ids.length)
  expect(lines.find((line) => line.startsWith('marine-vhf'))).toContain(' 51 channels')
})

test('a two-frequency channel shows both, a reserved one says so and what for', async () => {
  const { lines } = await run(['marine-vhf:16..20'])
  expect(lines).toContain('marine-vhf  16  156.80000 MHz  reserved: distress, safety and calling')
  expect(lines).toContain('marine-vhf  20  157.00000 MHz  receive 161.60000 MHz')
})

test('a channel of data that voice may use as well says so, and is not reserved', async () => {
  const { lines } = await run(['de-80:6..9'])
  expect(lines[0]).toBe('de-80   6  27.02500 MHz  digital data as well as voice')
  expect(lines[3]).toBe('de-80   9  27.06500 MHz  reserved: emergencies, by custom')
})

describe('--error', () => {
  test('15.2 ppm makes +413.5 Hz on channel 20', async () => {
    const { code, lines } = await run(['cept-40:19..20'], { error: '15.2 ppm' })
    expect(code).toBe(0)
    expect(lines[1]).toBe('cept-40  20  27.20500 MHz +413.5 Hz')
  })

  test('-10 ppm on a two-frequency channel differs in transmit and receive', async () => {
    const { lines } = await run(['marine-vhf:60..60'], { error: '-10 ppm' })
    expect(lines[0]).toBe('marine-vhf  60  156.02500 MHz -1560.3 Hz  receive 160.62500 MHz -1606.3 Hz')
  })

  test('stands beside the channels in JSON, and is not there when nobody asked', async () => {
    const asked = await run(['cept-40:20..20'], { error: '1 ppm', json: true })
    expect(JSON.parse(asked.lines[0] ?? '').offsets).toEqual([
      { band: 'cept-40', channel: 20, transmitHz: 27.205, receiveHz: 27.205 },
    ])
    const plain = await run(['cept-40:20..20'], { json: true })
    expect(JSON.parse(plain.lines[0] ?? '')).not.toHaveProperty('offsets')
  })

  test('in Hz is refused in words', async () => {
    await expect(run(['cept-40'], { error: '412 Hz' })).rejects.toThrow(
      /trimwright channels: "412 Hz".*\[COMMAND_USAGE\]/,
    )
  })
})

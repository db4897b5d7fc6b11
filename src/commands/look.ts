import { BenchError } from '../fault/bench-error.ts'
import { QUANTITY_NAMES } from '../quantity/quantity.ts'
import type { MeterFacts } from '../schema/kept/reading.ts'
import type { LiveFrame } from '../schema/messages/live-frame.ts'
import { untilAborted, within } from '../system/deadline.ts'
import { said } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { BENCH_HELP, BENCH_OPTIONS, choiceOf } from './bench-options.ts'
import type { Command } from './command.ts'
import { openService } from './open-service.ts'

/** Beyond the time that a reading takes, so long at least, ms. */
const PATIENCE_MS = 10_000

export const look: Command = {
  usage: 'look QUANTITY [TARGET]',
  does: said('command.look-does'),
  options: { ...BENCH_OPTIONS, stream: { type: 'boolean' } },
  help: { ...BENCH_HELP, stream: said('command.look-stream') },
  goesOn: (values) => values.stream === true,
  run: async (values, words, output, signal) => {
    const [quantity = '', target] = words
    if (!QUANTITY_NAMES.some((name) => name === quantity))
      throw new BenchError(
        'COMMAND_USAGE',
        'trimwright look',
        said('command.look-no-quantity', { quantity, quantities: QUANTITY_NAMES }),
      )
    const service = await openService({ ...choiceOf(values), openWithinMs: 6000 }, signal)
    const { session, deps, bench } = service
    const print = (frame: LiveFrame) =>
      output.out(values.json === true ? JSON.stringify(plain(frame)) : lineOf(frame, target !== undefined))
    try {
      await service.ready
      const first = new Promise<LiveFrame>((resolve) => {
        let last = -1
        session.onFrame((frame) => {
          if (!frame.reading || frame.reading.arrivedMs === last) return
          last = frame.reading.arrivedMs
          if (values.stream === true) print(frame)
          resolve(frame)
        })
      })
      const asked = await session.request({ kind: 'watch', id: 'look', quantity, target: target ?? 'maximum' })
      if (!asked.ok) {
        output.err(sentence(asked.words))
        return 2
      }
      if (values.stream === true) {
        await untilAborted(signal)
        return 0
      }
      const patienceMs = patienceWith(bench.meters.find((meter) => meter.quantity === quantity))
      const answered = Promise.race([first, untilAborted(signal).then(() => null)])
      const frame = await within(deps.clock, patienceMs, answered, () => null)
      if (!frame) {
        const seconds = Math.round(patienceMs / 1000)
        const { because } = session.latest()
        output.err(sentence(because === '' ? said('command.look-no-reading-within', { quantity, seconds }) : because))
        return 2
      }
      print(frame)
      return target === undefined || Math.abs(frame.peg?.e ?? Number.POSITIVE_INFINITY) <= 1 ? 0 : 1
    } finally {
      await service.close()
    }
  },
}

/** How long a first reading is waited for, ms: a slow row has two of its own times beside what every instrument gets. */
export function patienceWith(facts: Pick<MeterFacts, 'latencyMs' | 'gateMs' | 'everyMs'> | undefined): number {
  return PATIENCE_MS + (facts ? 2 * Math.max(facts.latencyMs, facts.gateMs, facts.everyMs) : 0)
}

function plain(frame: LiveFrame) {
  const { reading, peg, state, guide, bench } = frame
  return {
    simulated: bench.simulated,
    quantity: reading?.quantity,
    value: reading?.value,
    word: reading && sentence(reading.word),
    e: peg?.e,
    state,
    guide: sentence(guide.words),
  }
}

function lineOf(frame: LiveFrame, held: boolean): string {
  const { reading } = frame
  if (!reading) return sentence(said('command.look-no-reading'))
  const value = reading.word === '' ? `${reading.digits} ${reading.unit}` : sentence(reading.word)
  return held ? `${value.padEnd(16)} ${sentence(frame.guide.words)}` : value
}

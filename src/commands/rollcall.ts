import { said } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { BENCH_HELP, BENCH_OPTIONS, choiceOf } from './bench-options.ts'
import type { Command } from './command.ts'
import { openService } from './open-service.ts'

export const rollcall: Command = {
  usage: 'rollcall',
  does: said('command.rollcall-does'),
  options: BENCH_OPTIONS,
  help: BENCH_HELP,
  run: async (values, _words, output, signal) => {
    const service = await openService({ ...choiceOf(values), openWithinMs: 6000 }, signal)
    try {
      await service.ready
      const all = service.bench.instruments()
      if (values.json === true)
        output.out(JSON.stringify({ bench: service.bench.name, simulated: service.bench.simulated, instruments: all }))
      else
        for (const { name, driver, address, identity, up, calibrationDue, typed } of all) {
          const reached = typed ? driver : said('command.address-at', { driver, address })
          const answer = up ? identity || said('command.rollcall-typed') : said('command.does-not-answer')
          const due = calibrationDue === null ? '' : said('command.calibration-due', { day: calibrationDue })
          const line = `${name.padEnd(12)} ${sentence(answer)}  (${sentence(reached)})`
          output.out(due === '' ? line : `${line}  ${sentence(due)}`)
        }
      return all.every((one) => one.up) ? 0 : 1
    } finally {
      await service.close()
    }
  },
}

import { BENCH_HELP, BENCH_OPTIONS, choiceOf } from './bench-options.ts'
import type { Command } from './command.ts'
import { openService } from './open-service.ts'

export const rollcall: Command = {
  usage: 'rollcall',
  does: 'every instrument on the bench says who it is',
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
          const reached = typed ? driver : `${driver} at ${address}`
          const due = calibrationDue === null ? '' : `  calibration due ${calibrationDue}`
          output.out(
            `${name.padEnd(12)} ${up ? identity || 'read by a person' : 'DOES NOT ANSWER'}  (${reached})${due}`,
          )
        }
      return all.every((one) => one.up) ? 0 : 1
    } finally {
      await service.close()
    }
  },
}

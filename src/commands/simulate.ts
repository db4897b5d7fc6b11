import { loadBench } from '../bench/load-bench.ts'
import { untilAborted } from '../system/deadline.ts'
import { said } from '../words/said/said.ts'
import { DRIVERS, numberOf } from './bench-options.ts'
import { type Command, textOf } from './command.ts'
import { standingOn, startSimulated } from './simulated.ts'

export const simulate: Command = {
  usage: 'simulate',
  does: said('command.simulate-does'),
  options: { bench: { type: 'string' }, seed: { type: 'string' }, cold: { type: 'boolean' }, pace: { type: 'string' } },
  help: {
    bench: said('command.simulate-bench'),
    seed: said('command.simulate-seed'),
    cold: said('command.simulate-cold'),
    pace: said('command.simulate-pace'),
  },
  goesOn: () => true,
  run: async (values, _words, output, signal) => {
    const file = textOf(values, 'bench')
    const stands = file === undefined ? {} : { stands: standingOn(loadBench(file, DRIVERS).file) }
    const pace = { times: numberOf(values, 'pace') ?? 1, originMs: performance.timeOrigin }
    const bench = await startSimulated({
      seed: numberOf(values, 'seed') ?? null,
      pace,
      ...stands,
      more: values.cold === true ? ['--cold'] : [],
    })
    const all = { ...bench.addresses, ...(bench.setPage === null ? {} : { set: bench.setPage }) }
    if (values.json === true) output.out(JSON.stringify(all))
    else for (const [name, address] of Object.entries(all)) output.out(`${name} ${address}`)
    await Promise.race([untilAborted(signal), bench.gone])
    await bench.close()
    return 0
  },
}

import { said } from '../words/said/said.ts'
import { BENCH_HELP, BENCH_OPTIONS, choiceOf, SIMULATED_BENCH } from './bench-options.ts'
import type { Command } from './command.ts'
import { startSimulated } from './simulated.ts'

export const serve: Command = {
  usage: 'serve',
  does: said('command.serve-does'),
  options: { ...BENCH_OPTIONS, port: { type: 'string' }, pace: { type: 'string' }, procedures: { type: 'string' } },
  help: {
    ...BENCH_HELP,
    port: said('command.serve-port'),
    pace: said('command.serve-pace'),
    procedures: said('command.serve-procedures'),
  },
  goesOn: () => true,
  run: async (values, _words, output, signal) => {
    const choice = choiceOf(values)
    const { seed, pace, simulatedMore: more } = choice
    // The bench file of the program itself is simulated: its process starts while everything else is still being loaded.
    const early = choice.benchFile === SIMULATED_BENCH ? startSimulated({ seed, pace, more }) : null
    early?.catch(() => {}) // told when it is waited for
    return (await import('./serve-pages.ts')).servePages(choice, values, output, signal, early)
  },
}

import { BENCH_HELP, BENCH_OPTIONS, choiceOf, SIMULATED_BENCH } from './bench-options.ts'
import type { Command } from './command.ts'
import { startSimulated } from './simulated.ts'

export const serve: Command = {
  usage: 'serve',
  does: 'the bench and its gauge page; on a simulated bench the page of the set too',
  options: { ...BENCH_OPTIONS, port: { type: 'string' }, pace: { type: 'string' }, procedures: { type: 'string' } },
  help: {
    ...BENCH_HELP,
    port: 'port of the page, 0 for any free one (8137)',
    pace: 'simulated bench only: so many times faster than real',
    procedures: 'further procedure files to offer, with commas between',
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

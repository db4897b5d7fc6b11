import { BenchError } from '../../fault/bench-error.ts'
import { BENCH_HELP, BENCH_OPTIONS, numberOf } from '../bench-options.ts'
import { type Command, textOf } from '../command.ts'
import { exitOf, printOutcome } from './job-outcome.ts'

export const job: Command = {
  usage: 'job PROCEDURE',
  does: 'does a procedure: with the gauge page, or by the simulated hand',
  options: {
    ...BENCH_OPTIONS,
    hand: { type: 'boolean' },
    fast: { type: 'boolean' },
    pace: { type: 'string' },
    bands: { type: 'string' },
    serial: { type: 'string' },
    rules: { type: 'string' },
    reopen: { type: 'string' },
    continues: { type: 'string' },
    port: { type: 'string' },
  },
  help: {
    ...BENCH_HELP,
    hand: 'the simulated hand does it, seeing nothing but the gauge',
    fast: 'with --hand: on a clock of its own, in seconds',
    pace: 'with --hand: so many times faster than real, over real links',
    bands: 'bands to use beside those marked yes, with commas between',
    serial: 'serial number of the set',
    rules: 'rule card, a file under procedures/rules; without one AM is left out',
    reopen: 'goes on with a job whose service ended in the middle, by its name',
    continues: 'name of a closed job of the same serial, whose as-found readings stand',
    port: 'port of the page',
  },
  run: async (values, words, output, signal) => {
    const [procedure, ...more] = words
    if (procedure === undefined || more.length > 0)
      throw new BenchError('COMMAND_USAGE', 'trimwright job', `one procedure file is wanted, ${words.length} given`)
    if (values.fast === true && values.hand !== true)
      throw new BenchError('COMMAND_USAGE', 'trimwright job', '--fast goes with --hand')
    if (values.fast === true && values.reopen !== undefined)
      throw new BenchError('COMMAND_USAGE', 'trimwright job', '--reopen goes on over real links: not with --fast')
    const bands = (textOf(values, 'bands') ?? '').split(',').filter(Boolean)
    if (values.fast === true) {
      const seed = numberOf(values, 'seed') ?? null
      const recordIn = textOf(values, 'data')
      const serial = textOf(values, 'serial')
      const benchFile = textOf(values, 'bench')
      const courseIn = textOf(values, 'course')
      const { outcome } = await (await import('./job-fast.ts')).runFast({
        procedure,
        seed,
        warm: values.cold !== true,
        onCaution: (words) => output.err(`caution     ${words}`),
        bands,
        rules: textOf(values, 'rules') ?? null,
        continues: textOf(values, 'continues') ?? '',
        ...(serial === undefined ? {} : { serial }),
        ...(recordIn === undefined ? {} : { recordIn }),
        ...(benchFile === undefined ? {} : { benchFile }),
        ...(courseIn === undefined ? {} : { courseIn }),
      })
      printOutcome(outcome, output, values.json === true)
      return exitOf(outcome)
    }
    // the two ways load very different things; only the one asked for is loaded
    return (await import('./job-over-links.ts')).jobOverLinks(procedure, bands, values, output, signal)
  },
}

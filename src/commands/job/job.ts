import { BenchError } from '../../fault/bench-error.ts'
import { said } from '../../words/said/said.ts'
import { sentence } from '../../words/sentence/sentence.ts'
import { BENCH_HELP, BENCH_OPTIONS, numberOf } from '../bench-options.ts'
import { type Command, lineHead, textOf } from '../command.ts'
import { exitOf, printOutcome } from './job-outcome.ts'

export const job: Command = {
  usage: 'job PROCEDURE',
  does: said('command.job-does'),
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
    hand: said('command.job-hand'),
    fast: said('command.job-fast'),
    pace: said('command.job-pace'),
    bands: said('command.job-bands'),
    serial: said('command.job-serial'),
    rules: said('command.job-rules'),
    reopen: said('command.job-reopen'),
    continues: said('command.job-continues'),
    port: said('command.job-port'),
  },
  run: async (values, words, output, signal) => {
    const [procedure, ...more] = words
    if (procedure === undefined || more.length > 0)
      throw new BenchError(
        'COMMAND_USAGE',
        'trimwright job',
        said('command.job-one-procedure', { count: words.length }),
      )
    if (values.fast === true && values.hand !== true)
      throw new BenchError('COMMAND_USAGE', 'trimwright job', said('command.job-fast-needs-hand'))
    if (values.fast === true && values.reopen !== undefined)
      throw new BenchError('COMMAND_USAGE', 'trimwright job', said('command.job-reopen-not-fast'))
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
        onCaution: (words) => output.err(`${lineHead(said('command.caution'), 12)}${sentence(words)}`),
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

import { join } from 'node:path'
import { BenchError } from '../fault/bench-error.ts'
import { openServer } from '../server/open-server.ts'
import { realClock } from '../system/clock.ts'
import { type Command, textOf, type Values } from './command.ts'
import { finished, runFast } from './job-fast.ts'
import { exitOf, outcomeOf, printOutcome } from './job-outcome.ts'
import { HOME, loadPlans, loadProcedure } from './load-procedures.ts'
import { BENCH_HELP, BENCH_OPTIONS, choiceOf, numberOf, openService } from './open-service.ts'
import { untilAborted } from './serve.ts'

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
    port: { type: 'string' },
  },
  help: {
    ...BENCH_HELP,
    hand: 'the simulated hand does it, seeing nothing but the gauge',
    fast: 'with --hand: on a clock of its own, in seconds',
    pace: 'with --hand: so many times faster than real, over real links',
    bands: 'bands to use beside those marked yes, with commas between',
    serial: 'serial number of the set',
    port: 'port of the page',
  },
  run: async (values, words, output, signal) => {
    const [procedure, ...more] = words
    if (procedure === undefined || more.length > 0)
      throw new BenchError('COMMAND_USAGE', 'trimwright job', `one procedure file is wanted, ${words.length} given`)
    if (values.fast === true && values.hand !== true)
      throw new BenchError('COMMAND_USAGE', 'trimwright job', '--fast goes with --hand')
    const bands = (textOf(values, 'bands') ?? '').split(',').filter(Boolean)
    if (values.fast === true) {
      const seed = numberOf(values, 'seed') ?? null
      const { outcome } = await runFast({ procedure, seed, warm: values.cold !== true, bands })
      printOutcome(outcome, output, values.json === true)
      return exitOf(outcome)
    }
    return overRealLinks(procedure, bands, values, output, signal)
  },
}

const overRealLinks = async (
  procedure: string,
  bands: readonly string[],
  values: Values,
  output: Parameters<Command['run']>[2],
  signal: AbortSignal,
): ReturnType<Command['run']> => {
  const offered = loadProcedure(procedure, loadPlans())
  const service = await openService(choiceOf(values), signal, [offered])
  const { session, deps, bench, simulated } = service
  const startedMs = deps.clock.nowMs()
  try {
    const server = await openServer({
      source: session,
      port: numberOf(values, 'port') ?? (values.hand === true ? 0 : 8137),
      webRoot: join(HOME, 'web', 'dist'),
      clock: deps.clock,
      pageClock: realClock(), // a page lives in real time, however the bench is paced
      log: deps.log,
    })
    const ended = finished(session)
    const serial = textOf(values, 'serial') ?? ''
    const asked = await session.request({
      kind: 'start job',
      id: 'start',
      procedure: offered.file,
      serial,
      bands: [...bands],
    })
    if (!asked.ok) throw new BenchError('JOB_REQUEST_REFUSED', offered.file, asked.words)
    if (values.hand === true) {
      if (!simulated)
        throw new BenchError('COMMAND_USAGE', 'trimwright job', '--hand works on the simulated bench only')
      simulated.handFollows(server)
    } else {
      output.err(`gauge page  ${server.url}`)
      if (simulated?.setPage) output.err(`the set     ${simulated.setPage}`)
    }
    await Promise.race([ended, untilAborted(signal)])
    const done = session.job()
    await server.close()
    if (!done) return 2
    const outcome = outcomeOf(done, { simulated: bench.simulated, seconds: (deps.clock.nowMs() - startedMs) / 1000 })
    printOutcome(outcome, output, values.json === true)
    return exitOf(outcome)
  } finally {
    await service.close()
  }
}

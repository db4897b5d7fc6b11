import { basename, join } from 'node:path'
import { BenchError } from '../../fault/bench-error.ts'
import { HOME } from '../../recording/home.ts'
import type { FromPage } from '../../schema/messages/live-frame.ts'
import { openServer } from '../../server/open-server.ts'
import { realClock } from '../../system/clock.ts'
import { untilAborted } from '../../system/deadline.ts'
import { said } from '../../words/said/said.ts'
import { sentence } from '../../words/sentence/sentence.ts'
import { choiceOf, numberOf } from '../bench-options.ts'
import { type ExitCode, lineHead, type Output, textOf, type Values } from '../command.ts'
import { loadPlans, loadProcedure } from '../load-procedures.ts'
import { openService } from '../open-service.ts'
import { exitOf, finished, outcomeOf, printOutcome, supplyCautions } from './job-outcome.ts'

/** A job with the gauge page, or paced by the hand: real links, a keeper process, a WebSocket. */
export async function jobOverLinks(
  procedure: string,
  bands: readonly string[],
  values: Values,
  output: Output,
  signal: AbortSignal,
): Promise<ExitCode> {
  const offered = loadProcedure(procedure, loadPlans())
  const service = await openService(choiceOf(values), signal, [offered])
  const { session, deps, bench, simulated } = service
  const startedMs = deps.clock.nowMs()
  try {
    await service.ready
    const server = await openServer({
      source: session,
      port: numberOf(values, 'port') ?? (values.hand === true ? 0 : 8137),
      webRoot: join(HOME, 'web', 'dist'),
      clock: deps.clock,
      pageClock: realClock(), // a page lives in real time, however the bench is paced
      log: deps.log,
    })
    for (const words of supplyCautions(bench, offered, deps.clock))
      output.err(`${lineHead(said('command.caution'), 12)}${sentence(words)}`)
    const ended = finished(session)
    const asked = await session.request(startOf(offered.file, bands, values))
    if (!asked.ok) throw new BenchError('JOB_REQUEST_REFUSED', offered.file, asked.words)
    if (values.hand === true) {
      if (!simulated) throw new BenchError('COMMAND_USAGE', 'trimwright job', said('command.job-hand-needs-simulated'))
      simulated.handFollows(server)
    }
    output.err(`${lineHead(said('command.gauge-page'), 12)}${server.url}`)
    if (simulated?.setPage) output.err(`${lineHead(said('command.the-set'), 12)}${simulated.setPage}`)
    await Promise.race([ended, untilAborted(signal)])
    const done = session.job()
    if (done?.phase.name === 'finished') {
      const closed = await session.request({ kind: 'close job', id: 'close' })
      if (!closed.ok) output.err(sentence(closed.words))
    }
    await server.close()
    if (!done) return 2
    const outcome = outcomeOf(done, {
      simulated: bench.simulated,
      seconds: (deps.clock.nowMs() - startedMs) / 1000,
      record: session.latest().job?.record ?? '',
    })
    printOutcome(outcome, output, values.json === true)
    return exitOf(outcome)
  } finally {
    await service.close()
  }
}

/** A new job, or the one that is to be gone on with. */
function startOf(procedure: string, bands: readonly string[], values: Values): FromPage {
  const [reopen, rules, continues] = ['reopen', 'rules', 'continues'].map((name) => textOf(values, name))
  if (reopen !== undefined) return { kind: 'reopen job', id: 'start', job: reopen }
  return {
    kind: 'start job',
    id: 'start',
    procedure,
    serial: textOf(values, 'serial') ?? '',
    bands: [...bands],
    ...(rules === undefined ? {} : { rules: basename(rules) }),
    ...(continues === undefined ? {} : { continues }),
  }
}

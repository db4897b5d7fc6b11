import { join } from 'node:path'
import type { Bench } from '../bench/bench.ts'
import { exampleTarget } from '../core/guidance/watch.ts'
import { HOME } from '../recording/home.ts'
import { openServer } from '../server/open-server.ts'
import { realClock } from '../system/clock.ts'
import { untilAborted } from '../system/deadline.ts'
import { said } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'
import { numberOf, type ServiceChoice } from './bench-options.ts'
import { type ExitCode, lineHead, type Output, textOf, type Values } from './command.ts'
import { loadPlans, loadProcedure } from './load-procedures.ts'
import { openService } from './open-service.ts'
import type { SimulatedProcess } from './simulated.ts'

const PORT = 8137

/** Serves a bench and its page until `signal` is aborted. `early`: the simulated bench, on its way already. */
export async function servePages(
  choice: ServiceChoice,
  values: Values,
  output: Output,
  signal: AbortSignal,
  early: Promise<SimulatedProcess> | null,
): Promise<ExitCode> {
  const more = (textOf(values, 'procedures') ?? '').split(',').filter(Boolean)
  const service = await openService(
    choice,
    signal,
    more.map((file) => loadProcedure(file, loadPlans())),
    early,
  )
  const { deps, session, bench, simulated } = service
  try {
    const server = await openServer({
      source: session,
      port: numberOf(values, 'port') ?? PORT,
      webRoot: join(HOME, 'web', 'dist'),
      clock: deps.clock,
      pageClock: realClock(), // a page lives in real time, however the bench is paced
      log: deps.log,
    })
    const first = firstWatch(bench)
    if (first) await session.request({ kind: 'watch', id: 'first', ...first })
    if (values.json === true)
      output.out(JSON.stringify({ gauge: server.url, set: simulated?.setPage ?? null, pace: choice.pace }))
    else {
      output.out(bench.simulated ? sentence(said('command.bench-simulated', { bench: bench.name })) : bench.name)
      output.out(`${lineHead(said('command.gauge-page'), 12)}${server.url}`)
      if (simulated?.setPage) output.out(`${lineHead(said('command.the-set'), 12)}${simulated.setPage}`)
      output.out(sentence(said('command.end-with')))
    }
    const never = new Promise<never>(() => {})
    const ended = Promise.race([untilAborted(signal), simulated?.gone ?? never])
    await Promise.race([ended, service.ready])
    await ended
    await server.close()
  } finally {
    await service.close()
  }
  return 0
}

/** Something to look at when the page opens: power before anything else. */
function firstWatch(bench: Bench) {
  const quantity = (bench.meters.find((meter) => meter.quantity === 'RF power') ?? bench.meters[0])?.quantity
  return quantity === undefined ? null : { quantity, target: exampleTarget(quantity) }
}

import { join } from 'node:path'
import { openServer } from '../server/open-server.ts'
import { realClock } from '../system/clock.ts'
import { type Command, textOf } from './command.ts'
import { HOME, loadPlans, loadProcedure } from './load-procedures.ts'
import { BENCH_HELP, BENCH_OPTIONS, choiceOf, numberOf, openService } from './open-service.ts'

const PORT = 8137

export const serve: Command = {
  usage: 'serve',
  does: 'the bench and its gauge page; on a simulated bench the page of the set too',
  options: { ...BENCH_OPTIONS, port: { type: 'string' }, pace: { type: 'string' }, procedures: { type: 'string' } },
  help: {
    ...BENCH_HELP,
    port: `port of the page, 0 for any free one (${PORT})`,
    pace: 'simulated bench only: so many times faster than real',
    procedures: 'further procedure files to offer, with commas between',
  },
  run: async (values, _words, output, signal) => {
    const choice = choiceOf(values)
    const more = (textOf(values, 'procedures') ?? '').split(',').filter(Boolean)
    const service = await openService(
      choice,
      signal,
      more.map((file) => loadProcedure(file, loadPlans())),
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
      await session.request({ kind: 'watch', id: 'first', ...firstWatch(bench) })
      if (values.json === true)
        output.out(JSON.stringify({ gauge: server.url, set: simulated?.setPage ?? null, pace: choice.pace }))
      else {
        output.out(`${bench.name}${bench.simulated ? ' (SIMULATED)' : ''}`)
        output.out(`gauge page  ${server.url}`)
        if (simulated?.setPage) output.out(`the set     ${simulated.setPage}`)
        output.out('End with Ctrl-C; the supply is made safe first.')
      }
      await Promise.race([untilAborted(signal), simulated?.gone ?? new Promise<never>(() => {})])
      await server.close()
    } finally {
      await service.close()
    }
    return 0
  },
}

/** Something to look at when the page opens: the first meter, wide open. */
function firstWatch(bench: { readonly meters: readonly { readonly quantity: string }[] }) {
  const quantity =
    bench.meters.find((meter) => meter.quantity === 'DC voltage')?.quantity ?? bench.meters[0]?.quantity ?? ''
  return { quantity, target: quantity === 'DC voltage' ? '13.75 .. 13.85 V' : 'maximum' }
}

export function untilAborted(signal: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    if (signal.aborted) return resolve()
    signal.addEventListener('abort', () => resolve(), { once: true })
  })
}

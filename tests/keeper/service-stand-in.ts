import { createInterface } from 'node:readline'
import { openKeeper } from '../../src/keeper/service/keeper-client.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { LIMITS } from './fold-bench.ts'

/**
 * Stands in for the service: holds the supply at the first argument at 15.6 V through a keeper (then: folder for notes, pace, its origin) and says
 * on standard output what happens. "block MS" on standard input keeps its event loop busy that long; "safe" is the stop control; "close" ends it in order.
 */
async function main(): Promise<void> {
  const [address = '', dataFolder = '', times = '1', originMs = String(performance.timeOrigin)] = process.argv.slice(1)
  const say = (facts: object) => process.stdout.write(`${JSON.stringify(facts)}\n`)
  const pace = { times: Number(times), originMs: Number(originMs) }
  const clock = realClock(pace)
  const who = `supply (supply-scpi at ${address})`
  const start = {
    who,
    address,
    driver: 'supply-scpi',
    answersAs: 'SUPPLY',
    ceilingVolts: 16.5,
    ceilingAmps: 4,
    dataFolder,
    pace,
  }
  const supply = await openKeeper({ start, deps: { clock, log: silentLog }, signal: new AbortController().signal })
  say({ keeper: supply.pid, identity: supply.identity, simulated: supply.simulated })
  supply.onActed(({ why, proved }) => say({ acted: sentence(why), proved }))
  supply.onGone((reason) => say({ gone: reason.message }))
  await supply.wish().limits(LIMITS)
  await supply.wish().set(15.6, 2.5)
  const state = await supply.wish().on()
  say({ high: state.volts })

  const lines = createInterface({ input: process.stdin })
  lines.on('line', (line) => {
    const [word, ms] = line.split(' ')
    if (word === 'close') supply.close().then(() => process.exit(0))
    if (word === 'safe')
      supply.safe('stop control').then(
        (state) => say({ safe: state.output }),
        (error) => say({ refused: String(error) }),
      )
    if (word === 'on')
      supply
        .wish()
        .on()
        .catch((error) => say({ refused: String(error) }))
    if (word !== 'block') return
    const endMs = performance.now() + Number(ms)
    while (performance.now() < endMs);
    say({ unblocked: true })
  })
  lines.on('close', () => process.exit(1))
}

main().catch((error) => {
  console.error(error)
  process.exit(2)
})

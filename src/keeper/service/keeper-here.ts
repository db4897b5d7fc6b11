import type { SupplyPort } from '../../instrument/supply-port.ts'
import { isSimulated, readIdentity } from '../../scpi/identity.ts'
import type { Clock } from '../../system/clock.ts'
import type { Log } from '../../system/log.ts'
import type { Wait } from '../../transport/link.ts'
import { said } from '../../words/said/said.ts'
import { runKeeper } from '../holder/keeper.ts'
import { openNotesAtOnce } from '../holder/keeper-notes.ts'
import { rulesFor } from '../rules/keeper-state.ts'
import { KeeperClient } from './keeper-client.ts'
import type { KeeperEar, KeeperPipe } from './keeper-pipe.ts'
import type { Supply } from './supply.ts'

/** The same keeper and the same client in one process on one clock: for a job on the fake clock, and for tests. */
export async function openKeeperHere(about: {
  /** Taken over: closed by the keeper. */
  readonly port: SupplyPort
  readonly reopen?: (wait: Wait) => Promise<SupplyPort>
  readonly ceilingVolts: number
  readonly ceilingAmps: number
  readonly crowbarVolts?: number
  /** Looks a second with the output on, where the usual 9 cost too much of a clock that jumps. */
  readonly looksPerSecond?: number
  /** Where the notes go; null keeps none. */
  readonly dataFolder: string | null
  readonly deps: { readonly clock: Clock; readonly log: Log }
  readonly signal: AbortSignal
}): Promise<Supply> {
  const { port, ceilingVolts, ceilingAmps, deps, signal } = about
  const { clock, log } = deps
  signal.throwIfAborted()
  const notes = about.dataFolder === null ? null : openNotesAtOnce(about.dataFolder, clock, log)
  const rules = rulesFor(port.who, ceilingVolts, ceilingAmps, 1)
  let ear: KeeperEar | null = null
  const toEar = (tell: (ear: KeeperEar) => void) => queueMicrotask(() => ear && tell(ear))
  const keeper = runKeeper({
    port,
    reopen: about.reopen ?? null,
    crowbarVolts: about.crowbarVolts,
    rules: { ...rules, lookOnMs: about.looksPerSecond ? 1000 / about.looksPerSecond : rules.lookOnMs },
    clock,
    bootMs: () => clock.nowMs(),
    say: (message) => toEar((to) => to.message(message)),
    note: (note) => notes?.note(note),
    log,
  })
  const gone = keeper.ended.then(() => toEar((to) => to.gone(said('keeper.ended'))))
  const pipe: KeeperPipe = {
    say: (message) => queueMicrotask(() => keeper.hear(message)),
    listen: (listener) => {
      ear = listener
    },
    end: () => keeper.leave(said('keeper.pipe-closed')),
    kill: () => keeper.leave(said('keeper.killed-by-service')),
    gone,
  }
  const needs = { who: port.who, ceilingVolts, ceilingAmps, times: 1, clock, log }
  const opening = new KeeperClient(pipe, needs, null).open(signal)
  toEar((to) =>
    to.message({ kind: 'hello', identity: port.identity, simulated: isSimulated(readIdentity(port.identity)), pid: 0 }),
  )
  return opening
}

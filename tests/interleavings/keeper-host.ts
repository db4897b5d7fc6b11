import { openSupplyPort } from '../../src/instrument/supply.ts'
import type { SupplyPort } from '../../src/instrument/supply-port.ts'
import { type Keeper, runKeeper } from '../../src/keeper/holder/keeper.ts'
import type { KeeperNote } from '../../src/keeper/rules/keeper-state.ts'
import { rulesFor } from '../../src/keeper/rules/keeper-state.ts'
import type { KeeperEar, KeeperPipe } from '../../src/keeper/service/keeper-pipe.ts'
import type { FromKeeper, ToKeeper } from '../../src/schema/messages/keeper-message.ts'
import { isSimulated, readIdentity } from '../../src/scpi/identity.ts'
import { silentLog } from '../../src/system/log.ts'
import type { VirtualClock } from '../../src/system/virtual-clock.ts'
import type { Wait } from '../../src/transport/link.ts'
import { type Host, lane, NEVER } from './host.ts'
import type { SupplyLease } from './lease.ts'
import type { StandbyWay } from './standby-way.ts'
import { BENCH, type World } from './world.ts'

const entry = BENCH.file.entries.find((one) => one.limits !== null)
const driver = entry && BENCH.drivers.get(entry.driver)
if (!entry?.limits || !driver) throw new TypeError('the bench of the interleavings has no supply')

/** Ceiling and limit of the bench file. */
export const LIMITS = { ceilingVolts: entry.limits.ceilingVolts, ceilingAmps: entry.limits.ceilingAmps }

/** Opens the supply from inside a process; one that was proved there before in this run gets "off" before anything is asked. */
export function supplyFor(host: Host, world: World): (wait: Wait, provedBefore: boolean) => Promise<SupplyPort> {
  const deps = { clock: host.clock, log: silentLog, memory: world.netFor(host) }
  return (wait, provedBefore) =>
    openSupplyPort({ ...entryOf(), at: world.addresses.supply }, driverOf(), deps, wait, provedBefore)
}

function entryOf() {
  if (!entry) throw new TypeError('no supply')
  return entry
}

function driverOf() {
  if (!driver) throw new TypeError('no supply')
  return driver
}

/** What the supply is called in faults. */
export const WHO = `${entry.name} (${entry.driver} at memory:supply)`

/** A few looks a second: each is seven questions. */
const LOOK_ON_MS = 200
const OPEN_MS = 4000
const OPEN_TRIES_MS = 2000
const SWEEP_TRIES_MS = 10_000
const OPEN_PAUSE_MS = 250

export interface KeeperAbout {
  readonly host: Host
  readonly world: World
  readonly clock: VirtualClock
  readonly lease: SupplyLease
  /** Where the keeper listens for its standby. */
  readonly way: StandbyWay
  readonly noted: (note: KeeperNote) => void
  readonly said: (message: FromKeeper) => void
}

/** A keeper as its process runs it, between two ways for messages. Resolves with its exit code as `serveKeeper` does. */
async function serve(
  about: KeeperAbout & {
    readonly say: (message: FromKeeper) => void
    readonly hears: (to: { request(request: ToKeeper): void; leave(why: string): void }) => void
  },
): Promise<0 | 1 | 2> {
  const { host, world, way, say } = about
  const waiting: ToKeeper[] = []
  let keeper: Keeper | null = null
  let leaving: string | null = null
  about.hears({
    request: (request) => (keeper ? keeper.hear(request) : waiting.push(request)),
    leave: (why) => {
      leaving ??= why
      keeper?.leave(why)
    },
  })
  const openSupply = supplyFor(host, world)
  const taking = about.lease.take(host, 'keeper')
  if (!('lease' in taking)) return 2
  const { lease } = taking
  const beganMs = host.clock.nowMs()
  let port: SupplyPort | null = null
  while (!port) {
    try {
      port = await openSupply({ ms: OPEN_MS, signal: NEVER }, false)
    } catch {
      if (host.clock.nowMs() - beganMs > (leaving === null ? OPEN_TRIES_MS : SWEEP_TRIES_MS)) return 2
      await host.clock.sleepUntil(host.clock.nowMs() + OPEN_PAUSE_MS, NEVER)
    }
  }
  say({ kind: 'hello', identity: port.identity, simulated: isSimulated(readIdentity(port.identity)), pid: 1 })
  way.proved(port.identity)
  keeper = runKeeper({
    port,
    reopen: (wait) => openSupply(wait, true),
    rules: { ...rulesFor(WHO, LIMITS.ceilingVolts, LIMITS.ceilingAmps, 1), lookOnMs: LOOK_ON_MS, needsStandby: true },
    against: () => (lease.isOurs() ? null : 'another process holds the supply now'),
    clock: host.clock,
    bootMs: host.clock.nowMs,
    say,
    note: about.noted,
    log: silentLog,
  })
  way.onPresence(keeper.standby)
  for (const request of waiting) keeper.hear(request)
  if (leaving !== null) keeper.leave(leaving)
  const { proved } = await keeper.ended
  lease.giveBack()
  if (proved) way.leave()
  return proved ? 0 : 1
}

/** A keeper in a process of its own and the service's end of its pipe. `delayMs` is how long a message is under way. */
export function startKeeper(
  about: KeeperAbout & {
    readonly service: Host
    readonly toKeeperMs: () => number
    readonly toServiceMs: () => number
  },
): KeeperPipe {
  const { host, service, clock, said } = about
  const toKeeper = lane(clock, about.toKeeperMs)
  const toService = lane(clock, about.toServiceMs)
  let ear: KeeperEar | null = null
  let keeper: { request(request: ToKeeper): void; leave(why: string): void } | null = null
  const intoKeeper = (work: () => void) => toKeeper(() => host.run('pipe', work))
  const gone = new Promise<void>((resolve) => {
    let over = false
    const end = (how: string) => {
      if (over) return
      over = true
      toService(() =>
        service.run('pipe', () => {
          ear?.gone(how)
          ear = null
          resolve()
        }),
      )
    }
    host.onDeath(() => end('the keeper was ended by SIGKILL'))
    void serve({
      ...about,
      say: (message) => {
        said(message)
        toService(() => service.run('pipe', () => ear?.message(message)))
      },
      hears: (to) => {
        keeper = to
      },
    }).then((code) => {
      end(code === 0 ? 'the keeper ended, output off' : `the keeper ended with ${code}`)
      host.kill()
    })
  })
  const closed = () => intoKeeper(() => keeper?.leave('the service closed the pipe'))
  service.onDeath(closed)
  return {
    say: (message) => intoKeeper(() => keeper?.request(message)),
    listen: (listener) => {
      ear = listener
    },
    end: closed,
    kill: () => host.kill(),
    gone,
  }
}

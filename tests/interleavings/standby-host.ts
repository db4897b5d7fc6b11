import { rulesFor } from '../../src/keeper/rules/keeper-state.ts'
import { STANDBY } from '../../src/keeper/rules/silence.ts'
import { runStandby, type Standby } from '../../src/keeper/standby/standby.ts'
import type { StandbyPipe } from '../../src/keeper/standby/standby-guard.ts'
import type { FromStandby, StandbyStart } from '../../src/schema/messages/standby-message.ts'
import { silentLog } from '../../src/system/log.ts'
import type { Words } from '../../src/words/said/said.ts'
import { type Host, lane, NEVER } from './host.ts'
import { type KeeperAbout, LIMITS, supplyFor, WHO } from './keeper-host.ts'

/** What a standby is started with. */
export interface StandbyAbout extends Omit<KeeperAbout, 'said'> {
  readonly service: Host
  /** The holder: ended by force when it is dead or silent. */
  readonly keeper: Host
  readonly begin: StandbyStart['begin']
  readonly identity: string
  /** From its start to its first word, ms. */
  readonly startsMs: number
  readonly delayMs: () => number
  /** What it says to the service, as it leaves. */
  readonly said: (word: FromStandby) => void
}

/** A standby in a process of its own, and the service's end of its pipe. Mirrors `serveStandby`. */
export function startStandby(about: StandbyAbout): StandbyPipe {
  const { host, service, clock } = about
  const toStandby = lane(clock, about.delayMs)
  const toService = lane(clock, about.delayMs)
  const early: Words[] = []
  let standby: Standby | null = null
  let ear: Parameters<StandbyPipe['listen']>[0] | null = null
  const say = (word: FromStandby) => {
    about.said(word)
    toService(() => service.run('pipe', () => ear?.word(word)))
  }
  host.onDeath(() => toService(() => service.run('pipe', () => ear?.gone('its process ended'))))
  const serve = async () => {
    await host.clock.sleepUntil(host.clock.nowMs() + about.startsMs, NEVER)
    const openSupply = supplyFor(host, about.world)
    const at: Standby = runStandby({
      rules: rulesFor(WHO, LIMITS.ceilingVolts, LIMITS.ceilingAmps, 1),
      factor: 1,
      clock: host.clock,
      bootMs: host.clock.nowMs,
      log: silentLog,
      keeper: {
        alive: () => about.keeper.alive,
        kill: () => {
          about.keeper.kill()
          return null
        },
      },
      takeLease: () => about.lease.take(host, 'standby'),
      openSupply: (wait, identity) => openSupply(wait, identity !== ''),
      say,
      note: about.noted,
      begin: about.begin,
      identity: about.identity,
    })
    standby = at
    for (const why of early) at.takeOver(why)
    hearKeeper(about, at, say)
    const over = new AbortController()
    const beat = async () => {
      for (;;) {
        say({ kind: 'beat' })
        await host.clock.sleepUntil(host.clock.nowMs() + STANDBY.beatMs, over.signal)
      }
    }
    beat().catch(() => {}) // ends with `over`
    const end = await at.ended
    over.abort(new Error('the standby has ended'))
    say({ kind: 'ended', ...end })
    host.kill()
  }
  void serve()
  return {
    say: ({ why }) => toStandby(() => host.run('pipe', () => (standby ? standby.takeOver(why) : early.push(why)))),
    listen: (listener) => {
      ear = listener
    },
    kill: () => host.kill(),
  }
}

const RETRY_MS = 50

/** Connects, again until the keeper has said something; beats there; hands over what it says. */
function hearKeeper(about: StandbyAbout, standby: Standby, say: (word: FromStandby) => void): void {
  const { host, way } = about
  let watching = false
  let spoke = false
  const attempt = () => {
    let over = false
    const again = () => void host.clock.sleepUntil(host.clock.nowMs() + RETRY_MS, NEVER).then(attempt)
    const connection = way.connect(host, {
      word: (word) => {
        spoke = true
        standby.heard(word)
        if (word.kind !== 'beat' || !word.hears || watching) return
        watching = true
        say({ kind: 'watching' })
      },
      end: () => {
        over = true
        if (spoke) standby.lost()
        else again()
      },
    })
    if (!connection) return again()
    const beat = async () => {
      while (!over) {
        connection.beat()
        await host.clock.sleepUntil(host.clock.nowMs() + STANDBY.beatMs, NEVER)
      }
    }
    void beat()
  }
  attempt()
}

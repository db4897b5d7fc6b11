import type { Recorder } from '../../src/alignment/recorder.ts'
import { openSession, type Session } from '../../src/alignment/session.ts'
import type { Bench } from '../../src/bench/bench.ts'
import { openBench } from '../../src/bench/open-bench.ts'
import type { JobEntry } from '../../src/core/job/job-entries.ts'
import { KeeperClient } from '../../src/keeper/service/keeper-client.ts'
import type { KeeperPipe } from '../../src/keeper/service/keeper-pipe.ts'
import { guardStandby, type StandbyPipe } from '../../src/keeper/standby/standby-guard.ts'
import type { StandbyStart } from '../../src/schema/messages/standby-message.ts'
import type { Clock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { memoryRecorder } from '../kit/job/memory-recorder.ts'
import { type Host, NEVER } from './host.ts'
import { LIMITS, WHO } from './keeper-host.ts'
import { BENCH, OFFERED, PLANS, type World } from './world.ts'

/** A service at work, inside its process. */
export interface Service {
  readonly session: Session
  readonly bench: Bench
  readonly supply: KeeperClient
  /** In the order in which the real one closes. */
  close(): Promise<void>
}

/** Keeps entries once they are on disk, which takes `delayMs()`. */
export interface Journal {
  readonly entries: readonly JobEntry[]
  readonly recorder: Recorder
}

/** A journal on a disk of its own pace; entries keep their order. */
export function slowJournal(host: Host, disk: Clock, delayMs: () => number): Journal {
  let tail: Promise<void> = Promise.resolve()
  return memoryRecorder({
    write(keep) {
      tail = tail.then(async () => {
        const ms = delayMs()
        if (ms > 0) await disk.sleepUntil(disk.nowMs() + ms, NEVER)
        keep()
        if (ms > 0 || host.frozen) await new Promise<void>((resolve) => host.run('disk', resolve))
      })
      return tail
    },
    atRest: () => tail,
  })
}

/** Opens a service with a job on the extremes; to be called as work of its process. Throws what the parts throw. */
export async function openServiceIn(about: {
  readonly host: Host
  readonly world: World
  readonly pipe: KeeperPipe
  /** Starts the process of a standby. */
  readonly startStandby: (about: Pick<StandbyStart, 'begin' | 'identity'>) => StandbyPipe
  readonly recorder: Recorder
  readonly seed: number
}): Promise<Service> {
  const { host, world, pipe, recorder } = about
  const deps = { clock: host.clock, rng: seededRng(about.seed), log: silentLog, memory: world.netFor(host) }
  const held: { client: KeeperClient | null } = { client: null }
  const guard = guardStandby({
    ...deps,
    factor: 1,
    identity: () => held.client?.identity ?? '',
    start: about.startStandby,
  })
  const supply = new KeeperClient(pipe, { who: WHO, ...LIMITS, times: 1, ...deps }, guard)
  held.client = supply
  await supply.open(NEVER)
  await guard.there
  const bench = await openBench({ ...BENCH, deps, supply, addresses: world.addresses, signal: NEVER })
  const session = openSession({ bench, procedures: [OFFERED], plans: PLANS, deps, setPage: null, recorder })
  const asked = await session.request({
    kind: 'start job',
    id: 'start',
    procedure: OFFERED.file,
    serial: 'I-1',
    bands: [],
  })
  if (!asked.ok) throw new TypeError(`no job: ${sentence(asked.words)}`)
  return {
    session,
    bench,
    supply,
    close: async () => {
      await supply.safe('the service ends').catch(() => {}) // close tries again and says so
      await session.close()
      await bench.close()
      await supply.close()
    },
  }
}

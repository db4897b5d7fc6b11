import { BenchError } from '../../src/fault/bench-error.ts'
import type { SupplyPort } from '../../src/instrument/supply-port.ts'
import type { Clock } from '../../src/system/clock.ts'
import type { Wait } from '../../src/transport/link.ts'
import { type Command, command, look, type SupplyModel, supplyModel } from './supply-model.ts'

/** How the link behaves: well; slowly; silent until the deadline; hanging whatever deadline or abort says; lost. */
export type Manner = 'well' | 'slow' | 'silent' | 'hanging' | 'lost'

/** A supply at the keeper's end of a link, on a model, with a link that can be made to misbehave. */
export interface FakeSupply extends SupplyPort {
  readonly model: SupplyModel
  manner: Manner
  /** How long a slow exchange takes, ms. */
  slowMs: number
  /** Only looks misbehave. */
  looksOnly: boolean
  /** How often it was closed. */
  closed: number
}

const ANSWER_MS = 8
const SLOW_MS = 300

export function fakeSupply(
  clock: Clock,
  model: SupplyModel = supplyModel(),
  identity = 'TRIMWRIGHT SIMULATED,SUPPLY,FAKE,1',
): FakeSupply {
  const who = 'supply (fake at memory:supply)'
  const exchange = async (wait: Wait, isLook: boolean) => {
    wait.signal.throwIfAborted()
    const manner = fake.looksOnly && !isLook ? 'well' : fake.manner
    if (fake.closed > 0) throw new BenchError('TRANSPORT_CLOSED', who, 'the link was closed')
    switch (manner) {
      case 'lost':
        throw new BenchError('TRANSPORT_LINK_LOST', who, 'the cable is out')
      case 'hanging':
        return new Promise<never>(() => {})
      case 'silent':
        await clock.sleepUntil(clock.nowMs() + wait.ms, wait.signal)
        throw new BenchError('TRANSPORT_REPLY_TIMEOUT', who, `no reply within ${wait.ms} ms`)
      default:
        await clock.sleepUntil(clock.nowMs() + (manner === 'slow' ? fake.slowMs : ANSWER_MS), wait.signal)
    }
  }
  /** The command is in the supply as soon as it is sent; the exchange ends with the error queue. */
  const tell = async (one: Command, wait: Wait) => {
    wait.signal.throwIfAborted()
    const reaches = fake.closed === 0 && (fake.looksOnly || fake.manner === 'well' || fake.manner === 'slow')
    const refusal = reaches ? command(model, one, clock.nowMs()) : null
    await exchange(wait, false)
    if (refusal !== null) throw new BenchError('INSTRUMENT_REFUSED', who, refusal)
  }
  const fake: FakeSupply = {
    who,
    identity,
    model,
    manner: 'well',
    slowMs: SLOW_MS,
    looksOnly: false,
    closed: 0,
    readBack: async (wait) => {
      const beganMs = clock.nowMs()
      await exchange(wait, true)
      return look(model, beganMs, clock.nowMs())
    },
    setVolts: (volts, wait) => tell({ do: 'volts', volts }, wait),
    setAmps: (amps, wait) => tell({ do: 'amps', amps }, wait),
    setTrip: (volts, wait) => tell({ do: 'trip', volts }, wait),
    output: (on, wait) => tell({ do: on ? 'on' : 'off' }, wait),
    close: async () => {
      fake.closed += 1
    },
  }
  return fake
}

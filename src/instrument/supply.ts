import { BenchError } from '../fault/bench-error.ts'
import type { BenchEntry } from '../schema/files/bench-file.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'
import type { ReadingRow, StateName } from '../schema/files/driver-rows.ts'
import type { Clock } from '../system/clock.ts'
import type { Reply, Wait } from '../transport/link.ts'
import { readAddress } from '../transport/port/address.ts'
import { addressOf } from './address-of.ts'
import { decodeReply } from './decode-reply.ts'
import { mannersOf } from './link-manners.ts'
import { type Instrument, type InstrumentDeps, openInstrument } from './open-instrument.ts'
import {
  proveValue,
  readSwitchBack,
  readValueBack,
  switchRowOf,
  tellSwitch,
  tellValue,
  unreadable,
  valueRowOf,
} from './setting.ts'
import { stateRead } from './setting-message.ts'
import type { SupplyPort, SupplyReadBack } from './supply-port.ts'

/**
 * Opens the supply of a bench and changes nothing on it: no reset, no setting. `provedBefore`: this supply was found at this address in this run,
 * so its make-safe messages go out before anything is asked. `entry.at` is an address, not `simulated`.
 * Throws what `openInstrument` throws, and DRIVER_NO_SUCH_ROW where the driver is not that of a supply.
 */
export async function openSupplyPort(
  entry: BenchEntry,
  driver: DriverFile,
  deps: InstrumentDeps,
  wait: Wait,
  provedBefore = false,
): Promise<SupplyPort> {
  const address = addressOf(entry)
  const blind = provedBefore && readAddress(address).stays
  const instrument = await openInstrument({
    entry,
    driver,
    address,
    deps,
    wait,
    hardy: true,
    ...(blind ? { first: driver.makeSafe } : {}),
  })
  try {
    const pauses = driver.link ? 2 * driver.makeSafe.length - 1 : 0
    const gapMs = driver.link ? mannersOf(driver, driver.link, instrument.kind).gapMs : 0
    return { ...supplyOn(instrument, deps.clock), alone: instrument.kind.alone, makeSafeMs: pauses * gapMs }
  } catch (error) {
    await instrument.close()
    throw error
  }
}

/** A supply on an opened instrument. Each call's `wait.ms` is for the whole of it. */
export function supplyOn(instrument: Instrument, clock: Clock): SupplyPort {
  const volts = valueRowOf(instrument, 'DC voltage')
  const amps = valueRowOf(instrument, 'DC current')
  const hasTrip = instrument.driver.settings.some((row) => row.name === 'over-voltage trip')
  const output = switchRowOf(instrument, 'output')
  const measuredVolts = readingOf(instrument, 'DC voltage')
  const measuredAmps = readingOf(instrument, 'DC current')

  const whole = (wait: Wait): (() => Wait) => {
    const dueMs = clock.nowMs() + wait.ms
    return () => ({ ms: Math.max(1, dueMs - clock.nowMs()), signal: wait.signal })
  }

  return {
    who: instrument.who,
    identity: instrument.identity,
    hasTrip,
    leastVolts: volts.least,
    readBack: async (wait) => {
      const left = whole(wait)
      const atVolts = await measured(instrument, measuredVolts, left())
      const atAmps = await measured(instrument, measuredAmps, left())
      const on = await readSwitchBack(instrument, output, left())
      const tripped = (await state(instrument, 'tripped', left())) === 'yes'
      const regulation = on === 'on' ? await regulationOf(instrument, left()) : 'none'
      const setVolts = await readValueBack(instrument, volts, left())
      const limitAmps = await readValueBack(instrument, amps, left())
      return {
        beganMs: atVolts.reply.sentMs,
        atMs: clock.nowMs(),
        volts: atVolts.value,
        amps: atAmps.value,
        rawAmps: atAmps.reply.text,
        output: on,
        regulation,
        tripped,
        setVolts,
        limitAmps,
      }
    },
    setVolts: (value, wait) => tellValue(instrument, volts, value, whole(wait)()),
    setAmps: (value, wait) => tellValue(instrument, amps, value, whole(wait)()),
    setTrip: async (value, wait) => {
      const left = whole(wait)
      const trip = valueRowOf(instrument, 'over-voltage trip')
      await tellValue(instrument, trip, value, left())
      await proveValue(instrument, trip, value, left())
    },
    output: (on, wait) => tellSwitch(instrument, output, on ? 'on' : 'off', whole(wait)()),
    makeSafe: () => instrument.blind(instrument.driver.makeSafe),
    close: () => instrument.close(),
  }
}

function readingOf(instrument: Instrument, quantity: 'DC voltage' | 'DC current'): ReadingRow {
  const row = instrument.driver.readings.find((reading) => reading.quantity === quantity)
  if (!row)
    throw new BenchError('DRIVER_NO_SUCH_ROW', instrument.who, `${instrument.driver.id} does not read ${quantity}`)
  return row
}

/** A supply that cannot say what it puts out is unreadable as a whole: overload counts as no number here too. */
async function measured(
  instrument: Instrument,
  row: ReadingRow,
  wait: Wait,
): Promise<{ readonly value: number; readonly reply: Reply }> {
  const reply = await instrument.ask(row.ask ?? '', wait)
  const value = decodeReply(row, reply.text).value ?? unreadable(instrument, row.quantity, reply.text)
  return { value, reply }
}

async function state(instrument: Instrument, name: StateName, wait: Wait): Promise<string | null> {
  const row = instrument.driver.states.find((one) => one.name === name)
  if (!row) return null
  const reply = (await instrument.ask(row.ask, wait)).text
  return stateRead(row, reply) ?? unreadable(instrument, name, reply)
}

async function regulationOf(instrument: Instrument, wait: Wait): Promise<SupplyReadBack['regulation']> {
  const word = await state(instrument, 'regulation', wait)
  return word === 'voltage' || word === 'current' ? word : 'unknown'
}

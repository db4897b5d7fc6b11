import { BenchError } from '../fault/bench-error.ts'
import type { Quantity } from '../quantity/quantity.ts'
import type { ReadingRow } from '../schema/files/driver-rows.ts'
import type { Reply, Wait } from '../transport/link.ts'
import { openBox } from './box.ts'
import { type Decoded, decodeReply } from './decode-reply.ts'
import type { Instrument } from './open-instrument.ts'

/** One reading as the meter gave it. Times on the bench clock, ms: when the question left, when the reply was complete. */
export interface MeterReading extends Decoded {
  readonly raw: string
  readonly beganMs: number
  readonly arrivedMs: number
}

/** The quantities that an instrument reads, one at a time. */
export interface Meter {
  /**
   * Asks for one reading; `wait.ms` bounds it where it is shorter than the row's own time. A reply that does not fit is `unreadable`
   * and puts the link in doubt. After a change of function the first one is thrown away, unless the driver says that it is new. Throws what the link throws, INSTRUMENT_REFUSED where the error queue says why no reply came,
   * INSTRUMENT_SETTING_DIFFERS where its settings are lost, or where a box of several instruments does not stand in the row's function.
   */
  read(quantity: Quantity, wait: Wait): Promise<MeterReading>
  /** The function that the box was put in, null while it is not known; null too where the instrument is only one. */
  standsIn(): string | null
  /** Puts the box in the function that reads `quantity`. Resolves with how long it takes from now until a reading counts, ms. */
  select(quantity: Quantity, wait: Wait): Promise<number>
  /** What was selected is not known any more: it may have been switched off and on. */
  forget(): void
}

/** Added to one and a half times the gate or averaging time: what an instrument takes over it, ms. */
const OVERHEAD_MS = 1000

/** A meter on an opened instrument. */
export function meterOn(instrument: Instrument): Meter {
  const { driver } = instrument
  const rows = new Map(driver.readings.map((row) => [row.quantity, row]))
  const switched = driver.readings.some((row) => row.select.length > 0)
  const box = openBox(instrument)
  let prepared: Quantity | null = null
  /** The next reading may still be of the function before. */
  let first = false

  const rowOf = (quantity: Quantity): ReadingRow => {
    const row = rows.get(quantity)
    if (!row || row.ask === null)
      throw new BenchError('DRIVER_NO_SUCH_ROW', instrument.who, `${driver.id} does not read ${quantity}`)
    return row
  }

  const prepare = async (row: ReadingRow, wait: Wait) => {
    if (!switched || prepared === row.quantity) return
    prepared = null // half switched is not switched
    for (const message of row.select) await instrument.tell(message, wait)
    prepared = row.quantity
    first = true
  }

  /** A box in another function answers with another quantity, or with silence: where it stands goes before what it said. */
  const ask = async (row: ReadingRow, wait: Wait): Promise<Reply> => {
    try {
      return await askOrSayWhy(instrument, row.ask ?? '', wait, patience(row, driver.link?.replyWithinMs ?? 0))
    } catch (error) {
      if (error instanceof BenchError && error.code === 'INSTRUMENT_REFUSED') await box.prove(row.function, wait)
      throw error
    }
  }

  return {
    read: async (quantity, wait) => {
      const row = rowOf(quantity)
      box.mind(row.function)
      await prepare(row, wait)
      if (first) await ask(row, wait)
      first = false
      const reply = await ask(row, wait)
      await box.prove(row.function, wait)
      const decoded = decodeReply(row, reply.text)
      if (decoded.state === 'unreadable') instrument.doubt(`"${reply.text}" is no ${quantity}`)
      return { ...decoded, raw: reply.text, beganMs: reply.sentMs, arrivedMs: reply.arrivedMs }
    },
    standsIn: () => box.standsIn(),
    select: async (quantity, wait) => {
      const name = rowOf(quantity).function
      prepared = null
      first ||= box.standsIn() !== name && !driver.functions.some((one) => one.name === name && one.firstIsNew)
      return box.select(name, wait)
    },
    forget: () => {
      prepared = null
      box.forget()
    },
  }
}

function patience(row: ReadingRow, replyWithinMs: number): number {
  return Math.max(replyWithinMs, 1.5 * Math.max(row.gateMs, row.takesMs) + OVERHEAD_MS)
}

/** Faults behind which a refusal may stand; of a joined message some answer the part that they know. */
const NO_REPLY: ReadonlySet<string> = new Set(['TRANSPORT_REPLY_TIMEOUT', 'DRIVER_REPLY_UNREADABLE'])

/** Most instruments answer a question that they refuse with silence; only their error queue says why. */
async function askOrSayWhy(instrument: Instrument, question: string, wait: Wait, patienceMs: number): Promise<Reply> {
  try {
    return await instrument.read(question, wait, patienceMs)
  } catch (error) {
    if (!(error instanceof BenchError) || !NO_REPLY.has(error.code)) throw error
    throw (await whyRefused(instrument, question, wait)) ?? error
  }
}

async function whyRefused(instrument: Instrument, question: string, wait: Wait): Promise<BenchError | null> {
  try {
    return await instrument.refusal(question, wait)
  } catch (error) {
    wait.signal.throwIfAborted()
    if (error instanceof BenchError) return null // the missed reply stays the fault; the link tells by itself when it is lost
    throw error
  }
}

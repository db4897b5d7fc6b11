import { BenchError } from '../fault/bench-error.ts'
import type { Quantity } from '../quantity/quantity.ts'
import type { ReadingRow } from '../schema/driver-rows.ts'
import type { Reply, Wait } from '../transport/link.ts'
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
   * and puts the link in doubt. Throws what the link throws, and INSTRUMENT_REFUSED where the error queue says why no reply came.
   */
  read(quantity: Quantity, wait: Wait): Promise<MeterReading>
}

/** Added to one and a half times the gate or averaging time: what an instrument takes over it, ms. */
const OVERHEAD_MS = 1000

/** A meter on an opened instrument. */
export function meterOn(instrument: Instrument): Meter {
  const { driver } = instrument
  const rows = new Map(driver.readings.map((row) => [row.quantity, row]))
  const switched = driver.readings.some((row) => row.select.length > 0)
  let selected: Quantity | null = null

  const select = async (row: ReadingRow, wait: Wait) => {
    if (!switched || selected === row.quantity) return
    selected = null // half switched is not switched
    for (const message of row.select) await instrument.tell(message, wait)
    selected = row.quantity
  }

  return {
    read: async (quantity, wait) => {
      const row = rows.get(quantity)
      if (!row || row.ask === null)
        throw new BenchError('DRIVER_NO_SUCH_ROW', instrument.who, `${driver.id} does not read ${quantity}`)
      await select(row, wait)
      const reply = await askOrSayWhy(instrument, row.ask, wait, patience(row, driver.link?.replyWithinMs ?? 0))
      const decoded = decodeReply(row, reply.text)
      if (decoded.state === 'unreadable') instrument.doubt(`"${reply.text}" is no ${quantity}`)
      return { ...decoded, raw: reply.text, beganMs: reply.sentMs, arrivedMs: reply.arrivedMs }
    },
  }
}

function patience(row: ReadingRow, replyWithinMs: number): number {
  return Math.max(replyWithinMs, 1.5 * Math.max(row.gateMs, row.takesMs) + OVERHEAD_MS)
}

/** Most instruments answer a question that they refuse with silence; only their error queue says why. */
async function askOrSayWhy(instrument: Instrument, question: string, wait: Wait, patienceMs: number): Promise<Reply> {
  try {
    return await instrument.ask(question, wait, patienceMs)
  } catch (error) {
    if (!(error instanceof BenchError) || error.code !== 'TRANSPORT_REPLY_TIMEOUT') throw error
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

import { readTyped } from '../core/reading/typed.ts'
import { decodeReply } from '../instrument/decode-reply.ts'
import type { Decode } from '../record/verify-record.ts'
import { readYamlText } from '../schema/door/yaml-door.ts'
import { RecordedDriver } from '../schema/files/driver-file.ts'

/** Reads raw replies by the driver texts that a record carries; each driver is parsed once, and one that cannot be read decodes nothing. */
export function recordDecoder(): Decode {
  const drivers = new Map<string, RecordedDriver | null>()
  return ({ id, text }, { raw, quantity }) => {
    const known = drivers.get(text)
    const driver = known === undefined ? readDriver(id, text) : known
    drivers.set(text, driver)
    const row = driver?.readings.find((reading) => reading.quantity === quantity)
    if (!row) return null
    if (driver?.typed) {
      const read = readTyped(raw, row.unit)
      return read.ok ? { value: Math.max(...read.value), parts: read.value.length > 1 ? read.value : null } : null
    }
    const { value, parts } = decodeReply(row, raw)
    return value === null ? null : { value, parts: parts ?? null }
  }
}

function readDriver(id: string, text: string): RecordedDriver | null {
  try {
    return readYamlText(text, `${id}.yaml in the record`, RecordedDriver)
  } catch {
    return null // then none of its replies is a number, which is said of each value
  }
}

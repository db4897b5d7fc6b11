import { readTyped } from '../core/typed.ts'
import { decodeReply } from '../instrument/decode-reply.ts'
import type { Decode } from '../record/verify-record.ts'
import { DriverFile } from '../schema/driver-file.ts'
import { readYamlText } from '../schema/yaml-door.ts'

/** Reads raw replies by the driver texts that a record carries; each driver is parsed once. */
export function recordDecoder(): Decode {
  const drivers = new Map<string, DriverFile>()
  return ({ id, text }, { raw, quantity }) => {
    const driver = drivers.get(text) ?? readYamlText(text, `${id}.yaml in the record`, DriverFile)
    drivers.set(text, driver)
    const row = driver.readings.find((reading) => reading.quantity === quantity)
    if (!row) return null
    if (driver.typed) {
      const read = readTyped(raw, row.unit)
      return read.ok ? { value: Math.max(...read.value), parts: read.value.length > 1 ? read.value : null } : null
    }
    const { value, parts } = decodeReply(row, raw)
    return value === null ? null : { value, parts: parts ?? null }
  }
}

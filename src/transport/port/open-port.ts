import type { BytePort } from './byte-port.ts'
import type { Way } from './opener.ts'
import type { PortNeeds } from './port-needs.ts'

/**
 * One attempt at the way to an instrument, by whoever stands between. Throws TRANSPORT_OPEN_FAILED, TRANSPORT_BUSY, TRANSPORT_DENIED, or
 * `signal.reason` untouched; nothing stays open then.
 */
export async function openPort(way: Way, needs: PortNeeds): Promise<BytePort> {
  needs.signal.throwIfAborted()
  const { through } = needs
  return through ? through(needs, way.name, (own) => way.open(own)) : way.open(needs)
}

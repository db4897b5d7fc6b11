import { BenchError } from '../fault/bench-error.ts'
import type { Address } from './address.ts'
import type { BytePort } from './byte-port.ts'
import type { PortNeeds } from './port-needs.ts'
import { openSerialPort } from './serial-port.ts'
import { openTcpPort } from './tcp-port.ts'

/**
 * One attempt at the way to an instrument. Throws TRANSPORT_OPEN_FAILED, TRANSPORT_BUSY, TRANSPORT_DENIED, or
 * `signal.reason` untouched; nothing stays open then.
 */
export async function openPort(address: Address, needs: PortNeeds): Promise<BytePort> {
  needs.signal.throwIfAborted()
  const { through } = needs
  return through ? through(needs, nameOf(address), (own) => openWay(address, own)) : openWay(address, needs)
}

/** For people; the port says its own name. */
function nameOf(address: Address): string {
  if (address.kind === 'tcp') return `tcp://${address.host}:${address.port}`
  return address.kind === 'serial' ? `serial:${address.path}` : `memory:${address.name}`
}

async function openWay(address: Address, needs: PortNeeds): Promise<BytePort> {
  switch (address.kind) {
    case 'tcp':
      return openTcpPort(address, needs)
    case 'serial':
      return openSerialPort(address, needs)
    case 'memory': {
      if (needs.memory === undefined) {
        const why = `nothing in this program answers at memory:${address.name}`
        throw new BenchError('TRANSPORT_OPEN_FAILED', needs.who, why)
      }
      return needs.memory.connect(address.name)
    }
    default:
      return address satisfies never
  }
}

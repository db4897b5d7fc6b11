import { BenchError } from '../../fault/bench-error.ts'
import { said, type Words } from '../../words/said/said.ts'
import type { Way } from './opener.ts'
import { OPENERS } from './openers.ts'

/**
 * Reads "tcp://192.168.1.40:5025" (port 5025 when left out), "serial:/dev/ttyUSB0?baud=9600&format=7E1" (9600 and 8N1 when
 * left out) or "memory:power". Throws TRANSPORT_ADDRESS.
 */
export function readAddress(text: string): Way {
  const refuse = (happened: Words) => new BenchError('TRANSPORT_ADDRESS', `address "${text}"`, happened)
  const [, scheme, rest] = /^([a-z]+):(.*)$/.exec(text.trim()) ?? []
  if (scheme === undefined || rest === undefined) throw refuse(said('address.no-way'))
  if (/\s/.test(rest)) throw refuse(said('address.blank'))
  const opener = Object.hasOwn(OPENERS, scheme) ? OPENERS[scheme] : undefined
  if (!opener) throw refuse(said('address.unknown-way', { way: `${scheme}:` }))
  return opener(rest, refuse)
}

import { BenchError } from '../../fault/bench-error.ts'
import type { Way } from './opener.ts'
import { OPENERS } from './openers.ts'

/**
 * Reads "tcp://192.168.1.40:5025" (port 5025 when left out), "serial:/dev/ttyUSB0?baud=9600&format=7E1" (9600 and 8N1 when
 * left out) or "memory:power". Throws TRANSPORT_ADDRESS.
 */
export function readAddress(text: string): Way {
  const refuse = (happened: string) => new BenchError('TRANSPORT_ADDRESS', `address "${text}"`, happened)
  const [, scheme, rest] = /^([a-z]+):(.*)$/.exec(text.trim()) ?? []
  if (scheme === undefined || rest === undefined) throw refuse('it does not say how to get there')
  if (/\s/.test(rest)) throw refuse('it holds a blank')
  const opener = Object.hasOwn(OPENERS, scheme) ? OPENERS[scheme] : undefined
  if (!opener) throw refuse(`"${scheme}:" is not a way to an instrument`)
  return opener(rest, refuse)
}

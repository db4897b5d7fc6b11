import { BenchError } from '../../fault/bench-error.ts'
import { said } from '../../words/said/said.ts'
import type { Opener } from './opener.ts'

/** "memory:power": an instrument in the same process, on the same clock. */
export const memory: Opener = (rest, refuse) => {
  if (!/^[\w.-]+$/.test(rest)) throw refuse(said('address.memory-name'))
  const name = `memory:${rest}`
  return {
    kind: { name: 'memory', pauses: 'onNetwork', alone: false, beats: true, turnsAway: false },
    address: { kind: 'memory', name: rest },
    name,
    stays: true,
    place: () => `memory ${rest}`,
    ahead: async () => {},
    open: async (needs) => {
      if (needs.memory !== undefined) return needs.memory.connect(rest)
      throw new BenchError('TRANSPORT_OPEN_FAILED', needs.who, said('port.nobody-in-memory', { name }))
    },
  }
}

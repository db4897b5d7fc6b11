import { memory } from './memory-port.ts'
import type { Opener } from './opener.ts'
import { serial } from './serial-port.ts'
import { tcp } from './tcp-port.ts'

/** Every kind of link, by what its addresses begin with. A new kind is a file with its opener, and its entry here. */
export const OPENERS: Readonly<Record<string, Opener>> = { tcp, serial, memory }

import type { BenchError } from '../../fault/bench-error.ts'
import type { Words } from '../../words/said/said.ts'
import type { BytePort } from './byte-port.ts'
import type { PortNeeds } from './port-needs.ts'

/** What sort of link it is, as far as whoever speaks over it must know. */
export interface LinkKind {
  /** What its addresses begin with: "tcp". */
  readonly name: string
  /** Which of the driver's pauses hold. */
  readonly pauses: 'onSerial' | 'onNetwork'
  /** There is room for one connection at a time: the old one must go before a new one can come. */
  readonly alone: boolean
  /** An instrument that nobody asks anything is asked for a sign of life; otherwise it is prepared anew after silence. */
  readonly beats: boolean
  /** Where there is no room a connection comes about and is cut at once. */
  readonly turnsAway: boolean
}

/** A way to an instrument, as its address was read; nothing is open yet. */
export interface Way {
  readonly kind: LinkKind
  /** What the address says, part by part. */
  readonly address: object
  /** For people, without what does not matter to them. An opened port says its own name. */
  readonly name: string
  /** Whoever was found there is there next time too; false where ports are numbered anew when they are plugged in. */
  readonly stays: boolean
  /** The same for every name of the same way, on this computer. */
  place(): string
  /** Loads ahead of time what opening needs, for a process that will have no time for it later. Never rejects. */
  ahead(): Promise<void>
  /** One attempt. Throws TRANSPORT_OPEN_FAILED, TRANSPORT_BUSY, TRANSPORT_DENIED, or `signal.reason` untouched; nothing stays open then. */
  open(needs: PortNeeds): Promise<BytePort>
}

/** Makes a refusal of an address out of what is wrong with it: TRANSPORT_ADDRESS. */
export type Refuse = (happened: Words) => BenchError

/** Reads what follows "KIND:" in an address, without blanks round it. Throws what `refuse` makes. */
export type Opener = (rest: string, refuse: Refuse) => Way

/**
 * A way for bytes: one connection attempt, used once. Errors are handed to `onGone`, never thrown later.
 * Implemented over a socket, a serial port and in memory; a link puts framing and order on top.
 */
export interface BytePort {
  /** Where it leads, for messages: "tcp://127.0.0.1:5025". */
  readonly address: string
  /** Hands all bytes over in one write (latin1). Rejects when the port is closed or gone. */
  write(text: string): Promise<void>
  /** One listener each; set before anything is written. */
  onBytes(listener: (bytes: Buffer) => void): void
  onGone(listener: (reason: Error) => void): void
  /** Idempotent; never rejects. */
  close(): Promise<void>
}

/** What `write` may give back when the bytes are out already: nobody needs to wait for it. */
export const TAKEN: Promise<void> = Promise.resolve()

/** How memory: addresses are reached: the simulated bench in the same process, on the same clock. */
export interface MemoryNet {
  connect(name: string): BytePort
}

/** One exchange at a time on a shared link, first come first served. */
export class Turnstile {
  #tail: Promise<unknown> = Promise.resolve()
  /** Everybody inside or in the queue. Whoever waits is counted from the moment of coming, so nobody slips in between two turns. */
  #here = 0
  #closed: Error | undefined
  /** By signal, what to do with those who wait with it: a poller queues many questions with one, and it is listened to once. */
  readonly #waiting = new Map<AbortSignal, Waiting>()

  /**
   * Runs `exchange` when everybody who came before is through. Called off while it waits, it rejects at once with
   * `signal.reason` untouched and the others notice nothing; once it runs, the exchange itself minds the signal.
   */
  pass<T>(exchange: () => Promise<T>, signal: AbortSignal): Promise<T> {
    if (signal.aborted) return Promise.reject(signal.reason)
    if (this.#closed) return Promise.reject(this.#closed)
    this.#here += 1
    if (this.#here > 1) return this.#queue(exchange, signal)
    const turn = started(exchange)
    this.#tail = turn.then(this.#leave, this.#leave) // a failed exchange must not block the next
    return turn
  }

  /** Everyone still waiting is rejected with `reason` at its turn, and whoever comes later at once. */
  close(reason: Error): void {
    this.#closed ??= reason
  }

  #queue<T>(exchange: () => Promise<T>, signal: AbortSignal): Promise<T> {
    return new Promise<T>((resolve, reject) => {
      const served = this.#heed(signal, () => reject(signal.reason))
      const turn = this.#tail.then(() => {
        served()
        if (this.#closed) throw this.#closed
        signal.throwIfAborted()
        return exchange()
      })
      turn.then(resolve, reject)
      this.#tail = turn.then(this.#leave, this.#leave)
    })
  }

  /** Does `callOff` when the signal is aborted, until the function returned is called. */
  #heed(signal: AbortSignal, callOff: () => void): () => void {
    const waiting = this.#waiting.get(signal) ?? listenTo(signal)
    this.#waiting.set(signal, waiting)
    waiting.callOffs.add(callOff)
    return () => {
      waiting.callOffs.delete(callOff)
      if (waiting.callOffs.size > 0) return
      waiting.stop()
      this.#waiting.delete(signal)
    }
  }

  readonly #leave = () => {
    this.#here -= 1
  }
}

/** An exchange that throws before it has begun is a failed one, and must not stay counted. */
function started<T>(exchange: () => Promise<T>): Promise<T> {
  try {
    return exchange()
  } catch (error) {
    return Promise.reject(error)
  }
}

interface Waiting {
  readonly callOffs: Set<() => void>
  stop(): void
}

function listenTo(signal: AbortSignal): Waiting {
  const callOffs = new Set<() => void>()
  const callAllOff = () => {
    for (const callOff of callOffs) callOff()
  }
  signal.addEventListener('abort', callAllOff)
  return { callOffs, stop: () => signal.removeEventListener('abort', callAllOff) }
}

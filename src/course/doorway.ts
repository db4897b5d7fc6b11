/** Lets what comes in one at a time. */
export interface Doorway {
  /** `act` is called at once where nothing else is under way, else in its turn; not at all where `stands` says that nobody waits for it any more. */
  come(act: () => void, stands?: () => boolean): void
  /** What happens without anything that came (the opening) is taken as one coming. */
  busy(): void
}

/**
 * A coming is over when everything that can happen without waiting has happened: with the next turn of the event loop. `settled` is
 * called then. `hold` is given what a clock that jumps must stand still for.
 */
export function openDoorway(about: {
  readonly settled: () => void
  readonly hold?: ((work: Promise<void>) => void) | undefined
}): Doorway {
  const waiting: { readonly act: () => void; readonly stands: () => boolean }[] = []
  let busy = false
  let release = () => {}

  const over = () => {
    about.settled()
    for (;;) {
      const next = waiting.shift()
      if (!next) break
      if (!next.stands()) continue
      setImmediate(over)
      next.act()
      return
    }
    busy = false
    release()
  }
  const begin = () => {
    busy = true
    setImmediate(over)
    about.hold?.(
      new Promise<void>((resolve) => {
        release = resolve
      }),
    )
  }
  return {
    come: (act, stands = () => true) => {
      if (busy) waiting.push({ act, stands })
      else if (stands()) {
        begin()
        act()
      }
    },
    busy: begin,
  }
}

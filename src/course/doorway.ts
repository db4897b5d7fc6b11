/** Lets what comes in one at a time. */
export interface Doorway {
  /** `act` is called at once where nothing else is under way, else in its turn; not at all where `stands` says that nobody waits for it any more. */
  come(act: () => void, stands?: () => boolean): void
  /** What happens without anything that came (the opening) is taken as one coming. */
  busy(): void
}

/**
 * A coming is over when everything that can happen without waiting has happened: with the next turn of the event loop's check phase,
 * before which all promises have run. Each coming brings a turn of its own, so however many come together, all are let in before the
 * sockets are looked at again. `settled` is called when one is over. `hold` is given what a clock that jumps must stand still for.
 */
export function openDoorway(about: {
  readonly settled: () => void
  readonly hold?: ((work: Promise<void>) => void) | undefined
}): Doorway {
  let waiting: { readonly act: () => void; readonly stands: () => boolean }[] = []
  let next = 0
  let busy = false
  let release = () => {}

  const over = () => {
    if (!busy) return // the one that this turn was for was not wanted any more
    about.settled()
    while (next < waiting.length) {
      const one = waiting[next]
      next += 1
      if (!one?.stands()) continue
      one.act()
      return
    }
    waiting = []
    next = 0
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
      if (busy) {
        waiting.push({ act, stands })
        setImmediate(over)
      } else if (stands()) {
        begin()
        act()
      }
    },
    busy: begin,
  }
}

/** What is known of the service's clock: service time less this page's own time, ms, never too large by more than one way of the link. */
export interface ServiceClock {
  readonly offsetMs: number
  readonly bestAtMs: number
}

/** An old best is believed a little less each second, so that two clocks which run apart are followed. */
const LEAK_MS_PER_S = 0.2

/**
 * Takes in a message that carries the service's time. A message can only be late, so the largest difference seen is the
 * nearest to the truth; a service that started again has another clock, which shows as a jump.
 */
export function setClock(before: ServiceClock | null, serviceMs: number, ownMs: number): ServiceClock {
  const offsetMs = serviceMs - ownMs
  if (before === null || before.offsetMs - offsetMs > 5_000) return { offsetMs, bestAtMs: ownMs }
  const believed = before.offsetMs - ((ownMs - before.bestAtMs) / 1000) * LEAK_MS_PER_S
  return offsetMs >= believed ? { offsetMs, bestAtMs: ownMs } : before
}

/** The service's time now, ms. */
export function serviceNow(clock: ServiceClock | null, ownMs: number): number {
  return clock === null ? 0 : ownMs + clock.offsetMs
}

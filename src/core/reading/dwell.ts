/** The value must stay inside the aim window, steady, this long before the dwell captures it, ms. */
export const DWELL_MS = 1500
/** How long the peak guide must say "at best" before the adjuster is done, ms. */
export const AT_BEST_MS = 1200

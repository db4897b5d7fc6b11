/** The value must stay inside the aim window, steady, this long before the dwell captures it, ms. */
export const DWELL_MS = 1500

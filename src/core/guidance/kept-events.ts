/** Enough for a page that was away for half a minute: in 30 s of a whole job at most 14 happen. */
export const KEPT_EVENTS = 40

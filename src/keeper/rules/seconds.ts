/** "3.0 s" from milliseconds. */
export const seconds = (ms: number) => `${(ms / 1000).toFixed(1)} s`

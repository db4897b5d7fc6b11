/** Figures as the page writes them: the same in every language. */

/** "0.2 s", "12 s", "4 min": what a glance can use. */
export function agoWords(ms: number): string {
  const seconds = Math.max(0, ms) / 1000
  if (seconds < 10) return `${seconds.toFixed(1)} s`
  return seconds < 120 ? `${Math.round(seconds)} s` : `${Math.round(seconds / 60)} min`
}

/** Two decimals with a unit; nothing is ever "-0.00". */
export function hundredths(value: number, unit: string): string {
  const text = Math.abs(value).toFixed(2)
  return `${value < 0 && Number(text) !== 0 ? '−' : ''}${text} ${unit}`
}

/** Two decimals and a sign that is a minus, not a hyphen. */
export function signed(db: number): string {
  return signedDigits(db, 2)
}

export function signedDigits(value: number, decimals: number): string {
  const text = Math.abs(value).toFixed(decimals)
  if (Number(text) === 0) return text
  return `${value < 0 ? '−' : '+'}${text}`
}

/** The time of day of an ISO time, as the clock on the wall of this device has it; anything else as it is. */
export function timeWords(at: string): string {
  return isIsoTime(at) ? new Date(at).toLocaleTimeString('en-GB') : at
}

/** The day as well: "2026-11-25 14:02". */
export function dayWords(at: string): string {
  return isIsoTime(at) ? new Date(at).toLocaleString('sv-SE').slice(0, 16) : at
}

function isIsoTime(at: string): boolean {
  return /^\d{4}-\d\d-\d\dT/.test(at)
}

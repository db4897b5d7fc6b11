/**
 * Text as it is shown: what would steer a terminal or turn the direction of a line (control characters other than tab and line
 * feed, marks of direction, of joining and of no width; Unicode 17, general categories Cc, Cf, Zl, Zp) stands as \uXXXX, which is
 * also right inside JSON. Everything else is left as it is.
 */
export function visibleText(text: string): string {
  return text.replace(HIDDEN, (sign) => [...sign].map(escaped).join(''))
}

const HIDDEN = /(?![\t\n])[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Cs}]/gu

/** As UTF-16 units, the way JSON writes them. */
function escaped(sign: string): string {
  return Array.from({ length: sign.length }, (_, at) => `\\u${sign.charCodeAt(at).toString(16).padStart(4, '0')}`).join(
    '',
  )
}

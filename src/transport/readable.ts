import { said, type Words } from '../words/said/said.ts'

/**
 * What is wrong with a line as text, in words; null for printable ASCII with tabs. Zeros around it are padding and do not count.
 * Parity errors are not reported by serial ports: bytes of another frame format arrive as data with the top bit set.
 */
export function garbleOf(line: string): Words | null {
  if (printable(line)) return null
  const text = line.replace(PADDING, '')
  if (printable(text)) return null
  const bytes = Array.from(text, (letter) => letter.charCodeAt(0))
  const topBits = bytes.filter((byte) => byte >= 0x80).length
  return topBits > 0.3 * bytes.length
    ? said('link.other-frame', { reply: shown(text) })
    : said('link.no-text', { reply: shown(text) })
}

const PADDING = /^\0+|\0+$/g

/** A plain loop: on lines as short as a reading it is faster than a pattern. */
function printable(text: string): boolean {
  for (let at = 0; at < text.length; at++) {
    const code = text.charCodeAt(at)
    if ((code < 0x20 && code !== TAB) || code > 0x7e) return false
  }
  return true
}

const TAB = 9

/** A line as it is quoted in a message: at most 24 characters of it, control characters spelled out. */
export function shown(line: string): string {
  return JSON.stringify(line.length > 24 ? `${line.slice(0, 24)}...` : line)
}

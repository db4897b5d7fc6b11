/** The longest a mnemonic may be; a longer one is answered with -112 (SCPI-99 vol. 1, 6.2.1). */
const LONGEST_MNEMONIC = 12

/**
 * What is wrong with a program message as text, in words; null when its headers can be sent. Checks each header's form, the
 * length of its mnemonics and the text after it, not whether an instrument knows it.
 */
export function headerProblem(ask: string): string | null {
  if (ask.trim() === '') return 'it is empty'
  const odd = /[^\x20-\x7e]/.exec(ask)
  if (odd) return `it holds ${JSON.stringify(odd[0])}, which is no printable ASCII character`
  const units = unitsOf(ask)
  if (units === null) return 'a quote is opened and never closed'
  for (const unit of units) {
    const problem = unitProblem(unit.trim())
    if (problem) return problem
  }
  return null
}

/** Splits at semicolons that stand outside quotes; null when a quote does not close. */
function unitsOf(message: string): string[] | null {
  const units = ['']
  let quote = ''
  for (const letter of message) {
    if (quote === '' && letter === ';') {
      units.push('')
      continue
    }
    if (quote === '' && (letter === '"' || letter === "'")) quote = letter
    else if (letter === quote) quote = ''
    units[units.length - 1] += letter
  }
  return quote === '' ? units : null
}

function unitProblem(unit: string): string | null {
  if (unit === '') return 'two semicolons follow each other, or one stands at an end'
  const [header = ''] = unit.split(/\s/, 1)
  const path = header.replace(/\?$/, '')
  if (path.includes('?')) return `${header} has a question mark that is not at the end of the header`
  if (path.startsWith('*'))
    return /^\*[A-Za-z]{3,12}$/.test(path) ? null : `${header} is not a star and the letters of a common command`
  if (path.startsWith(':*')) return `${header}: a common command has no colon before it`
  const mnemonics = path.replace(/^:/, '').split(':')
  for (const mnemonic of mnemonics) {
    if (mnemonic === '') return `${header} has two colons side by side, or one at an end`
    if (!/^[A-Za-z][A-Za-z0-9_]*$/.test(mnemonic))
      return `"${mnemonic}" in ${header} is not a letter followed by letters and digits`
    if (mnemonic.length > LONGEST_MNEMONIC) {
      return `"${mnemonic}" in ${header} has ${mnemonic.length} characters; an instrument takes ${LONGEST_MNEMONIC}`
    }
  }
  return null
}

/**
 * A number as it is sent: fixed notation, a point, `decimals` places, never an exponent, a comma or a minus zero. Throws TypeError for
 * what cannot be written so.
 */
export function formatNumber(value: number, decimals: number): string {
  if (!Number.isFinite(value) || Math.abs(value) >= 1e21)
    throw new TypeError(`${value} cannot be sent in fixed notation`)
  const text = value.toFixed(decimals)
  return /^-0(\.0+)?$/.test(text) ? text.slice(1) : text
}

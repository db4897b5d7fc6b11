import { quoted, readAmount, refuse } from './amount.ts'
import { add, type Decimal, half, negate, toNumber } from './decimal.ts'
import {
  aboutLike,
  BETWEEN_ENDS,
  HYPHENED,
  hyphenRefusal,
  PLUS_MINUS,
  rangeLike,
  readExactAbout,
  readExactRange,
  readWidth,
} from './exact-band.ts'
import { type Parsed, type Quantity, type Unit, unitOf } from './quantity.ts'
import type { Target } from './target.ts'
import { EXAMPLES } from './unit-spelling.ts'

const AT_MOST = /^(?:<=|\u2264|at most\b)\s*(.*)$/i
const AT_LEAST = /^(?:>=|\u2265|at least\b)\s*(.*)$/i
const CHANNEL = /^channel\b(.*)$/i

/** Reads a target as a person writes it, for one quantity; of a closed band the aim is the middle. Refuses the rest in words. */
export function readTarget(text: string, quantity: Quantity): Parsed<Target> {
  const unit = unitOf(quantity)
  const written = text.replace(/\s+/g, ' ').trim()
  if (/^maximum$/i.test(written)) return { ok: true, value: { kind: 'maximum' } }
  if (/^minimum$/i.test(written)) return { ok: true, value: { kind: 'minimum' } }

  const atMost = AT_MOST.exec(written)
  if (atMost !== null) return readOpen(written, atMost[1] ?? '', unit, 'high')
  const atLeast = AT_LEAST.exec(written)
  if (atLeast !== null) return readOpen(written, atLeast[1] ?? '', unit, 'low')
  const channel = CHANNEL.exec(written)
  if (channel !== null) return readAroundChannel(written, channel[1] ?? '', quantity)
  if (PLUS_MINUS.test(written)) return readAround(written, unit)
  if (BETWEEN_ENDS.test(written)) return readBetween(written, unit)
  return refuse(whyNoTarget(written, unit))
}

function readOpen(text: string, limitText: string, unit: Unit, side: 'low' | 'high'): Parsed<Target> {
  if (limitText === '') return refuse(`${quoted(text)} has no value behind it: write ${text} ${EXAMPLES[unit]}`)
  const amount = readAmount(limitText, unit)
  if (!amount.ok) return amount
  const limit = toNumber(amount.value.exact)
  const low = side === 'low' ? limit : null
  return { ok: true, value: { kind: 'band', unit, low, high: side === 'high' ? limit : null, aim: null } }
}

function readAroundChannel(text: string, behind: string, quantity: Quantity): Parsed<Target> {
  if (quantity !== 'frequency')
    return refuse(`${quoted(text)} fits frequency only: write ${quantity} like ${rangeLike(unitOf(quantity))}`)
  const [blank = '', widthText = '', ...more] = behind.split(PLUS_MINUS)
  if (blank.trim() !== '' || widthText.trim() === '' || more.length > 0)
    return refuse(`${quoted(text)} has no width: write it like channel +- 150 Hz or channel +- 5 ppm`)
  const width = readWidth(widthText, 'Hz')
  if (!width.ok) return width
  const as = width.value.as === 'ratio' ? 'ratio' : 'Hz'
  return { ok: true, value: { kind: 'around channel', plusMinus: toNumber(width.value.exact), as } }
}

function readAround(text: string, unit: Unit): Parsed<Target> {
  const about = readExactAbout(text, unit)
  return about.ok ? { ok: true, value: around(about.value.centre, about.value.plusMinus, unit) } : about
}

function readBetween(text: string, unit: Unit): Parsed<Target> {
  const range = readExactRange(text, unit)
  if (!range.ok) return range
  const { low, high } = range.value
  const aim = toNumber(half(add(low, high)))
  return { ok: true, value: { kind: 'band', unit, low: toNumber(low), high: toNumber(high), aim } }
}

function around(centre: Decimal, width: Decimal, unit: Unit): Target {
  const low = toNumber(add(centre, negate(width)))
  return { kind: 'band', unit, low, high: toNumber(add(centre, width)), aim: toNumber(centre) }
}

function whyNoTarget(text: string, unit: Unit): string {
  const forms = `${rangeLike(unit)}, ${aboutLike(unit)}, at most ${EXAMPLES[unit]}, at least ${EXAMPLES[unit]}, maximum or minimum`
  if (text === '') return `Nothing was written: write ${forms}`
  if (/^(?:max|peak|highest)\b/i.test(text)) return `${quoted(text)} is not a target: write maximum`
  if (/^(?:min|dip|lowest)\b/i.test(text)) return `${quoted(text)} is not a target: write minimum`
  if (/^[<>]/.test(text))
    return `${quoted(text)} leaves the limit itself open: write ${text.startsWith('<') ? '<= or at most' : '>= or at least'}`
  if (HYPHENED.test(text)) return hyphenRefusal(text, unit)
  const amount = readAmount(text, unit)
  if (amount.ok) return `${quoted(text)} is one value: write a band, such as ${rangeLike(unit)} or ${aboutLike(unit)}`
  return /^[+\-\u2212.]?\d/.test(text) ? amount.refused : `${quoted(text)} is not a target: write ${forms}`
}

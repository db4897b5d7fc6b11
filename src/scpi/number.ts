/** What a numeric reply is: a number to be used, or a state that is never turned into one. */
export type NumberState = 'good' | 'over' | 'under' | 'not a number' | 'blank' | 'unreadable'

/** A reply read as a number; `value` is null unless `state` is good. */
export interface NumberReply {
  readonly state: NumberState
  readonly value: number | null
}

/**
 * From here on a magnitude is a mark and no value: infinity is sent as 9.9E37 and not-a-number as 9.91E37 (SCPI-99, 7.2.1.4 and 7.2.1.5).
 * Instruments that count in single precision print them a little off, and nothing on a bench is that large.
 */
const MARKS_FROM = 9e37
const NOT_A_NUMBER = 9.91e37
/** Single precision is off by less than this part of it; infinity lies ten times further away. */
const NEAR = 1e-4

/** Sign, digits with or without a point, exponent. */
const NUMBER = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?$/
/** The same with blanks where some instruments put them: after the sign, and round the E and its sign. */
const SPACED = /^[+-]?[ \t]*(?:\d+(?:\.\d*)?|\.\d+)(?:[ \t]*[eE][ \t]*(?:[+-][ \t]*)?\d+)?$/

/**
 * Reads a reply of decimal form (NR1, NR2, NR3 and the wider forms that instruments send). Blanks and zero bytes round it do not count.
 * The whole reply must match: a decimal comma, a unit, a second value or any text makes it unreadable; an empty one is blank, not 0.
 */
export function readNumber(reply: string): NumberReply {
  if (NUMBER.test(reply)) return judged(Number(reply))
  const text = trimmed(reply)
  if (text === '') return { state: 'blank', value: null }
  return SPACED.test(text) ? judged(Number(text.replace(/[ \t]/g, ''))) : { state: 'unreadable', value: null }
}

function judged(value: number): NumberReply {
  const size = Math.abs(value)
  if (size < MARKS_FROM) return { state: 'good', value: value === 0 ? 0 : value } // minus zero is zero
  if (Math.abs(size / NOT_A_NUMBER - 1) < NEAR) return { state: 'not a number', value: null }
  return { state: value > 0 ? 'over' : 'under', value: null }
}

/** Without the blanks and zero bytes round it: found from the end, since a pattern would try each blank inside as well. */
function trimmed(reply: string): string {
  let from = 0
  let to = reply.length
  while (from < to && isAround(reply, from)) from += 1
  while (to > from && isAround(reply, to - 1)) to -= 1
  return reply.slice(from, to)
}

const isAround = (reply: string, at: number) => AROUND.test(reply.charAt(at))
const AROUND = /[\0\s]/

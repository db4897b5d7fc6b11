import { readValue } from '../../quantity/parse-value.ts'
import type { Parsed } from '../../quantity/quantity.ts'

/** How a step is keyed: with which tone at the microphone socket, and how long at a time. null: the set's own budget. */
export interface KeyPlan {
  readonly tone: { readonly hz: number; readonly volts: number } | null
  readonly budget: { readonly atMostS: number; readonly restS: number } | null
}

const LONGEST = 200
const FORM = 'write it like "unmodulated, 15 s then 45 s rest" or "tone 1 kHz at 30 mV, 15 s then 45 s rest"'

/** Reads "unmodulated, 15 s then 45 s rest" or "tone 1 kHz at 30 mV"; volts are r.m.s. at the socket. */
export function readKeyPlan(text: string): Parsed<KeyPlan> {
  if (text.length > LONGEST) return { ok: false, refused: `${text.length} characters are too many; ${FORM}` }
  const [how = '', times, ...more] = text.split(',').map((part) => part.trim().replaceAll(/\s+/g, ' '))
  if (more.length > 0) return { ok: false, refused: `"${text}" has too many commas; ${FORM}` }
  const tone = readTone(how)
  if (!tone.ok) return tone
  if (times === undefined) return { ok: true, value: { tone: tone.value, budget: null } }
  const [down = '', pause = '', ...others] = times.split(' then ')
  const atMost = readValue(others.length === 0 ? down.trim() : '', 's')
  const rest = readValue(pause.endsWith(' rest') ? pause.slice(0, -' rest'.length).trim() : '', 's')
  if (!atMost.ok || !rest.ok || atMost.value <= 0 || rest.value <= 0)
    return { ok: false, refused: `"${times}" is not a key-down and a rest; ${FORM}` }
  return { ok: true, value: { tone: tone.value, budget: { atMostS: atMost.value, restS: rest.value } } }
}

function readTone(how: string): Parsed<KeyPlan['tone']> {
  if (how === 'unmodulated') return { ok: true, value: null }
  const [tone = '', level = '', ...others] = how.startsWith('tone ') ? how.slice('tone '.length).split(' at ') : []
  const hz = readValue(others.length === 0 ? tone.trim() : '', 'Hz')
  const volts = readValue(level.trim(), 'V')
  if (!hz.ok || !volts.ok) return { ok: false, refused: `"${how}" is not a way of keying; ${FORM}` }
  return { ok: true, value: { hz: hz.value, volts: volts.value } }
}

import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import type { Cue, Sound, Tick } from './sound.ts'

/** How much of the sound a person wants. Safety sounds in every level but `none`. */
export const LEVELS = ['all', 'guide', 'events', 'none'] as const
export type Level = (typeof LEVELS)[number]

export const SILENCE: Sound = { guide: { kind: 'silent' }, ticks: [], once: [], alarm: false }

const SAFETY_CUES: readonly Cue[] = ['release key', 'rough', 'flat']
const GUIDE_CUES: readonly Cue[] = [...SAFETY_CUES, 'captured', 'captured, low', 'passed over', 'new best', 'key now']
const GUIDE_TICKS: readonly Tick['kind'][] = ['key', 'closing']

/** What is left of a sound at a level. */
export function heardAt(sound: Sound, level: Level): Sound {
  switch (level) {
    case 'all':
      return sound
    case 'guide':
      return {
        ...sound,
        ticks: sound.ticks.filter((tick) => GUIDE_TICKS.includes(tick.kind)),
        once: sound.once.filter((cue) => GUIDE_CUES.includes(cue)),
      }
    case 'events':
      return { ...sound, guide: { kind: 'silent' }, ticks: sound.ticks.filter((tick) => tick.kind === 'key') }
    case 'none':
      return SILENCE
  }
}

/** What an open microphone would carry into the reading leaves only the safety sounds. */
export function spareMicrophone(sound: Sound): Sound {
  return {
    guide: { kind: 'silent' },
    ticks: sound.ticks.filter((tick) => tick.kind === 'key'),
    once: sound.once.filter((cue) => SAFETY_CUES.includes(cue)),
    alarm: sound.alarm,
  }
}

const HEARD_BY_METER: readonly string[] = ['FM deviation', 'AM depth', 'SINAD', 'audio level', 'audio distortion']

/** How much is heard on this page: the wish of the person, and whether the ears are covered. */
export interface Ears {
  readonly level: Level
  readonly headphones: boolean
}

/** What of a sound is heard while a frame stands. A step that says so has no sound at all: an open microphone would carry it into the reading. */
export function heardIn(frame: LiveFrame, sound: Sound, ears: Ears): Sound {
  if (isMicrophoneOpen(frame)) return SILENCE
  const wanted = heardAt(sound, ears.level)
  return microphoneHears(frame) && !ears.headphones ? spareMicrophone(wanted) : wanted
}

/** The step has the set's own microphone in: pages keep silent. */
export function isMicrophoneOpen(frame: LiveFrame): boolean {
  return frame.step?.sounds === 'off'
}

/** The step measures what a microphone near the speaker would pick up: 740 Hz into it is 2 kHz of deviation. */
export function microphoneHears(frame: LiveFrame): boolean {
  return frame.reading !== null && HEARD_BY_METER.includes(frame.reading.quantity)
}

import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { SETTINGS } from '../words/words.ts'
import { heardIn, isMicrophoneOpen, type Level, microphoneHears } from './heard.ts'
import { openPlayer } from './player.ts'
import { type SoundMemory, soundOf } from './sound.ts'

/** Whether the ears of this job are covered, so that an open microphone does not hear the gauge. */
export type Headphones = 'unasked' | 'yes' | 'no'

export interface SoundDesk {
  /** A touch or key press came: sound may start. */
  touch(): void
  /** The newest frame, or the same one later; `nowMs` is the service's clock. */
  hear(frame: LiveFrame, nowMs: number, level: Level): void
  headphones: Headphones
  /** Why nothing is heard, in words; "" while all is well. */
  trouble(frame: LiveFrame, level: Level): string
  /** The question about headphones has to be put. */
  asks(frame: LiveFrame, level: Level): boolean
}

/** Joins the pure sound of a frame, the choices of the person, and the player. `onChange` follows the browser's own moods. */
export function openSoundDesk(onChange: () => void): SoundDesk {
  const player = openPlayer(onChange)
  let memory: SoundMemory | null = null
  let mode: LiveFrame['mode'] = 'idle'
  const desk: SoundDesk = {
    headphones: 'unasked',
    touch: () => player.touch(),
    hear(frame, nowMs, level) {
      if (frame.mode !== mode) {
        mode = frame.mode
        desk.headphones = 'unasked'
      }
      const next = soundOf(frame, toldSoFar(memory, frame), nowMs)
      memory = next.memory
      player.play(heardIn(frame, next.sound, { level, headphones: desk.headphones === 'yes' }))
    },
    trouble(frame, level) {
      if (isMicrophoneOpen(frame)) return SETTINGS.microphoneOpen
      if (level === 'none') return ''
      if (player.state !== 'running') return player.state === 'held' ? SETTINGS.held : SETTINGS.interrupted
      return spared(frame) ? SETTINGS.silentForMicrophone : ''
    },
    asks: (frame, level) =>
      level !== 'none' && desk.headphones === 'unasked' && microphoneHears(frame) && !isMicrophoneOpen(frame),
  }
  const spared = (frame: LiveFrame) => microphoneHears(frame) && desk.headphones !== 'yes'
  return desk
}

/** A new watch or job counts its events from 1 again: what is in it now was never told. */
function toldSoFar(memory: SoundMemory | null, frame: LiveFrame): SoundMemory | null {
  const newest = frame.events.at(-1)?.seq ?? 0
  return memory !== null && newest < memory.lastEvent ? { ...memory, lastEvent: 0 } : memory
}

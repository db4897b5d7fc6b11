import { SILENCE } from './heard.ts'
import type { Sound } from './sound.ts'
import { openVoice, type Voice } from './voice.ts'

/** A sound and when it begins, seconds from the start of the context. */
export interface PlanStep {
  readonly atS: number
  readonly sound: Sound
}

/** Writes a whole plan onto a context up to `endS`, live or offline; steps stand in the order of their time. */
export function playPlan(context: BaseAudioContext, plan: readonly PlanStep[], endS: number): void {
  const voice = openVoice(context, context.destination)
  for (const step of plan) {
    voice.schedule(step.atS)
    voice.apply(step.sound, step.atS)
  }
  voice.schedule(endS)
}

/** `held`: the browser waits for a touch; `interrupted`: it took the sound away later. */
export type PlayerState = 'held' | 'running' | 'interrupted'

export interface Player {
  /** Called from a touch or a key press: only then may a browser start sound. */
  touch(): void
  play(sound: Sound): void
  readonly state: PlayerState
}

/** How far ahead pulses are put on the time line, and how often. */
const AHEAD_S = 0.12
const EVERY_MS = 25
/** What has a beginning comes this much after now: the shortest time in which the context still takes it whole. */
const SOON_S = 0.004

/** The sound of this page. One context for the session, made at the first touch. */
export function openPlayer(onState: (state: PlayerState) => void): Player {
  let running: { readonly context: AudioContext; readonly voice: Voice } | null = null
  let sound: Sound = SILENCE
  let state: PlayerState = 'held'
  const become = (now: PlayerState) => {
    if (now === state) return
    state = now
    onState(now)
  }
  const follow = (context: AudioContext) => {
    if (context.state === 'running') become('running')
    else become(state === 'held' ? 'held' : 'interrupted')
  }
  const open = () => {
    const context = new AudioContext({ latencyHint: 'interactive' })
    const voice = openVoice(context, context.destination)
    running = { context, voice }
    context.addEventListener('statechange', () => follow(context))
    voice.apply({ ...sound, once: [] }, context.currentTime)
    setInterval(() => {
      if (context.state === 'running') voice.schedule(context.currentTime + AHEAD_S)
    }, EVERY_MS)
    return context
  }
  return {
    touch() {
      const context = running?.context ?? open()
      if (context.state === 'running') return follow(context)
      // A refusal leaves the state as it is, and the page goes on saying that sound is held back.
      context.resume().then(
        () => follow(context),
        () => follow(context),
      )
    },
    play(wanted) {
      sound = wanted
      if (running === null || running.context.state !== 'running') return
      running.voice.apply(wanted, running.context.currentTime + (onlyGlides(wanted) ? 0 : SOON_S))
      running.voice.schedule(running.context.currentTime + AHEAD_S)
    },
    get state() {
      return state
    },
  }
}

/** A standing tone that only moves can move at once: a glide that is taken late begins late and does not click. */
function onlyGlides({ guide, ticks, once, alarm }: Sound): boolean {
  return (guide.kind === 'beat' || guide.kind === 'tone') && ticks.length === 0 && once.length === 0 && !alarm
}

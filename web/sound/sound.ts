import type { LiveEvent, LiveFrame, LiveState } from '../../src/schema/messages/shown.ts'

/** The steady part of the sound: what the hand goes by. Frequencies in Hz, times in ms. */
export type GuideSound =
  | { readonly kind: 'silent' }
  /** Outside the band: short tones, quicker toward it; the side is heard in the tone. */
  | { readonly kind: 'pulses'; readonly side: 'above' | 'below'; readonly hz: number; readonly everyMs: number }
  /** Inside: two tones that beat with the distance from the aim. `share` falls from 1 to 0 as the reading stays steady. */
  | { readonly kind: 'beat'; readonly hz: number; readonly secondHz: number; readonly share: number }
  /** On a peak: the pitch is the level; after a pass-over a second tone stands at the best. */
  | { readonly kind: 'tone'; readonly hz: number; readonly referenceHz: number | null }

/** Small sounds that repeat. */
export interface Tick {
  readonly kind: 'settling' | 'closing' | 'key' | 'heartbeat'
  readonly everyMs: number
}

/** Sounds that come once. `low` keeps clear of 1 kHz, where an audio step listens. */
export type Cue =
  | 'key now'
  | 'release key'
  | 'captured'
  | 'captured, low'
  | 'new best'
  | 'passed over'
  | 'flat'
  | 'rough'
  | 'ping'

export interface Sound {
  readonly guide: GuideSound
  readonly ticks: readonly Tick[]
  readonly once: readonly Cue[]
  /** Safety: groups of three, unlike any guidance. */
  readonly alarm: boolean
}

/** What the ear was told so far. */
export interface SoundMemory {
  readonly lastEvent: number
  readonly state: LiveState
  /** What the filter belongs to: a new step, adjuster or scale starts it anew. */
  readonly key: string
  readonly arrivedMs: number
  readonly intervalMs: number
  readonly recent: readonly number[]
  readonly smooth: number
  readonly inside: boolean
  /** The best of this adjuster was passed over: the scale is fine from here on. */
  readonly fine: boolean
  readonly adjuster: string
  readonly steadySinceMs: number | null
  readonly stoppedSinceMs: number | null
  readonly dead: boolean
  /** Number of the nudge that was asked for last; 0 before one. */
  readonly nudge: number
}

/** Lengths and tones of the table in the order in which they are heard. */
export const TONES = {
  pulseMs: 60,
  aboveHz: 740,
  belowHz: 330,
  insideHz: 523,
  climbHz: 330,
  climbMostHz: 1320,
  climbLeastHz: 110,
  bestHz: 660,
  fadeMs: 1500,
  closingMs: 500,
  heartbeatMs: 2000,
  settlingMs: 700,
  smoothMs: 250,
  muteMs: 500,
  alarmMs: 20_000,
} as const

/** Audio steps listen at 1 kHz: nothing of the gauge comes near it, its third harmonics included. */
const KEPT_CLEAR = { fromHz: 950, toHz: 1050, belowHz: 300 } as const
const AUDIO_QUANTITIES: readonly string[] = ['SINAD', 'audio level', 'audio distortion', 'audio tone']

const SILENT = { kind: 'silent' } as const
const HOMING: readonly LiveState[] = ['far', 'near', 'in', 'steady']
const PEAKING: readonly LiveState[] = ['climb', 'passed over', 'return', 'at best']
const FLAT: readonly LiveState[] = ['cannot reach', 'no effect', 'over range', 'question', 'wrong channel']

/** What should sound at a moment of the service's clock (ms), and what to remember for the next call. */
export function soundOf(
  frame: LiveFrame,
  memory: SoundMemory | null,
  nowMs: number,
): { readonly sound: Sound; readonly memory: SoundMemory } {
  const next = remember(frame, memory, nowMs)
  const fresh = frame.events.filter((event) => memory !== null && event.seq > memory.lastEvent)
  const entered = memory !== null && memory.state !== frame.state
  const once = fresh.flatMap((event) => cueFor(event, frame))
  if (entered && FLAT.includes(frame.state) && !once.includes('flat')) once.push('flat')
  if (memory !== null && next.dead && !memory.dead) once.push('rough')
  // the reading has settled, and the next small turn may be made
  if (memory !== null && next.nudge > 0 && next.nudge !== memory.nudge) once.push('ping')
  const alarm = next.stoppedSinceMs !== null && nowMs - next.stoppedSinceMs < TONES.alarmMs
  const sound = { guide: guideOf(frame, next, nowMs), ticks: ticksOf(frame), once, alarm }
  return { sound, memory: next }
}

function cueFor(event: LiveEvent, frame: LiveFrame): Cue[] {
  switch (event.what) {
    case 'new best':
    case 'passed over':
    case 'key now':
    case 'release key':
      return [event.what]
    case 'captured':
      if (isOutOfBand(frame)) return []
      return [isAudio(frame) ? 'captured, low' : 'captured']
    case 'step done':
      return isOutOfBand(frame) ? ['flat'] : []
    case 'no effect':
    case 'snap':
      return ['flat']
    case 'link back':
    case 'note':
      return ['ping']
    default:
      return []
  }
}

/** The step in hand is over and came out of band. */
function isOutOfBand({ step, steps }: LiveFrame): boolean {
  return steps.some((line) => line.state === 'out of band' && line.step === step?.id && line.pass === step?.pass)
}

function remember(frame: LiveFrame, before: SoundMemory | null, nowMs: number): SoundMemory {
  const adjuster = `${frame.step?.id ?? ''} ${frame.peak?.adjuster ?? frame.step?.adjuster ?? ''}`
  const kept = before !== null && before.adjuster === adjuster && before.fine
  const fine = PEAKING.includes(frame.state) && (kept || frame.state !== 'climb')
  const key = `${adjuster} ${frame.reading?.quantity ?? ''} ${frame.slot?.kind ?? ''} ${fine}`
  const since = (state: LiveState, known: number | null | undefined) =>
    frame.state === state ? (known ?? nowMs) : null
  const dead = frame.state === 'old' || frame.state === 'link lost' || isOld(frame, nowMs)
  return {
    lastEvent: frame.events.reduce((last, event) => Math.max(last, event.seq), before?.lastEvent ?? 0),
    state: frame.state,
    fine: fine || (kept && !PEAKING.includes(frame.state)),
    adjuster,
    dead,
    nudge: frame.peak?.nudge?.number ?? 0,
    steadySinceMs: since('steady', before?.steadySinceMs),
    stoppedSinceMs: since('stopped', before?.stoppedSinceMs),
    ...filter(frame, before, { key, fine }),
  }
}

function isOld(frame: LiveFrame, nowMs: number): boolean {
  const wanted = HOMING.includes(frame.state) || PEAKING.includes(frame.state)
  return wanted && frame.reading !== null && nowMs - frame.reading.arrivedMs > frame.reading.oldAfterMs
}

type Filtered = Pick<SoundMemory, 'key' | 'arrivedMs' | 'intervalMs' | 'recent' | 'smooth' | 'inside'>

/** Median of three, then a one-pole of 0.25 s; one step a reading, however often a frame comes. */
function filter(frame: LiveFrame, before: SoundMemory | null, now: { key: string; fine: boolean }): Filtered {
  const value = levelOf(frame, now.fine)
  const arrivedMs = frame.reading?.arrivedMs ?? 0
  const guessMs = (frame.reading?.oldAfterMs ?? 0) / 3
  if (before === null || before.key !== now.key || value === null) {
    const start = value ?? 0
    const recent = value === null ? [] : [start]
    return { key: now.key, arrivedMs, intervalMs: guessMs, recent, smooth: start, inside: Math.abs(start) < 1 }
  }
  const passedMs = arrivedMs - before.arrivedMs
  if (passedMs <= 0) {
    // Only the filter's own part: the rest of the memory belongs to this frame.
    const { intervalMs, recent, smooth, inside } = before
    return { key: now.key, arrivedMs: before.arrivedMs, intervalMs, recent, smooth, inside }
  }
  const recent = [...before.recent, value].slice(-3)
  const share = before.recent.length === 0 ? 1 : 1 - Math.exp(-passedMs / TONES.smoothMs)
  const smooth = before.smooth + share * (median(recent) - before.smooth)
  const inside = Math.abs(smooth) < 1 || (before.inside && Math.abs(smooth) <= 1.08)
  const intervalMs = Math.max(passedMs, before.intervalMs * 0.8)
  return {
    key: now.key,
    arrivedMs,
    intervalMs: Math.min(intervalMs, frame.reading?.oldAfterMs ?? intervalMs),
    recent,
    smooth,
    inside,
  }
}

function levelOf(frame: LiveFrame, fine: boolean): number | null {
  if (frame.slot?.kind === 'peak') {
    if (frame.peak === null) return null
    return fine ? frame.peak.belowDb : frame.peak.fromStartDb
  }
  return frame.peg?.e ?? null
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const middle = (sorted.length - 1) / 2
  return ((sorted[Math.floor(middle)] ?? 0) + (sorted[Math.ceil(middle)] ?? 0)) / 2
}

function guideOf(frame: LiveFrame, memory: SoundMemory, nowMs: number): GuideSound {
  if (frame.reading === null || memory.recent.length === 0) return SILENT
  if (nowMs - frame.reading.arrivedMs > TONES.muteMs + memory.intervalMs) return SILENT
  if (PEAKING.includes(frame.state) && frame.peak !== null) return peakSound(frame, memory, frame.peak.sigmaDb)
  if (!HOMING.includes(frame.state) || frame.step?.technique === 'check') return SILENT
  if (frame.slot?.kind !== 'band' || frame.slot.openLow || frame.slot.openHigh) return SILENT
  return memory.inside ? beatSound(memory, nowMs) : pulseSound(frame, memory.smooth)
}

function pulseSound(frame: LiveFrame, e: number): GuideSound {
  const everyMs = clamp(170 * Math.abs(e) ** 0.8, 170, 900)
  if (e > 0) return { kind: 'pulses', side: 'above', hz: TONES.aboveHz, everyMs }
  return { kind: 'pulses', side: 'below', hz: isAudio(frame) ? KEPT_CLEAR.belowHz : TONES.belowHz, everyMs }
}

/** Beats about 12 |e| times a second. Only a beat slower than 2 a second may fade. */
function beatSound(memory: SoundMemory, nowMs: number): GuideSound {
  const secondHz = TONES.insideHz * 2 ** ((0.4 * memory.smooth) / 12)
  const slow = Math.abs(secondHz - TONES.insideHz) < 2
  const forMs = memory.steadySinceMs === null || !slow ? 0 : nowMs - memory.steadySinceMs
  return { kind: 'beat', hz: TONES.insideHz, secondHz, share: clamp(1 - forMs / TONES.fadeMs, 0, 1) }
}

/** Three semitones a dB on the way up; after a pass-over so fine that the meter's noise stays under 25 cents. */
function peakSound(frame: LiveFrame, memory: SoundMemory, sigmaDb: number): GuideSound {
  const semitones = memory.fine ? -Math.min(12, 0.25 / Math.max(sigmaDb, 1e-6)) * memory.smooth : 3 * memory.smooth
  const base = memory.fine ? TONES.bestHz : TONES.climbHz
  const hz = clamp(base * 2 ** (semitones / 12), TONES.climbLeastHz, TONES.climbMostHz)
  return { kind: 'tone', hz: isAudio(frame) ? keptClear(hz) : hz, referenceHz: memory.fine ? TONES.bestHz : null }
}

function keptClear(hz: number): number {
  if (hz <= KEPT_CLEAR.fromHz || hz >= KEPT_CLEAR.toHz) return hz
  return hz < (KEPT_CLEAR.fromHz + KEPT_CLEAR.toHz) / 2 ? KEPT_CLEAR.fromHz : KEPT_CLEAR.toHz
}

function ticksOf(frame: LiveFrame): Tick[] {
  const ticks: Tick[] = []
  if (frame.key.keyed && frame.key.share >= 0.9) ticks.push({ kind: 'key', everyMs: 250 })
  else if (frame.key.keyed && frame.key.share >= 0.7) ticks.push({ kind: 'key', everyMs: 1000 })
  if (frame.state === 'hold-off' || frame.state === 'settling')
    ticks.push({ kind: 'settling', everyMs: TONES.settlingMs })
  if (frame.state === 'steady') ticks.push({ kind: 'closing', everyMs: TONES.closingMs })
  if (frame.state === 'captured') ticks.push({ kind: 'heartbeat', everyMs: TONES.heartbeatMs })
  return ticks
}

function isAudio(frame: LiveFrame): boolean {
  return frame.reading !== null && AUDIO_QUANTITIES.includes(frame.reading.quantity)
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value))
}

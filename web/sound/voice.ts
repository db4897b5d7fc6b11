import { type Cue, type GuideSound, type Sound, type Tick, TONES } from './sound.ts'

/** Turns sounds into Web Audio events. Times are those of the context, seconds; nothing here starts or stops with a click. */
export interface Voice {
  /** From `atS` on this sounds; its once-only cues begin there. */
  apply(sound: Sound, atS: number): void
  /** Puts all pulses and ticks that fall before `untilS` on the context's time line. */
  schedule(untilS: number): void
}

/** Amplitudes: -12 dB for the guide, -18 dB for the reference, -24 dB for the heartbeat. */
const GUIDE_GAIN = 0.25
const REFERENCE_GAIN = 0.126
const HEARTBEAT_GAIN = 0.063
/** Time constant of every change of a standing tone. */
const GLIDE_S = 0.03

const ALARM_EVERY_S = 1.6

/** Builds the voice on a context; four oscillators run all the time and are only faded. */
export function openVoice(context: BaseAudioContext, destination: AudioNode): Voice {
  const tones = standingTones(context, destination)
  let sound: Sound = { guide: { kind: 'silent' }, ticks: [], once: [], alarm: false }
  const next = new Map<string, number>()
  let lastPulseS = -1
  return {
    apply(wanted, atS) {
      const before = sound.guide
      sound = wanted
      if (!sameGuide(before, wanted.guide)) tones.stand(wanted.guide, atS)
      for (const cue of wanted.once) playCue(context, destination, cue, atS)
      if (wanted.guide.kind === 'pulses') {
        const gapMs = sameSide(before, wanted.guide) ? wanted.guide.everyMs : TONES.pulseMs
        next.set('pulse', Math.max(lastPulseS + gapMs / 1000, atS))
      } else next.delete('pulse')
      keepClocks(next, [...wanted.ticks.map((tick) => tick.kind), ...(wanted.alarm ? ['alarm'] : [])], atS)
    },
    schedule(untilS) {
      const guide = sound.guide
      if (guide.kind === 'pulses')
        repeat(next, 'pulse', guide.everyMs / 1000, untilS, (atS) => {
          tones.pulse(guide, atS)
          lastPulseS = atS
        })
      for (const tick of sound.ticks)
        repeat(next, tick.kind, tick.everyMs / 1000, untilS, (atS) => playTick(context, destination, tick, atS))
      if (sound.alarm) repeat(next, 'alarm', ALARM_EVERY_S, untilS, (atS) => playAlarm(context, destination, atS))
    },
  }
}

function sameGuide(a: GuideSound, b: GuideSound): boolean {
  return JSON.stringify(a) === JSON.stringify(b)
}

function sameSide(a: GuideSound, b: GuideSound): boolean {
  return a.kind === 'pulses' && b.kind === 'pulses' && a.side === b.side
}

/** A tick that goes on keeps its beat; one that is new begins now; one that is gone is forgotten. */
function keepClocks(next: Map<string, number>, wanted: readonly string[], atS: number): void {
  for (const name of [...next.keys()]) if (name !== 'pulse' && !wanted.includes(name)) next.delete(name)
  for (const name of wanted) if (!next.has(name)) next.set(name, atS)
}

function repeat(
  next: Map<string, number>,
  name: string,
  everyS: number,
  untilS: number,
  play: (atS: number) => void,
): void {
  let dueS = next.get(name) ?? untilS
  while (dueS < untilS) {
    play(dueS)
    dueS += everyS
  }
  next.set(name, dueS)
}

function standingTones(context: BaseAudioContext, destination: AudioNode) {
  const above = toneOf(context, TONES.aboveHz, destination)
  above.oscillator.setPeriodicWave(brightWave(context))
  const hollow = new BiquadFilterNode(context, { type: 'lowpass', frequency: 800 })
  hollow.connect(destination)
  const below = toneOf(context, TONES.belowHz, hollow)
  below.oscillator.type = 'square'
  const first = toneOf(context, TONES.insideHz, destination)
  const second = toneOf(context, TONES.insideHz, destination)
  const glide = (tone: Tone, hz: number, gain: number, atS: number) => {
    tone.oscillator.frequency.setTargetAtTime(hz, atS, GLIDE_S)
    tone.gain.gain.setTargetAtTime(gain, atS, GLIDE_S)
  }
  const fade = (tone: Tone, atS: number) => tone.gain.gain.setTargetAtTime(0, atS, GLIDE_S)
  return {
    stand(guide: GuideSound, atS: number) {
      if (guide.kind === 'beat') {
        glide(first, guide.hz, GUIDE_GAIN * guide.share, atS)
        glide(second, guide.secondHz, GUIDE_GAIN * guide.share, atS)
      } else if (guide.kind === 'tone') {
        glide(first, guide.hz, GUIDE_GAIN, atS)
        if (guide.referenceHz === null) fade(second, atS)
        else glide(second, guide.referenceHz, REFERENCE_GAIN, atS)
      } else {
        fade(first, atS)
        fade(second, atS)
      }
    },
    pulse(guide: Extract<GuideSound, { kind: 'pulses' }>, atS: number) {
      const tone = guide.side === 'above' ? above : below
      tone.oscillator.frequency.setValueAtTime(guide.hz, atS)
      envelope(tone.gain.gain, atS, { peak: GUIDE_GAIN, lengthS: TONES.pulseMs / 1000 })
    },
  }
}

interface Tone {
  readonly oscillator: OscillatorNode
  readonly gain: GainNode
}

function toneOf(context: BaseAudioContext, hz: number, destination: AudioNode): Tone {
  const oscillator = new OscillatorNode(context, { frequency: hz })
  const gain = new GainNode(context, { gain: 0 })
  oscillator.connect(gain).connect(destination)
  oscillator.start()
  return { oscillator, gain }
}

/** A triangle with its third harmonic raised. */
function brightWave(context: BaseAudioContext): PeriodicWave {
  const imag = new Float32Array([0, 1, 0, 0.4, 0, 1 / 25, 0, -1 / 49])
  return context.createPeriodicWave(new Float32Array(imag.length), imag)
}

/** Up in 5 ms, down in 12 ms, from nothing to nothing. */
function envelope(gain: AudioParam, atS: number, shape: { peak: number; lengthS: number }): void {
  gain.setValueAtTime(0, atS)
  gain.linearRampToValueAtTime(shape.peak, atS + 0.005)
  gain.setValueAtTime(shape.peak, atS + shape.lengthS - 0.012)
  gain.linearRampToValueAtTime(0, atS + shape.lengthS)
}

interface Note {
  readonly hz: number
  /** Glides there, Hz. */
  readonly toHz?: number
  readonly lengthS: number
  readonly peak?: number
  readonly type?: OscillatorType
}

function playNote(context: BaseAudioContext, destination: AudioNode, note: Note, atS: number): void {
  const { oscillator, gain } = toneLater(context, destination, note, atS)
  if (note.toHz !== undefined) oscillator.frequency.exponentialRampToValueAtTime(note.toHz, atS + note.lengthS)
  envelope(gain.gain, atS, { peak: note.peak ?? GUIDE_GAIN, lengthS: note.lengthS })
}

function toneLater(context: BaseAudioContext, destination: AudioNode, note: Note, atS: number): Tone {
  const oscillator = new OscillatorNode(context, { type: note.type ?? 'sine', frequency: note.hz })
  oscillator.frequency.setValueAtTime(note.hz, atS)
  const gain = new GainNode(context, { gain: 0 })
  oscillator.connect(gain).connect(destination)
  oscillator.start(atS)
  oscillator.stop(atS + note.lengthS + 0.02)
  return { oscillator, gain }
}

/** Each cue as notes with the pause before each, seconds. */
const CUES: Readonly<Record<Cue, readonly (Note & { readonly afterS: number })[]>> = {
  'key now': [0, 0.16].map((afterS) => ({ hz: 220, lengthS: 0.05, afterS })),
  'release key': [880, 660, 440].map((hz, index) => ({ hz, lengthS: 0.13, afterS: index * 0.15, type: 'triangle' })),
  captured: [659, 988].map((hz, index) => ({ hz, lengthS: 0.09, afterS: index * 0.09 })),
  'captured, low': [523, 784].map((hz, index) => ({ hz, lengthS: 0.09, afterS: index * 0.09 })),
  'new best': [{ hz: 1760, lengthS: 0.018, afterS: 0, peak: 0.08 }],
  'passed over': [{ hz: 660, toHz: 440, lengthS: 0.15, afterS: 0 }],
  flat: [0, 0.26].map((afterS) => ({ hz: 247, lengthS: 0.2, afterS, type: 'triangle' })),
  rough: [0, 0.3].map((afterS) => ({ hz: 110, lengthS: 0.18, afterS, type: 'sawtooth', peak: 0.18 })),
  ping: [{ hz: 587, lengthS: 0.12, afterS: 0, peak: 0.12 }],
}

function playCue(context: BaseAudioContext, destination: AudioNode, cue: Cue, atS: number): void {
  for (const note of CUES[cue]) playNote(context, destination, note, atS + note.afterS)
}

const TICKS: Readonly<Record<Tick['kind'], Note>> = {
  settling: { hz: 180, lengthS: 0.03, peak: 0.05, type: 'triangle' },
  closing: { hz: 880, lengthS: 0.02, peak: 0.1 },
  key: { hz: 1480, lengthS: 0.025, peak: 0.16, type: 'square' },
  heartbeat: { hz: 440, lengthS: 0.03, peak: HEARTBEAT_GAIN },
}

function playTick(context: BaseAudioContext, destination: AudioNode, tick: Tick, atS: number): void {
  playNote(context, destination, TICKS[tick.kind], atS)
}

/** Three pulses of three harmonics each: unlike anything that guides. */
function playAlarm(context: BaseAudioContext, destination: AudioNode, atS: number): void {
  for (const pulse of [0, 1, 2])
    for (const [index, hz] of [587, 1174, 1761].entries())
      playNote(context, destination, { hz, lengthS: 0.14, peak: 0.16 / (index + 1) }, atS + pulse * 0.24)
}

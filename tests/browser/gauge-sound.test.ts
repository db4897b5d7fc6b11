import { join } from 'node:path'
import type { Browser, Page } from 'playwright-core'
import { build } from 'vite'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import type { LiveEvent, LiveFrame, LiveState } from '../../src/schema/messages/shown.ts'
import { heardIn, LEVELS, SILENCE } from '../../web/sound/heard.ts'
import type { PlanStep } from '../../web/sound/player.ts'
import { type GuideSound, type Sound, type SoundMemory, soundOf, TONES } from '../../web/sound/sound.ts'
import { frame, keyed, reading, step } from '../web/frame-parts.ts'
import { openBrowser } from './page-kit.ts'

const RATE = 48_000
const ROOT = new URL('../../', import.meta.url).pathname

let browser: Browser
let page: Page

beforeAll(async () => {
  const built = await build({
    configFile: false,
    logLevel: 'error',
    build: {
      write: false,
      minify: false,
      lib: { entry: join(ROOT, 'tests/browser/render-sound.ts'), formats: ['iife'], name: 'sound', fileName: 'sound' },
    },
  })
  const [first] = Array.isArray(built) ? built : []
  const chunk = first?.output[0]
  browser = await openBrowser()
  page = await browser.newPage()
  await page.addScriptTag({ content: `${chunk?.code ?? ''}; globalThis.sound = sound` })
})

afterAll(async () => {
  await browser.close()
})

async function render(plan: readonly PlanStep[], endS: number): Promise<Float32Array> {
  const call = `sound.renderPlan(${JSON.stringify(plan)}, ${endS}, ${RATE})`
  const text: unknown = await page.evaluate(call)
  const bytes = Buffer.from(String(text), 'base64')
  return new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length))
}

const sounds = (parts: Partial<Sound>): Sound => ({ ...SILENCE, ...parts })
const guided = (guide: GuideSound): Sound => sounds({ guide })
const pulses = (side: 'above' | 'below', everyMs: number) =>
  guided({ kind: 'pulses', side, hz: side === 'above' ? TONES.aboveHz : TONES.belowHz, everyMs })
const beat = (e: number) => guided({ kind: 'beat', hz: 523, secondHz: 523 * 2 ** ((0.4 * e) / 12), share: 1 })

/** Loudness in steps of 2 ms: the largest sample of each. */
function envelope(samples: Float32Array): number[] {
  const step = RATE / 500
  const out: number[] = []
  for (let start = 0; start + step <= samples.length; start += step) {
    let most = 0
    for (let at = start; at < start + step; at += 1) most = Math.max(most, Math.abs(samples[at] ?? 0))
    out.push(most)
  }
  return out
}

interface Burst {
  readonly startS: number
  readonly lengthS: number
}

/** Stretches that are louder than 2 % of full scale, gaps under 12 ms closed. */
function bursts(samples: Float32Array): Burst[] {
  const out: { start: number; end: number }[] = []
  for (const [at, loud] of envelope(samples).entries()) {
    if (loud < 0.02) continue
    const last = out.at(-1)
    if (last !== undefined && at - last.end <= 6) last.end = at
    else out.push({ start: at, end: at })
  }
  return out.map(({ start, end }) => ({ startS: start / 500, lengthS: (end - start + 1) / 500 }))
}

function hann(samples: Float32Array): Float32Array {
  const slope = (2 * Math.PI) / samples.length
  return samples.map((sample, at) => sample * (0.5 - 0.5 * Math.cos(slope * at)))
}

/** Power at one frequency by Goertzel's recurrence. */
function goertzel(windowed: Float32Array, hz: number, rate: number): number {
  const turn = 2 * Math.cos((2 * Math.PI * hz) / rate)
  let last = 0
  let before = 0
  for (let at = 0; at < windowed.length; at += 1) {
    const now = (windowed[at] ?? 0) + turn * last - before
    before = last
    last = now
  }
  return (last * last + before * before - turn * last * before) / windowed.length ** 2
}

const powerAt = (samples: Float32Array, hz: number) => goertzel(hann(samples), hz, RATE)

/** The frequency with the most power between two others. */
function loudestHz(
  samples: Float32Array,
  range: { fromHz: number; toHz: number; stepHz: number },
  rate = RATE,
): number {
  const windowed = hann(samples)
  let best = { hz: range.fromHz, power: -1 }
  for (let hz = range.fromHz; hz <= range.toHz; hz += range.stepHz) {
    const power = goertzel(windowed, hz, rate)
    if (power > best.power) best = { hz, power }
  }
  return best.hz
}

/** Mean power in steps of 2 ms: its slow change is the beat. */
function slowPower(samples: Float32Array): Float32Array {
  const step = RATE / 500
  return Float32Array.from({ length: Math.floor(samples.length / step) }, (_, at) => {
    let sum = 0
    for (let one = at * step; one < (at + 1) * step; one += 1) sum += (samples[one] ?? 0) ** 2
    return sum / step
  })
}

/** Pitch from upward zero crossings. */
function pitchHz(samples: Float32Array): number {
  const crossings: number[] = []
  for (let at = 1; at < samples.length; at += 1) {
    const before = samples[at - 1] ?? 0
    const now = samples[at] ?? 0
    if (before < 0 && now >= 0) crossings.push(at - now / (now - before))
  }
  const first = crossings[0] ?? 0
  const last = crossings.at(-1) ?? 0
  return ((crossings.length - 1) * RATE) / (last - first)
}

const cut = (samples: Float32Array, fromS: number, toS: number) => samples.subarray(fromS * RATE, toS * RATE)

/** Largest step from one sample to the next: a click is a step that no tone makes. */
function largestStep(samples: Float32Array): number {
  let most = 0
  for (let at = 1; at < samples.length; at += 1)
    most = Math.max(most, Math.abs((samples[at] ?? 0) - (samples[at - 1] ?? 0)))
  return most
}

describe('pulses', () => {
  test.each([
    ['above', 170, 740],
    ['above', 515, 740],
    ['below', 296, 330],
    ['below', 900, 330],
  ] as const)('%s the band every %i ms at %i Hz, 60 ms long', async (side, everyMs, hz) => {
    const samples = await render([{ atS: 0.1, sound: pulses(side, everyMs) }], 3.3)
    const heard = bursts(samples)
    expect(heard).toHaveLength(Math.ceil(3200 / everyMs))
    for (const [index, burst] of heard.entries()) {
      expect(burst.startS).toBeCloseTo(0.1 + (index * everyMs) / 1000, 1.9)
      expect(burst.lengthS).toBeGreaterThan(0.05)
      expect(burst.lengthS).toBeLessThan(0.075)
    }
    const from = 0.1 + everyMs / 1000
    expect(pitchHz(cut(samples, from + 0.006, from + 0.047))).toBeCloseTo(hz, -1.3)
  })

  test('the two sides differ in colour: above the third harmonic stands at -8 dB, below the fifth is under -25 dB', async () => {
    const harmonic = async (side: 'above' | 'below', hz: number, times: number) => {
      const pulse = cut(await render([{ atS: 0, sound: pulses(side, 500) }], 0.1), 0.005, 0.055)
      return 10 * Math.log10(powerAt(pulse, times * hz) / powerAt(pulse, hz))
    }
    expect(await harmonic('above', 740, 3)).toBeCloseTo(-8, 0)
    expect(await harmonic('below', 330, 5)).toBeLessThan(-25)
    expect(await harmonic('below', 330, 3)).toBeGreaterThan(-20)
  })

  test('quicken on the way in without losing or doubling one', async () => {
    const plan = [900, 515, 296, 170].map((everyMs, index) => ({ atS: index, sound: pulses('above', everyMs) }))
    const starts = bursts(await render(plan, 4)).map(({ startS }) => startS)
    const gaps = starts.slice(1).map((startS, index) => startS - (starts[index] ?? 0))
    expect(Math.min(...gaps)).toBeGreaterThan(0.165)
    expect(Math.max(...gaps)).toBeLessThan(0.905)
    expect(gaps.at(-1)).toBeCloseTo(0.17, 1.9)
  })

  test('a change of side sounds within 60 ms', async () => {
    const samples = await render(
      [
        { atS: 0, sound: pulses('above', 900) },
        { atS: 0.4, sound: pulses('below', 900) },
      ],
      0.6,
    )
    const second = bursts(samples)[1]
    expect(second?.startS).toBeGreaterThanOrEqual(0.398)
    expect(second?.startS).toBeLessThan(0.46)
  })
})

describe('the beat inside the band', () => {
  test.each([
    [0.98, 12],
    [0.5, 6],
    [0.25, 3],
  ])('at e = %f beats %i times a second, and the louder tone is at 523 Hz', async (e, beats) => {
    const samples = cut(await render([{ atS: 0, sound: beat(e) }], 4.5), 0.5, 4.5)
    const slow = loudestHz(slowPower(samples), { fromHz: 1, toHz: 20, stepHz: 0.1 }, 500)
    expect(Math.abs(slow - 523 * (2 ** ((0.4 * e) / 12) - 1))).toBeLessThan(0.15)
    expect(Math.round(slow)).toBe(beats)
    expect(Math.abs(loudestHz(samples, { fromHz: 515, toHz: 524, stepHz: 0.25 }) - 523)).toBeLessThanOrEqual(0.5)
  })

  test('at the aim it does not beat: loudness stays within 1 %', async () => {
    const loud = envelope(cut(await render([{ atS: 0, sound: beat(0) }], 3), 1, 3))
    expect((Math.max(...loud) - Math.min(...loud)) / Math.max(...loud)).toBeLessThan(0.01)
  })

  test('each tone stands at -12 dB', async () => {
    const loud = envelope(cut(await render([{ atS: 0, sound: beat(0.5) }], 3), 1, 3))
    expect(20 * Math.log10(Math.max(...loud) / 2)).toBeCloseTo(-12, 0)
  })

  test('faded to nothing it is silent after 0.3 s', async () => {
    const gone = guided({ kind: 'beat', hz: 523, secondHz: 523, share: 0 })
    const samples = await render(
      [
        { atS: 0, sound: beat(0.1) },
        { atS: 1, sound: gone },
      ],
      2,
    )
    expect(Math.max(...envelope(cut(samples, 1.3, 2)))).toBeLessThan(0.001)
  })
})

describe('the tone of a peak', () => {
  test.each([330, 466.16, 1320])('%f Hz is heard as such, alone on the first climb', async (hz) => {
    const samples = cut(
      await render([{ atS: 0, sound: guided({ kind: 'tone', hz, referenceHz: null }) }], 1.5),
      0.5,
      1.5,
    )
    expect(pitchHz(samples)).toBeCloseTo(hz, 0)
  })

  test('the reference stands at 660 Hz, 6 dB under the tone', async () => {
    const tone = guided({ kind: 'tone', hz: 600, referenceHz: 660 })
    const samples = cut(await render([{ atS: 0, sound: tone }], 2.5), 0.5, 2.5)
    expect(10 * Math.log10(powerAt(samples, 600) / powerAt(samples, 660))).toBeCloseTo(6, 0)
  })

  test('at the best both are one: no beat', async () => {
    const tone = guided({ kind: 'tone', hz: 660, referenceHz: 660 })
    const loud = envelope(cut(await render([{ atS: 0, sound: tone }], 3), 1, 3))
    expect((Math.max(...loud) - Math.min(...loud)) / Math.max(...loud)).toBeLessThan(0.02)
  })

  test('a new pitch glides there: half of the way after 25 ms, all of it after 200 ms', async () => {
    const tone = (hz: number) => guided({ kind: 'tone', hz, referenceHz: null })
    const samples = await render(
      [
        { atS: 0, sound: tone(400) },
        { atS: 0.5, sound: tone(800) },
      ],
      1,
    )
    expect(pitchHz(cut(samples, 0.3, 0.5))).toBeCloseTo(400, -0.5)
    expect(pitchHz(cut(samples, 0.7, 1))).toBeCloseTo(800, -0.5)
  })
})

describe('sounds that come once', () => {
  const cue = async (name: Sound['once'][number]) => render([{ atS: 0.1, sound: sounds({ once: [name] }) }], 1.2)

  test('captured: 659 Hz, then 988 Hz, 90 ms each', async () => {
    const samples = await cue('captured')
    expect(pitchHz(cut(samples, 0.11, 0.175))).toBeCloseTo(659, -1)
    expect(pitchHz(cut(samples, 0.2, 0.265))).toBeCloseTo(988, -1)
    expect(Math.max(...envelope(cut(samples, 0.3, 1.2)))).toBeLessThan(0.001)
  })

  test('passed over: one chirp that falls from 660 to 440 Hz in 150 ms', async () => {
    const samples = await cue('passed over')
    expect(bursts(samples)).toHaveLength(1)
    expect(bursts(samples)[0]?.lengthS).toBeCloseTo(0.15, 1.5)
    expect(pitchHz(cut(samples, 0.105, 0.13))).toBeGreaterThan(600)
    expect(pitchHz(cut(samples, 0.22, 0.245))).toBeLessThan(480)
  })

  test.each([
    ['rough', 2],
    ['flat', 2],
    ['key now', 2],
    ['new best', 1],
    ['release key', 3],
  ] as const)('%s has %i parts and then nothing', async (name, parts) => {
    expect(bursts(await cue(name))).toHaveLength(parts)
  })

  test('the key falls in three notes', async () => {
    const samples = await cue('release key')
    const pitches = [0.12, 0.27, 0.42].map((atS) => pitchHz(cut(samples, atS, atS + 0.09)))
    expect(pitches.map((hz) => Math.round(hz / 20) * 20)).toEqual([880, 660, 440])
  })
})

describe('ticks and alarm', () => {
  test.each([
    ['key', 1000, 4],
    ['key', 250, 16],
    ['closing', 500, 8],
    ['heartbeat', 2000, 2],
  ] as const)('%s every %i ms: %i in 4 s, though frames come 20 times a second', async (kind, everyMs, count) => {
    const sound = sounds({ ticks: [{ kind, everyMs }] })
    const plan = Array.from({ length: 80 }, (_, index) => ({ atS: index * 0.05, sound }))
    expect(bursts(await render(plan, 4))).toHaveLength(count)
  })

  test('the heartbeat is at -24 dB', async () => {
    const samples = await render([{ atS: 0, sound: sounds({ ticks: [{ kind: 'heartbeat', everyMs: 2000 }] }) }], 1)
    expect(20 * Math.log10(Math.max(...envelope(samples)))).toBeCloseTo(-24, -0.5)
  })

  test('the alarm is pulses in groups of three with three harmonics', async () => {
    const samples = await render([{ atS: 0, sound: sounds({ alarm: true }) }], 3)
    const starts = bursts(samples).map(({ startS }) => startS)
    expect(starts).toHaveLength(6)
    expect((starts[3] ?? 0) - (starts[2] ?? 0)).toBeGreaterThan(1)
    const pulse = cut(samples, 0.01, 0.12)
    const levels = [587, 1174, 1761].map((hz) => 10 * Math.log10(powerAt(pulse, hz) / powerAt(pulse, 587)))
    expect(Math.min(...levels)).toBeGreaterThan(-12)
  })
})

test('nothing clicks: no step between samples is larger than the tones themselves make', async () => {
  const tone = (hz: number, referenceHz: number | null) => guided({ kind: 'tone', hz, referenceHz })
  const plan = [
    beat(0.9),
    SILENCE,
    beat(0.1),
    tone(330, null),
    tone(1320, null),
    tone(600, 660),
    SILENCE,
    beat(0.4),
  ].map((sound, index) => ({ atS: index * 0.137, sound }))
  const samples = await render(plan, 1.2)
  const steepest = 0.25 * ((2 * Math.PI * 1320) / RATE) + 0.25 * ((2 * Math.PI * 660) / RATE)
  expect(largestStep(samples)).toBeLessThan(steepest)
  expect(Math.max(...envelope(samples))).toBeGreaterThan(0.2)
})

/** A step that goes through everything that can sound, as frames 0.25 s apart. */
function loudStep(sounds: 'on' | 'off'): LiveFrame[] {
  const states: LiveState[] = ['far', 'near', 'in', 'steady', 'highest', 'captured', 'over range', 'old', 'stopped']
  const event = (seq: number, what: LiveEvent['what']): LiveEvent => ({ seq, what, words: '' })
  return states.map((state, index) =>
    frame({
      state,
      step: step({ sounds }),
      peg: { e: 4 - index, halfE: 0.2, ragged: 0, drop: 0 },
      key: keyed(14.5),
      reading: reading({ arrivedMs: 100_000 + index * 250 }),
      events: [event(index * 2 + 1, 'captured'), event(index * 2 + 2, 'release key')],
    }),
  )
}

/** What is heard of it, planned as the page plans it. */
function planOf(frames: readonly LiveFrame[], ears: Parameters<typeof heardIn>[2]): PlanStep[] {
  let memory: SoundMemory | null = null
  return frames.map((shown, index) => {
    const next = soundOf(shown, memory, 100_000 + index * 250)
    memory = next.memory
    return { atS: index * 0.25, sound: heardIn(shown, next.sound, ears) }
  })
}

describe('a step with the microphone of the set in', () => {
  test.each(LEVELS)('at level %s not one sample is other than nothing, headphones or not', async (level) => {
    for (const headphones of [true, false]) {
      const samples = await render(planOf(loudStep('off'), { level, headphones }), 4)
      expect(samples).toHaveLength(4 * RATE)
      expect(samples.every((sample) => sample === 0)).toBe(true)
    }
  })

  test('the same frames sound in a step that says nothing of a microphone', async () => {
    const samples = await render(planOf(loudStep('on'), { level: 'all', headphones: false }), 4)
    expect(Math.max(...envelope(samples))).toBeGreaterThan(0.2)
  })

  test('what sounded before has died away 0.4 s after such a step begins', async () => {
    const before = planOf(loudStep('on').slice(0, 3), { level: 'all', headphones: true })
    const after = planOf(loudStep('off'), { level: 'all', headphones: true })
    const plan = [...before, ...after.map(({ atS, sound }) => ({ atS: atS + 0.75, sound }))]
    const samples = await render(plan, 3)
    expect(Math.max(...envelope(cut(samples, 0, 0.7)))).toBeGreaterThan(0.1)
    expect(Math.max(...envelope(cut(samples, 1.15, 3)))).toBeLessThan(1e-4)
  })
})

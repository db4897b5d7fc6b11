import type { Rng } from '../../src/system/rng.ts'
import type { WireFault } from './wire.ts'

/** The processes of a bench. */
export type ProcessName = 'service' | 'keeper' | 'standby'

/** What happens to a bench from outside. `press` is whatever the page offers to go on with: ready, confirm, go on, next. */
export type Happening =
  | { readonly what: 'press' | 'stop' | 'hide' | 'show' }
  | { readonly what: 'open'; readonly step: string }
  | { readonly what: 'key'; readonly down: boolean }
  | { readonly what: 'channel'; readonly channel: number }
  | { readonly what: 'freeze'; readonly who: ProcessName; readonly ms: number }
  | { readonly what: 'kill'; readonly who: ProcessName }
  | { readonly what: 'link'; readonly fault: WireFault; readonly ms: number }
  | { readonly what: 'meter'; readonly name: 'volts' | 'power'; readonly ms: number }
  | { readonly what: 'slow oscillator'; readonly ms: number }
  | { readonly what: 'slow journal'; readonly ms: number }

/** `atMs` is bench time since the job was begun. */
export type Event = Happening & { readonly atMs: number }

export const STEPS = ['high-receive', 'high-power', 'high-tone', 'normal-receive'] as const

/** How long messages are under way in this run, ms at most. */
export const PACES = [0, 5, 40, 150] as const

/** What may happen: which processes there are to freeze and to kill. */
export interface Odds {
  readonly processes: readonly ProcessName[]
}

/** Everything that happens in the run of this seed, in order: a step is opened and begun, and then chance has it. */
export function eventsOf(rng: Rng, odds: Odds): readonly Event[] {
  const events: Event[] = []
  let atMs = 50
  const add = (happening: Happening) => events.push({ ...happening, atMs: Math.round(atMs) })
  const step = oneOf(rng, WEIGHED_STEPS)
  add({ what: 'open', step })
  if (rng() < 0.3) {
    atMs += 20
    add({ what: 'slow oscillator', ms: 20 + Math.round(100 * rng()) })
  }
  atMs += 50 + 200 * rng()
  add({ what: 'press' })
  const more = 1 + Math.floor(rng() * 5)
  let killed = false
  for (let count = 0; count < more; count += 1) {
    atMs += count === 0 ? firstGapMs(rng) : gapMs(rng)
    const next = happening(rng, odds, step, killed)
    if (next.what === 'kill') killed = true
    add(next)
    if (next.what === 'hide' && rng() < 0.6) {
      atMs += gapMs(rng)
      add({ what: 'show' })
    }
    if (next.what === 'stop' && rng() < 0.4) {
      atMs += gapMs(rng)
      add({ what: 'press' })
      atMs += 200 + gapMs(rng)
      add({ what: 'press' })
    }
    if (next.what === 'channel') {
      atMs += gapMs(rng)
      add({ what: 'press' })
    }
    if (next.what === 'key' && next.down && rng() < 0.7) {
      atMs += gapMs(rng)
      add({ what: 'key', down: false })
    }
  }
  return events.filter((event) => event.atMs < LONGEST_MS)
}

/** No run goes on with new events for longer, ms. */
const LONGEST_MS = 18_000
const WEIGHED_STEPS = [
  'high-receive',
  'high-receive',
  'high-power',
  'high-power',
  'high-tone',
  'normal-receive',
] as const

/** From Ready to the first that happens: while the output comes on (2.4 s), while it rises (2 s), or once it is up. */
function firstGapMs(rng: Rng): number {
  const kind = rng()
  if (kind < 0.35) return 50 + 2350 * rng()
  if (kind < 0.6) return 2400 + 2000 * rng()
  return kind < 0.85 ? 4400 + 2500 * rng() : gapMs(rng)
}

/** Mostly close together, where races are; now and then after things have come to rest. */
function gapMs(rng: Rng): number {
  const kind = rng()
  if (kind < 0.2) return 50 * rng()
  if (kind < 0.5) return 50 + 350 * rng()
  if (kind < 0.75) return 400 + 1200 * rng()
  if (kind < 0.93) return 1600 + 2600 * rng()
  return 4000 + 5000 * rng()
}

function happening(rng: Rng, { processes }: Odds, step: string, killed: boolean): Happening {
  const kinds: readonly (readonly [number, () => Happening])[] = [
    [16, () => ({ what: 'hide' })],
    [
      10,
      () => ({
        what: 'open',
        step: oneOf(
          rng,
          STEPS.filter((other) => other !== step),
        ),
      }),
    ],
    [14, () => ({ what: 'stop' })],
    [9, () => ({ what: 'press' })],
    [8, () => ({ what: 'key', down: true })],
    [4, () => ({ what: 'channel', channel: rng() < 0.7 ? 40 : 20 })],
    [14, () => ({ what: 'freeze', who: oneOf(rng, processes), ms: freezeMs(rng) })],
    [killed ? 0 : 5, () => ({ what: 'kill', who: oneOf(rng, processes) })],
    [10, () => ({ what: 'link', fault: wireFault(rng), ms: Math.round((rng() < 0.85 ? 200 : 3000) + 2800 * rng()) })],
    [
      6,
      () => ({ what: 'meter', name: step === 'high-receive' ? 'volts' : 'power', ms: Math.round(200 + 4000 * rng()) }),
    ],
    [3, () => ({ what: 'slow oscillator', ms: 20 + Math.round(130 * rng()) })],
    [3, () => ({ what: 'slow journal', ms: Math.round(2000 * rng()) })],
  ]
  const sum = kinds.reduce((all, [weight]) => all + weight, 0)
  let left = rng() * sum
  for (const [weight, make] of kinds) {
    left -= weight
    if (left < 0) return make()
  }
  return { what: 'press' }
}

function freezeMs(rng: Rng): number {
  const kind = rng()
  if (kind < 0.5) return Math.round(200 + 1000 * rng())
  return Math.round(kind < 0.85 ? 1200 + 2800 * rng() : 4000 + 3000 * rng())
}

function wireFault(rng: Rng): WireFault {
  const kind = oneOf(rng, ['cut', 'stall', 'mute', 'twice', 'garble', 'late'] as const)
  return kind === 'late' ? { kind, ms: oneOf(rng, [100, 300, 1000]) } : { kind }
}

/** One of them by chance; none may be missing. */
export function oneOf<T>(rng: Rng, all: readonly T[]): T {
  const one = all[Math.floor(rng() * all.length)]
  if (one === undefined) throw new TypeError('one of none')
  return one
}

/** An event in words: "1.250 s page hidden". */
export function inWords(event: Event): string {
  return `${(event.atMs / 1000).toFixed(3)} s  ${wordsOf(event)}`
}

function wordsOf(event: Happening): string {
  switch (event.what) {
    case 'press':
      return 'the page is pressed: what it offers to go on with'
    case 'stop':
      return 'STOP'
    case 'hide':
      return 'page hidden'
    case 'show':
      return 'page back'
    case 'open':
      return `step ${event.step} opened`
    case 'key':
      return event.down ? 'key down' : 'key released'
    case 'channel':
      return `radio to channel ${event.channel}`
    case 'freeze':
      return `${event.who} frozen for ${event.ms} ms`
    case 'kill':
      return `${event.who} killed`
    case 'link':
      return `supply link: ${event.fault.kind}${event.fault.kind === 'late' ? ` by ${event.fault.ms} ms` : ''} for ${event.ms} ms`
    case 'meter':
      return `meter ${event.name} lost for ${event.ms} ms`
    case 'slow oscillator':
      return `oscillator slower by ${event.ms} ms each way`
    case 'slow journal':
      return `journal takes ${event.ms} ms`
    default:
      return event satisfies never
  }
}

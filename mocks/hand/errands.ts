import type { FromPage, LiveFrame, PlaceOfStep } from '../../src/schema/messages/shown.ts'
import type { Rng } from '../../src/system/rng.ts'
import { type Adjuster, isAdjuster } from '../plant/adjusters.ts'
import type { SimulatedSet } from '../plant/simulated-set.ts'
import type { Seen } from './sight.ts'
import { draw, type Skill, type Span } from './skill.ts'

/** Things to do one after the other, each at its time; given up when something else is shown. */
export interface Errands {
  /** Runs what is due; true when all is done. */
  tick(nowMs: number): boolean
  readonly fromMs: number
}

/** `acts` spread over `lastMs` from `nowMs`, with the last one at the end. */
export function errandsOf(acts: readonly (() => void)[], nowMs: number, lastMs: number): Errands {
  const todo = acts.map((act, at) => ({ act, dueMs: nowMs + (lastMs * (at + 1)) / acts.length }))
  return {
    fromMs: nowMs,
    tick: (now) => {
      for (let next = todo[0]; next && next.dueMs <= now; next = todo[0]) {
        todo.shift()
        next.act()
      }
      return todo.length === 0
    },
  }
}

/** A request of the hand's, before it has its id. */
export type Ask = FromPage extends infer Message
  ? Message extends { readonly id: string }
    ? Omit<Message, 'id'>
    : never
  : never

/** Runs errands for what is shown now, once; again when the service does not answer to it for a while. */
export class ErrandRunner {
  readonly #rng: Rng
  readonly #ask: (message: Ask) => void
  readonly #times: (readonly [number, number])[] = []
  #errands: Errands | null = null

  constructor(rng: Rng, ask: (message: Ask) => void) {
    this.#rng = rng
    this.#ask = ask
  }

  /** There is something to do for what is shown, or it is done and not answered yet. */
  get underWay(): boolean {
    return this.#errands !== null
  }

  /** From when to when errands were run, ms. */
  get times(): readonly (readonly [number, number])[] {
    return this.#times
  }

  /** Something else is shown: what was still to be done is given up. */
  drop(): void {
    this.#errands = null
  }

  /** Called for as long as the same is shown; `make` is asked when there is nothing under way. */
  run(make: (fromMs: number) => Errands, nowMs: number): void {
    if (!this.#errands) this.#errands = make(nowMs)
    else if (this.#errands.tick(nowMs)) {
      const { fromMs } = this.#errands
      if (this.#times.at(-1)?.[0] !== fromMs) this.#times.push([fromMs, nowMs])
      if (nowMs - fromMs > AGAIN_MS) this.#errands = null
    }
  }

  /** `acts` one after the other, the last of them `after` it was shown. */
  runWithin(after: Span, acts: readonly (() => void)[], nowMs: number): void {
    this.run((fromMs) => errandsOf(acts, fromMs, draw(after, this.#rng)), nowMs)
  }

  /** Asks, a while after it is shown, if it is offered. */
  askAfter(after: Span, kind: 'confirm' | 'go on' | 'next' | 'keep' | 'again', { frame, nowMs }: Seen): void {
    if (frame.offers.includes(kind)) this.runWithin(after, [() => this.#ask({ kind })], nowMs)
  }
}

/** An unanswered request is made again after this long. */
const AGAIN_MS = 12_000

/** Reading a step and making the set ready for it: leads, channel, mode, microphone; then `ready`. */
export function readStep(
  frame: LiveFrame,
  set: SimulatedSet,
  skill: Skill,
  rng: Rng,
  nowMs: number,
  ready: () => void,
): Errands {
  const { step } = frame
  const acts: (() => void)[] = [() => {}]
  if (step) {
    for (const place of step.where) {
      const act = placing(place, set)
      if (act) acts.push(act)
    }
    const { channelWanted } = step
    if (channelWanted !== null) acts.push(() => set.channel(channelWanted))
    acts.push(() => set.mode(step.mode === 'AM' ? 'AM' : 'FM'))
    acts.push(() => set.microphone(step.tone !== '' ? 'oscillator' : saysOwnMicrophone(step.where) ? 'own' : 'nothing'))
  }
  acts.push(ready)
  return errandsOf(acts, nowMs, draw(skill.readStepMs, rng))
}

/** A place that is named in words only is one that this set does not have: the lead comes off. */
function placing({ what, is, name, words }: PlaceOfStep, set: SimulatedSet): (() => void) | null {
  if (what === 'prod') {
    if (is === 'board' && name === 'T1') return () => set.prod('T1')
    return is === 'plug' ? () => set.prod('plug') : () => set.prod('off')
  }
  if (what !== 'common') return null
  if (is === 'strip') return () => set.common('strip')
  return words === 'case' ? () => set.common('case') : () => set.common('off')
}

/** The step is spoken into the set's own microphone. */
export function saysOwnMicrophone(where: readonly PlaceOfStep[]): boolean {
  return where.some(({ what, is }) => what === 'microphone' && is === 'own')
}

/** What an action names: an adjuster to be turned to its end; null where it is something else. */
export function actionOf(before: string): { readonly adjuster: Adjuster; readonly end: 1 | -1 } | null {
  const label = before.split(/[^A-Za-z0-9]+/).find(isAdjuster)
  const found = /fully\s+(open|closed|clockwise|anticlockwise|up|down)/i.exec(before)
  if (label === undefined || !found) return null
  return { adjuster: label, end: /closed|anticlockwise|down/i.test(found[1] ?? '') ? -1 : 1 }
}

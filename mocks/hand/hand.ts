import type { FromPage, LiveFrame } from '../../src/schema/messages/shown.ts'
import { type Clock, sleep } from '../../src/system/clock.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { Displays } from '../instruments/displays.ts'
import type { Adjuster } from '../plant/adjusters.ts'
import type { SimulatedSet } from '../plant/simulated-set.ts'
import { act, type Parts } from './behaviour.ts'
import { ChannelKnob, knowingChannel } from './channel-knob.ts'
import { type Ask, ErrandRunner } from './errands.ts'
import { Grip } from './grip.ts'
import { createPeakTurning } from './peak-turning.ts'
import { createSecondTry } from './second-try.ts'
import { createSetTo } from './set-to.ts'
import { createSight } from './sight.ts'
import { type Skill, TECHNICIAN } from './skill.ts'
import { createTool } from './tool.ts'
import { Turning } from './turning.ts'
import { type Answer, TypedMeter } from './typed-meter.ts'

export interface HandSetting {
  readonly set: SimulatedSet
  readonly clock: Clock
  readonly rng: Rng
  /** Where requests go: to the service, as a page's would. */
  readonly request: (message: FromPage) => void
  /** Ends the hand: tool out, key up. */
  readonly signal: AbortSignal
  readonly skill?: Partial<Skill>
  /** Meters without a socket, as the hand can read them. */
  readonly displays?: Displays
  /** The set has been on for long, and the hand says so where the gauge lets it. */
  readonly knowsItIsWarm?: boolean
}

/** The simulated technician. It sees live frames and nothing else; it acts on the simulated set and by requests. */
export interface Hand {
  onFrame(frame: LiveFrame): void
  /** What the service said to a request of this hand; it need not be told of every one. */
  onAnswer(answer: Answer): void
  /** The gauge is gone: tool out, key up, until the next frame. */
  onDark(): void
  /** When the hand itself was acting (reacting, placing leads, turning), bench ms, in order, not overlapping. */
  busyMs(): readonly (readonly [number, number])[]
  /** Turned so far, both ways added: turns, or shares of 270 degrees for presets. */
  readonly turned: Readonly<Partial<Record<Adjuster, number>>>
}

/** A hand at rest that starts with the first frame. */
export function createHand(setting: HandSetting): Hand {
  const { clock, rng, signal } = setting
  const skill: Skill = { ...TECHNICIAN, ...setting.skill }
  const sight = createSight(rng, skill.reactionMs)
  const parts = partsOf(setting, skill, () => sight.serviceMs(clock.nowMs()))
  const { grip, errands, typedMeter } = parts
  const { tool } = grip
  let dark = true
  let shown = ''
  let sinceMs = 0

  const tick = (nowMs: number) => {
    const frame = dark ? null : sight.seen(nowMs)
    tool.tick(nowMs)
    if (!frame) return
    const now = whatIsShown(frame)
    if (now !== shown) {
      shown = now
      sinceMs = nowMs
      errands.drop()
      if (frame.state === 'action') grip.forgetMove()
      if (frame.state !== 'highest') grip.whistle(false)
    }
    act(parts, { frame, nowMs, serviceMs: sight.serviceMs(nowMs), sinceMs })
  }

  const live = async () => {
    for (;;) {
      await sleep(clock, tool.busy() ? TURNING_TICK_MS : TICK_MS, signal)
      tick(clock.nowMs())
    }
  }
  live().catch((reason: unknown) => {
    grip.rest()
    if (!signal.aborted) throw reason
  })

  return {
    turned: tool.turned,
    onFrame: (frame) => {
      dark = false
      sight.show(frame, clock.nowMs())
    },
    onAnswer: (answer) => typedMeter.answered(answer),
    onDark: () => {
      dark = true
      grip.rest()
    },
    busyMs: () => joined([...sight.reactions, ...tool.busyTimes, ...errands.times]),
  }
}

/** The parts of a technician at rest; `serviceMs` is the service's clock now, as the technician sees it. */
function partsOf(setting: HandSetting, skill: Skill, serviceMs: () => number): Parts {
  const { rng, displays = () => ({}), knowsItIsWarm = false } = setting
  const { moveError } = skill
  const { set, known } = knowingChannel(setting.set)
  let asked = 0
  const ask = (message: Ask) => {
    asked += 1
    const id = `hand-${asked}`
    setting.request({ ...message, id })
    return id
  }
  const tool = createTool(set, skill, rng)
  const setTo = createSetTo(tool, rng, moveError)
  const grip = new Grip(set, tool, setTo, serviceMs)
  const errands = new ErrandRunner(rng, ask)
  return {
    set,
    skill,
    rng,
    grip,
    turning: new Turning(grip, setTo, createPeakTurning(tool, rng, moveError)),
    channelKnob: new ChannelKnob(set, known, grip, errands),
    typedMeter: new TypedMeter({ grip, rng, moveError, displays, ask }),
    errands,
    secondTry: createSecondTry(),
    knowsItIsWarm,
    ask,
  }
}

/** Two frames of which this differs call for another behaviour, or for the same from its beginning. */
function whatIsShown({ state, step, guide }: LiveFrame): string {
  const { id = '', adjuster = '', transmit = '', pass = '' } = step ?? {}
  return `${state} ${id} ${adjuster} ${transmit} ${pass} ${step?.stop?.number ?? ''} ${state === 'action' ? guide.words : ''}`
}

function joined(times: readonly (readonly [number, number])[]): readonly (readonly [number, number])[] {
  const whole: [number, number][] = []
  for (const [from, to] of times.toSorted((a, b) => a[0] - b[0])) {
    const last = whole.at(-1)
    if (last && from <= last[1]) last[1] = Math.max(last[1], to)
    else whole.push([from, to])
  }
  return whole
}

/** How often the hand looks and moves, ms. */
const TICK_MS = 100
const TURNING_TICK_MS = 40

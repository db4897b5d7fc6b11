import type { FromPage, LiveFrame, LiveState } from '../../src/schema/messages/live-frame.ts'
import { type Clock, sleep } from '../../src/system/clock.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { Displays } from '../instruments/displays.ts'
import { type Adjuster, isAdjuster } from '../plant/adjusters.ts'
import type { SimulatedSet } from '../plant/simulated-set.ts'
import { actionOf, type Errands, errandsOf, readStep, saysOwnMicrophone } from './errands.ts'
import { knowingChannel } from './known-channel.ts'
import { handActs, settingsActs } from './paperwork.ts'
import { createPeakTurning } from './peak-turning.ts'
import { createSecondTry } from './second-try.ts'
import { createSetTo } from './set-to.ts'
import { createSight } from './sight.ts'
import { draw, type Skill, type Span, TECHNICIAN } from './skill.ts'
import { isAsWanted, isStepOver, mayTurn } from './step-seen.ts'
import { createTool } from './tool.ts'
import { type Answer, createTypedMeter } from './typed-meter.ts'

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
  const { set, known: knownChannel } = knowingChannel(setting.set)
  const skill: Skill = { ...TECHNICIAN, ...setting.skill }
  const sight = createSight(rng, skill.reactionMs)
  const tool = createTool(set, skill, rng)
  const setTo = createSetTo(tool, rng, skill.moveError)
  const peak = createPeakTurning(tool, rng, skill.moveError)
  const secondTry = createSecondTry()
  const errandTimes: (readonly [number, number])[] = []
  let dark = true
  let keyDown = false
  let asked = 0
  let shown = ''
  let shownSinceMs = 0
  let errands: Errands | null = null
  let moving = false
  let tries = 0
  let triedStep = ''
  let whistling = false
  /** The gauge said "wrong channel" and the right one is not set yet; kept while the key comes up. */
  let channelToSet: number | null = null

  const ask = (message: Ask) => {
    asked += 1
    const id = `hand-${asked}`
    setting.request({ ...message, id })
    return id
  }
  const whistle = (on: boolean) => {
    whistling = on
    set.whistle(on)
  }
  const afresh = () => setTo.lookAfresh(sight.serviceMs(clock.nowMs()))
  const key = (down: boolean) => {
    if (down === keyDown) return
    keyDown = down
    set.key(down)
    if (!down && whistling) whistle(false)
    afresh()
  }
  /** What was under way is given up; the next move waits for readings from now on. */
  const still = () => {
    if (moving && tool.busy()) afresh()
    else if (moving) setTo.made(sight.serviceMs(clock.nowMs()))
    tool.stop()
    moving = false
  }
  const off = () => {
    still()
    tool.out()
  }

  /** Runs errands for what is shown now, once; again when the service does not answer to it for a while. */
  const doOnce = (make: (nowMs: number) => Errands, againAfterMs: number, nowMs: number) => {
    if (!errands) errands = make(nowMs)
    else if (errands.tick(nowMs)) {
      if (errandTimes.at(-1)?.[0] !== errands.fromMs) errandTimes.push([errands.fromMs, nowMs])
      if (nowMs - errands.fromMs > againAfterMs) errands = null
    }
  }
  /** Asks, a while after it is shown, if it is offered. */
  const askLater = (
    frame: LiveFrame,
    kind: 'confirm' | 'go on' | 'next' | 'keep' | 'again',
    after: Span,
    nowMs: number,
  ) => {
    if (frame.offers.includes(kind))
      doOnce((from) => errandsOf([() => ask({ kind })], from, draw(after, rng)), AGAIN_MS, nowMs)
  }

  const readIt = (frame: LiveFrame, nowMs: number) => {
    const { step, because } = frame
    secondTry.see(frame)
    const again = secondTry.due(frame)
    if (again !== '') {
      const open = () => {
        secondTry.asked(frame)
        ask({ kind: 'open step', step: again })
      }
      doOnce((from) => errandsOf([open], from, draw(skill.readStepMs, rng)), AGAIN_MS, nowMs)
    } else if (setting.knowsItIsWarm && step?.technique === 'wait') askLater(frame, 'confirm', skill.readStepMs, nowMs)
    else if (because !== '' && step) {
      const leave = () => ask({ kind: 'leave out', step: step.id, reason: because.slice(0, 200) })
      doOnce((from) => errandsOf([leave], from, draw(skill.readStepMs, rng)), AGAIN_MS, nowMs)
    } else {
      doOnce((from) => readStep(frame, set, skill, rng, from, () => ask({ kind: 'ready' })), AGAIN_MS, nowMs)
    }
  }

  const action = (frame: LiveFrame, nowMs: number) => {
    const named = mayTurn(frame) ? actionOf(frame.guide.words) : null
    if (named && !errands && !moving) {
      tool.turn(named.adjuster, named.end * WHOLE_TRAVEL)
      moving = true
    }
    if (tool.busy()) return
    if (!errands) tool.out()
    if (!frame.offers.includes('confirm')) return
    const acts = [...handActs(frame.guide.words, set), () => ask({ kind: 'confirm' })]
    doOnce((from) => errandsOf(acts, from, draw(skill.changeToolMs, rng)), AGAIN_MS, nowMs)
  }

  const turnTo = (frame: LiveFrame, adjuster: Adjuster, nowMs: number) => {
    if (tool.busy()) return
    if (moving) {
      moving = false
      setTo.made(sight.serviceMs(nowMs))
    }
    const amount = setTo.next(frame, adjuster, sight.serviceMs(nowMs))
    if (amount === 0) return
    tool.turn(adjuster, amount)
    moving = true
  }

  const turning = (frame: LiveFrame, nowMs: number) => {
    const label = frame.step?.adjuster ?? ''
    if (!mayTurn(frame)) return off()
    if (!isAdjuster(label)) return still()
    const technique = frame.step?.technique
    if (technique === 'peak' || technique === 'dip') return peak.follow(frame, label, nowMs)
    if (frame.guide.hands === 'off') return off()
    // a planned move ends by itself; told to hold, no new one is begun
    if (frame.guide.way !== 'hold' || tool.busy()) turnTo(frame, label, nowMs)
  }

  /** Hardly any effect: a few larger moves, then it is left alone. */
  const noEffect = (frame: LiveFrame, nowMs: number) => {
    const label = frame.step?.adjuster ?? ''
    const where = `${frame.step?.id} ${label}`
    if (where !== triedStep) tries = 0
    triedStep = where
    if (!mayTurn(frame) || !isAdjuster(label) || (tries >= MOST_TRIES && !tool.busy())) return rest()
    if (tool.busy() || nowMs - shownSinceMs < LOOK_MS * tries) return
    tries += 1
    tool.turn(label, (tool.direction(label) || 1) * TRY_TURNS)
  }

  const rest = () => {
    off()
    key(false)
  }

  const changeChannel = (frame: LiveFrame, nowMs: number) => {
    off()
    key(false)
    const wanted = frame.step?.channelWanted ?? null
    if (frame.state === 'wrong channel') channelToSet = wanted
    const change = () => {
      if (wanted !== null) set.channel(wanted)
      channelToSet = null
    }
    if (wanted !== null) doOnce((from) => errandsOf([change], from, CHANNEL_MS), AGAIN_MS, nowMs)
  }

  /** The knob was left on another channel than this step, or its next stop, wants. */
  const isElsewhere = ({ step }: LiveFrame) => step?.channelWanted != null && step.channelWanted !== knownChannel()

  const hold = (frame: LiveFrame) => {
    still()
    if (frame.guide.hands === 'off' || !mayTurn(frame)) tool.out()
  }
  /** Reads the set's menu and writes it down, then goes on. */
  const settings = (frame: LiveFrame, nowMs: number) => {
    const acts = settingsActs(frame, set, ask)
    doOnce(
      (from) => errandsOf([...acts, () => ask({ kind: 'ready' })], from, draw(skill.readStepMs, rng)),
      AGAIN_MS,
      nowMs,
    )
  }
  /** The largest is looked for: a tone is simply held, the set's own microphone is whistled into. */
  const highest = (frame: LiveFrame) => {
    off()
    if (!whistling && keyDown && frame.step && saysOwnMicrophone(frame.step.where)) whistle(true)
  }
  const typedMeter = createTypedMeter({
    tool,
    rng,
    moveError: skill.moveError,
    displays: setting.displays ?? (() => ({})),
    keyIsDown: () => keyDown,
    key,
    whistle: (on) => {
      if (on !== whistling) whistle(on)
    },
    off,
    ask,
  })
  const gaugeTellsNothing = (nowMs: number) => {
    off()
    if (nowMs - shownSinceMs > PATIENCE_MS) key(false)
  }

  const behaviour: Readonly<Record<LiveState, (frame: LiveFrame, nowMs: number) => void>> = {
    'read step': (frame, nowMs) => {
      rest()
      readIt(frame, nowMs)
    },
    action: (frame, nowMs) => {
      key(false)
      action(frame, nowMs)
    },
    'key now': (frame, nowMs) => {
      if (peak.nudging()) return
      still()
      if (channelToSet !== null || isElsewhere(frame)) changeChannel(frame, nowMs)
      else key(true)
    },
    'release key': () => {
      still()
      key(false)
    },
    rest: (frame, nowMs) => {
      still()
      key(false)
      if (isElsewhere(frame)) changeChannel(frame, nowMs)
    },
    'hold-off': hold,
    settling: hold,
    far: turning,
    near: turning,
    in: turning,
    climb: turning,
    'passed over': turning,
    return: turning,
    nudge: (frame) => {
      const label = frame.step?.adjuster ?? ''
      if (!mayTurn(frame)) off()
      else if (isAdjuster(label)) peak.nudge(frame, label)
    },
    highest,
    'type in': (frame, nowMs) => typedMeter.follow(frame, nowMs, shownSinceMs),
    warming: (frame, nowMs) => {
      rest()
      if (setting.knowsItIsWarm) askLater(frame, 'confirm', LINGER_MS, nowMs)
    },
    settings: (frame, nowMs) => {
      rest()
      settings(frame, nowMs)
    },
    steady: off,
    'at best': off,
    'over range': off,
    question: (frame, nowMs) => {
      rest()
      const kind = isAsWanted(frame.step, set.glance()) ? ('keep' as const) : ('again' as const)
      askLater(frame, kind, skill.readStepMs, nowMs)
    },
    captured: (frame, nowMs) => {
      off()
      if (isStepOver(frame)) key(false)
      askLater(frame, 'next', LINGER_MS, nowMs)
    },
    'wrong channel': changeChannel,
    'no effect': noEffect,
    old: (_frame, nowMs) => gaugeTellsNothing(nowMs),
    'link lost': (_frame, nowMs) => gaugeTellsNothing(nowMs),
    paused: (frame, nowMs) => {
      rest()
      askLater(frame, 'go on', LINGER_MS, nowMs)
    },
    idle: rest,
    'supply moving': (frame) => (frame.key.keyed && keyDown ? off() : rest()),
    'cannot reach': rest,
    stopped: rest,
    finished: rest,
  }
  /** A state this hand has never heard of: whatever it means, hands off and key up is right. */
  const act = (frame: LiveFrame, nowMs: number) =>
    Object.hasOwn(behaviour, frame.state) ? behaviour[frame.state](frame, nowMs) : rest()

  const tick = (nowMs: number) => {
    const frame = dark ? null : sight.seen(nowMs)
    tool.tick(nowMs)
    if (!frame) return
    const now = `${frame.state} ${frame.step?.id ?? ''} ${frame.step?.adjuster ?? ''} ${frame.step?.transmit ?? ''} ${frame.step?.pass ?? ''} ${frame.step?.stop?.number ?? ''} ${frame.state === 'action' ? frame.guide.words : ''}`
    if (now !== shown) {
      shown = now
      shownSinceMs = nowMs
      errands = null
      if (frame.state === 'action') moving = false
      if (whistling && frame.state !== 'highest') whistle(false)
    }
    act(frame, nowMs)
  }

  const live = async () => {
    for (;;) {
      await sleep(clock, tool.busy() ? TURNING_TICK_MS : TICK_MS, signal)
      tick(clock.nowMs())
    }
  }
  live().catch((reason: unknown) => {
    rest()
    if (!signal.aborted) throw reason
  })

  return {
    turned: tool.turned,
    onFrame: (frame) => {
      dark = false
      sight.show(frame, clock.nowMs())
    },
    onAnswer: typedMeter.answered,
    onDark: () => {
      dark = true
      rest()
    },
    busyMs: () => joined([...sight.reactions, ...tool.busyTimes, ...errandTimes]),
  }
}

type Ask = FromPage extends infer Message
  ? Message extends { readonly id: string }
    ? Omit<Message, 'id'>
    : never
  : never

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
/** An unanswered request is made again after this long. */
const AGAIN_MS = 12_000
/** Before going on from something that should go on by itself, ms. */
const LINGER_MS: Span = [3500, 5000]
const CHANNEL_MS = 1500
/** A gauge that shows nothing for so long lets the key come up. */
const PATIENCE_MS = 1000
const LOOK_MS = 1500
const MOST_TRIES = 3
const TRY_TURNS = 0.1
/** More than any preset has, so that it ends at its stop. */
const WHOLE_TRAVEL = 1.1

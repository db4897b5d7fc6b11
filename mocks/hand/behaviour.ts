import type { LiveState } from '../../src/schema/messages/shown.ts'
import type { Rng } from '../../src/system/rng.ts'
import type { SimulatedSet } from '../plant/simulated-set.ts'
import type { ChannelKnob } from './channel-knob.ts'
import { type Ask, actionOf, type ErrandRunner, readStep, saysOwnMicrophone } from './errands.ts'
import type { Grip } from './grip.ts'
import { handActs, settingsActs } from './paperwork.ts'
import type { SecondTry } from './second-try.ts'
import type { Seen } from './sight.ts'
import type { Skill, Span } from './skill.ts'
import { isAsWanted, isStepOver, mayTurn } from './step-seen.ts'
import type { Turning } from './turning.ts'
import type { TypedMeter } from './typed-meter.ts'

/** The parts of a technician, put together by the hand. */
export interface Parts {
  readonly set: SimulatedSet
  readonly skill: Skill
  readonly rng: Rng
  readonly grip: Grip
  readonly turning: Turning
  readonly channelKnob: ChannelKnob
  readonly typedMeter: TypedMeter
  readonly errands: ErrandRunner
  readonly secondTry: SecondTry
  readonly knowsItIsWarm: boolean
  readonly ask: (message: Ask) => void
}

type Behaviour = (parts: Parts, seen: Seen) => void

/** Does what the shown state calls for. A state this hand has never heard of: whatever it means, hands off and key up is right. */
export function act(parts: Parts, seen: Seen): void {
  const { state } = seen.frame
  if (Object.hasOwn(BEHAVIOUR, state)) BEHAVIOUR[state](parts, seen)
  else rest(parts)
}

const rest = ({ grip }: Pick<Parts, 'grip'>) => grip.rest()
const off: Behaviour = ({ grip }) => grip.off()
const hold: Behaviour = ({ turning }, seen) => turning.hold(seen)
const turn: Behaviour = ({ turning }, seen) => turning.follow(seen)

const readIt: Behaviour = (parts, seen) => {
  const { set, skill, rng, errands, secondTry, ask } = parts
  const { frame, nowMs } = seen
  const { step, because } = frame
  rest(parts)
  secondTry.see(frame)
  const again = secondTry.due(frame)
  if (again !== '') {
    const open = () => {
      secondTry.asked(frame)
      ask({ kind: 'open step', step: again })
    }
    errands.runWithin(skill.readStepMs, [open], nowMs)
  } else if (parts.knowsItIsWarm && step?.technique === 'wait') errands.askAfter(skill.readStepMs, 'confirm', seen)
  else if (because !== '' && step) {
    const leave = () => ask({ kind: 'leave out', step: step.id, reason: because.slice(0, 200) })
    errands.runWithin(skill.readStepMs, [leave], nowMs)
  } else errands.run((fromMs) => readStep(frame, set, skill, rng, fromMs, () => ask({ kind: 'ready' })), nowMs)
}

const action: Behaviour = ({ set, skill, grip, errands, ask }, { frame, nowMs }) => {
  grip.key(false)
  const named = mayTurn(frame) ? actionOf(frame.guide.words) : null
  if (named && !errands.underWay && !grip.moving) grip.move(named.adjuster, named.end * WHOLE_TRAVEL)
  if (grip.tool.busy()) return
  if (!errands.underWay) grip.tool.out()
  if (!frame.offers.includes('confirm')) return
  const acts = [...handActs(frame.guide.words, set), () => ask({ kind: 'confirm' })]
  errands.runWithin(skill.changeToolMs, acts, nowMs)
}

const keyNow: Behaviour = ({ grip, turning, channelKnob }, seen) => {
  if (turning.nudging()) return
  grip.still()
  if (channelKnob.isWrong(seen.frame)) channelKnob.change(seen)
  else grip.key(true)
}

const releaseKey: Behaviour = ({ grip }) => {
  grip.still()
  grip.key(false)
}

const keyRests: Behaviour = (parts, seen) => {
  releaseKey(parts, seen)
  if (parts.channelKnob.isElsewhere(seen.frame)) parts.channelKnob.change(seen)
}

/** The largest is looked for: a tone is simply held, the set's own microphone is whistled into. */
const highest: Behaviour = ({ grip }, { frame }) => {
  grip.off()
  if (grip.keyIsDown && frame.step && saysOwnMicrophone(frame.step.where)) grip.whistle(true)
}

const warming: Behaviour = (parts, seen) => {
  rest(parts)
  if (parts.knowsItIsWarm) parts.errands.askAfter(LINGER_MS, 'confirm', seen)
}

/** Reads the set's menu and writes it down, then goes on. */
const settings: Behaviour = (parts, { frame, nowMs }) => {
  const { set, skill, errands, ask } = parts
  rest(parts)
  const acts = [...settingsActs(frame, set, ask), () => ask({ kind: 'ready' })]
  errands.runWithin(skill.readStepMs, acts, nowMs)
}

const question: Behaviour = (parts, seen) => {
  rest(parts)
  const kind = isAsWanted(seen.frame.step, parts.set.glance()) ? ('keep' as const) : ('again' as const)
  parts.errands.askAfter(parts.skill.readStepMs, kind, seen)
}

const captured: Behaviour = ({ grip, errands }, seen) => {
  grip.off()
  if (isStepOver(seen.frame)) grip.key(false)
  errands.askAfter(LINGER_MS, 'next', seen)
}

const gaugeTellsNothing: Behaviour = ({ grip }, { nowMs, sinceMs }) => {
  grip.off()
  if (nowMs - sinceMs > PATIENCE_MS) grip.key(false)
}

const paused: Behaviour = (parts, seen) => {
  rest(parts)
  parts.errands.askAfter(LINGER_MS, 'go on', seen)
}

const BEHAVIOUR: Readonly<Record<LiveState, Behaviour>> = {
  'read step': readIt,
  action,
  'key now': keyNow,
  'release key': releaseKey,
  rest: keyRests,
  'hold-off': hold,
  settling: hold,
  far: turn,
  near: turn,
  in: turn,
  climb: turn,
  'passed over': turn,
  return: turn,
  nudge: ({ turning }, seen) => turning.nudge(seen),
  highest,
  'type in': ({ typedMeter }, seen) => typedMeter.follow(seen),
  warming,
  settings,
  steady: off,
  'at best': off,
  'over range': off,
  question,
  captured,
  'wrong channel': ({ channelKnob }, seen) => channelKnob.change(seen),
  'no effect': ({ turning }, seen) => turning.noEffect(seen),
  old: gaugeTellsNothing,
  'link lost': gaugeTellsNothing,
  paused,
  idle: rest,
  'supply moving': ({ grip }, { frame }) => (frame.key.keyed && grip.keyIsDown ? grip.off() : grip.rest()),
  'cannot reach': rest,
  stopped: rest,
  finished: rest,
}

/** Before going on from something that should go on by itself, ms. */
const LINGER_MS: Span = [3500, 5000]
/** A gauge that shows nothing for so long lets the key come up. */
const PATIENCE_MS = 1000
/** More than any preset has, so that it ends at its stop. */
const WHOLE_TRAVEL = 1.1

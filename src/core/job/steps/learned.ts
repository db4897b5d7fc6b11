import { effectName, remember } from '../../homing/effect.ts'
import { change, type Turn } from '../state/turn.ts'

/** What the hand's moves in this step have shown of its adjuster. */
export function learned(before: Turn): Turn {
  const { open, effects } = before.job
  const set = open.measured[0]?.live.set
  if (!set || open.step.quantity === null) return before
  const name = effectName(open.adjuster, open.step.quantity)
  return change(before, { effects: remember(effects, name, set.moves, set.turnsOver) })
}

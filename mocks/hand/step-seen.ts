import type { LiveFrame, StepView } from '../../src/schema/messages/shown.ts'
import type { Glance } from '../plant/simulated-set.ts'
import { saysOwnMicrophone } from './errands.ts'

/** Whether knobs and leads stand as the step wants them: what a person looks at when a value is asked about. */
export function isAsWanted(step: StepView | null, seen: Glance): boolean {
  if (!step) return true
  const { channelWanted, mode, tone, where } = step
  if (channelWanted !== null && seen.channel !== channelWanted) return false
  if (seen.mode !== (mode === 'AM' ? 'AM' : 'FM')) return false
  if (tone !== '') return seen.microphone === 'oscillator'
  return !saysOwnMicrophone(where) || seen.microphone === 'own'
}

/** As found and as left are read with nothing turned. */
export function mayTurn(frame: LiveFrame): boolean {
  return frame.step?.pass === 'work'
}

/** The step shown is done, whatever its result. */
export function isStepOver(frame: LiveFrame): boolean {
  const line = frame.steps.find(({ step, pass }) => step === frame.step?.id && pass === frame.step?.pass)
  return line !== undefined && line.state !== 'open' && line.state !== 'to do'
}

import { printText } from '../../quantity/print-value.ts'
import type { PeakWatch } from '../peaking/peak-watch.ts'
import { AT_BEST_MS } from '../reading/dwell.ts'
import type { LiveRule } from '../reading/live.ts'
import { type Guide, say } from './guide.ts'
import { nudgeWords } from './guide-words.ts'

/** Guidance while a peak or a dip is looked for. */
export function peakGuide(
  watch: PeakWatch,
  rule: LiveRule,
  around: { readonly nowMs: number; readonly adjuster: string; readonly atBestSinceMs: number | null },
): Guide {
  const name = around.adjuster === '' ? 'the core' : around.adjuster
  const nothing = watch.flat === 'nothing' && (watch.phase === 'start' || watch.phase === 'climb')
  // just watching, nobody says that anything is turned: no alarm
  if (nothing && around.adjuster === '')
    return say('climb', 'Turn slowly, either way. Nothing moves yet', { way: 'up', hands: 'on' })
  if (nothing)
    return say('no effect', `Hardly any effect: is the tool in ${name}? Stuck or cracked core?`, {
      way: 'up',
      hands: 'on',
      because: 'nothing moves',
    })
  const below = `${watch.belowDb.toFixed(2)} dB below the best`
  switch (watch.phase) {
    case 'nudge':
      return say('nudge', nudgeWords(watch.memory.nudging.order, around.adjuster), {
        way: watch.memory.nudging.order.back ? 'back' : 'up',
        hands: 'on',
      })
    case 'wait':
      return say('settling', 'Hands still: this place is read', { hands: 'off' })
    case 'start':
      if (rule.peak?.continuous === false) return say('settling', 'Hands still: this place is read', { hands: 'off' })
      return say('climb', `Turn ${around.adjuster === '' ? '' : `${around.adjuster} `}slowly, either way`, {
        way: 'up',
        hands: 'on',
      })
    case 'climb':
      return climbGuide(watch, name)
    case 'wrong way':
      return say('climb', 'Falling: turn the other way', { way: 'back', hands: 'on' })
    case 'passed over':
      return say('passed over', 'BACK', { way: 'back', hands: 'on', because: below })
    case 'return':
      return say('return', watch.slowly ? `Slowly: ${below}` : below, { way: 'up', hands: 'on' })
    case 'at best': {
      if (watch.flat === 'stop')
        return say('cannot reach', 'Best at the end of its travel: no peak', {
          hands: 'off',
          because: `is ${name} at its stop?`,
        })
      const held = around.atBestSinceMs === null ? 0 : Math.min(1, (around.nowMs - around.atBestSinceMs) / AT_BEST_MS)
      return say('at best', 'Top found. Hands off', {
        way: 'hold',
        hands: 'off',
        drop: 0.5 + held / 2,
        because: watch.otherTop === null ? 'a tenth of a turn makes no difference' : topsWords(watch, rule),
      })
    }
    case 'snap':
      return say('passed over', 'Jump: not a peak. Back, slowly', {
        way: 'back',
        hands: 'on',
        because: 'instability or a slipped core',
      })
    default:
      return watch.phase satisfies never
  }
}

function climbGuide(watch: PeakWatch, name: string): Guide {
  if (watch.flat === 'stop')
    return say('climb', `Nothing changes: is ${name} at its stop?`, {
      way: 'up',
      hands: 'on',
      because: 'a top at the end of the travel is no peak',
    })
  return say('climb', watch.proved ? 'Rising: go on' : 'Go on slowly', { way: 'up', hands: 'on' })
}

/** Two tops in one travel: both heights; the sheet says which is meant. */
function topsWords({ bestValue, otherTop }: PeakWatch, { facts, print }: LiveRule): string {
  const words = (value: number) => printText(value, facts.unit, print.step)
  return `two tops: ${words(bestValue)} here, ${words(otherTop ?? Number.NaN)} the other; the sheet says which`
}

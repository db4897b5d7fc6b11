import { printText } from '../../quantity/print-value.ts'
import { type Said, said } from '../../words/said/said.ts'
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
  const { adjuster } = around
  const nothing = watch.flat === 'nothing' && (watch.phase === 'start' || watch.phase === 'climb')
  // just watching, nobody says that anything is turned: no alarm
  if (nothing && adjuster === '')
    return say('climb', said('peak.turn-slowly-nothing-moves'), { way: 'up', hands: 'on' })
  if (nothing)
    return say('no effect', said('guide.hardly-any-effect', { adjuster }), {
      way: 'up',
      hands: 'on',
      because: said('guide.nothing-moves'),
    })
  const below = `${watch.belowDb.toFixed(2)} dB`
  const belowBest = said('peak.below-best', { below })
  switch (watch.phase) {
    case 'nudge':
      return say('nudge', nudgeWords(watch.memory.nudging.order, adjuster), {
        way: watch.memory.nudging.order.back ? 'back' : 'up',
        hands: 'on',
      })
    case 'wait':
      return say('settling', said('peak.place-is-read'), { hands: 'off' })
    case 'start':
      if (rule.peak?.continuous === false) return say('settling', said('peak.place-is-read'), { hands: 'off' })
      return say(
        'climb',
        adjuster === '' ? said('peak.turn-slowly') : said('peak.turn-adjuster-slowly', { adjuster }),
        {
          way: 'up',
          hands: 'on',
        },
      )
    case 'climb':
      return climbGuide(watch, adjuster)
    case 'wrong way':
      return say('climb', said('peak.falling'), { way: 'back', hands: 'on' })
    case 'passed over':
      return say('passed over', said('peak.back'), { way: 'back', hands: 'on', because: belowBest })
    case 'return':
      return say('return', watch.slowly ? said('peak.slowly-below-best', { below }) : belowBest, {
        way: 'up',
        hands: 'on',
      })
    case 'at best': {
      if (watch.flat === 'stop')
        return say('cannot reach', said('peak.no-peak-at-end'), {
          hands: 'off',
          because: adjuster === '' ? said('peak.core-at-stop') : said('peak.adjuster-at-stop', { adjuster }),
        })
      const held = around.atBestSinceMs === null ? 0 : Math.min(1, (around.nowMs - around.atBestSinceMs) / AT_BEST_MS)
      return say('at best', said('peak.top-found'), {
        way: 'hold',
        hands: 'off',
        drop: 0.5 + held / 2,
        because: watch.otherTop === null ? said('peak.a-tenth-no-difference') : topsWords(watch, rule),
      })
    }
    case 'snap':
      return say('passed over', said('peak.jump'), {
        way: 'back',
        hands: 'on',
        because: said('peak.jump-why'),
      })
    default:
      return watch.phase satisfies never
  }
}

function climbGuide(watch: PeakWatch, adjuster: string): Guide {
  if (watch.flat === 'stop')
    return say(
      'climb',
      adjuster === '' ? said('peak.nothing-changes-core') : said('peak.nothing-changes-adjuster', { adjuster }),
      {
        way: 'up',
        hands: 'on',
        because: said('peak.no-peak-at-end-why'),
      },
    )
  return say('climb', watch.proved ? said('peak.rising') : said('peak.go-on-slowly'), { way: 'up', hands: 'on' })
}

/** Two tops in one travel: both heights; the sheet says which is meant. */
function topsWords({ bestValue, otherTop }: PeakWatch, { facts, print }: LiveRule): Said {
  const words = (value: number) => printText(value, facts.unit, print.step)
  return said('peak.two-tops', { here: words(bestValue), other: words(otherTop ?? Number.NaN) })
}

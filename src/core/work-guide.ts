import type { LiveFrame, LiveState } from '../schema/live-frame.ts'
import { DWELL_MS } from './dwell.ts'
import { errorOf, isInsideAim, type Live, type LiveRule } from './live.ts'

export interface Guide {
  readonly state: LiveState
  readonly words: string
  readonly way: LiveFrame['guide']['way']
  readonly hands: LiveFrame['guide']['hands']
  readonly because: string
  /** How deep the peg has dropped, 0 to 1. */
  readonly drop: number
}

export function say(state: LiveState, words: string, more: Partial<Omit<Guide, 'state' | 'words'>> = {}): Guide {
  return { state, words, way: '', hands: '', because: '', drop: 0, ...more }
}

/** Guidance for readings as they come: set-to, check, peak or dip. `turned`: somebody's hand is on an adjuster. */
export function workGuide(
  live: Live,
  rule: LiveRule,
  around: {
    readonly nowMs: number
    readonly turned: boolean
    readonly adjuster: string
    readonly atBestSinceMs: number | null
    readonly approach: 'from above' | 'from below' | null
  },
): Guide {
  if (live.last && live.last.reading.state !== 'good')
    return say('over range', stateWords(live.last.reading.state), {
      because: `${rule.facts.instrument} answered ${JSON.stringify(live.last.reading.raw)}`,
      hands: 'off',
    })
  if (!live.current) return say('hold-off', 'Wait: readings do not count yet', { hands: around.turned ? '' : 'off' })
  if (live.peak) return peakGuide(live, around)
  return around.turned ? setGuide(live, rule, around) : checkGuide(live, rule)
}

/** What a reply that is not a number says, in a word or two. */
export function stateWords(state: Live['state']): string {
  switch (state) {
    case 'over':
      return 'Over range'
    case 'under':
      return 'Under range'
    case 'no signal':
    case 'not a number':
      return 'No signal'
    case 'blank':
      return 'Empty reply'
    case 'stale':
      return 'The meter holds an old value'
    case 'unreadable':
      return 'Unreadable reply'
    case 'good':
      return ''
    default:
      return state satisfies never
  }
}

function checkGuide(live: Live, rule: LiveRule): Guide {
  const e = errorOf(live, rule)
  const inside = e !== null && Math.abs(e) <= 1
  const { verdict, share } = live.settle
  return say('settling', settleWords(live), {
    hands: 'off',
    drop: inside ? (verdict === 'settled' ? 1 : share * 0.9) : 0,
  })
}

/** What the settling test has to say. */
export function settleWords(live: Live): string {
  switch (live.settle.verdict) {
    case 'waiting':
    case 'settling':
      return 'Settling: hands off'
    case 'settled':
      return 'Settled'
    case 'erratic':
      return 'Erratic: check leads and prod'
    case 'frozen':
      return 'Frozen: the meter repeats itself, check it'
    case 'two-valued':
      return 'Two values: the meter or a contact jumps'
    case 'too noisy':
      return 'Meter too noisy for this step: average more'
    default:
      return live.settle.verdict satisfies never
  }
}

/** From this |e| on a reading counts as far. */
const FAR_E = 2.5

function setGuide(
  live: Live,
  rule: LiveRule,
  around: { nowMs: number; adjuster: string; approach: 'from above' | 'from below' | null },
): Guide {
  const e = errorOf(live, rule)
  if (e === null || !live.current || rule.goal.kind === 'peak') return say('hold-off', 'Wait')
  const size = Math.abs(e)
  const value = live.current.value ?? 0
  if (isInsideAim(live.current, rule.goal)) {
    const settled = live.settle.verdict === 'settled'
    const dwelt = live.insideSinceMs === null ? 0 : Math.min(1, (around.nowMs - live.insideSinceMs) / DWELL_MS)
    const drop = 0.7 * (settled ? 1 : live.settle.share) + (settled ? 0.3 * dwelt : 0)
    return settled
      ? say('steady', 'There. Tool out', { way: 'hold', hands: 'off', drop })
      : say('in', 'There: tool out, hands still', { way: 'hold', hands: 'off', drop })
  }
  const way = value > rule.goal.aimHigh ? 'down' : 'up'
  const smaller = value >= rule.goal.aimLow && value <= rule.goal.aimHigh
  if (smaller)
    return say('in', 'Larger peak right, smaller one outside', {
      because: 'the two peaks differ too much',
      hands: 'off',
    })
  if (size <= 1) return say('in', `In. ${cap(direction(way))} a hair`, { way, hands: 'on' })
  if (size <= FAR_E) return say('near', `${cap(direction(way))} a little`, { way, hands: 'on' })
  return say('far', `Far too ${way === 'down' ? 'high' : 'low'}: ${direction(way)}`, { way, hands: 'on' })
}

const direction = (way: 'up' | 'down') => (way === 'up' ? 'bring it up' : 'bring it down')
const cap = (words: string) => words.charAt(0).toUpperCase() + words.slice(1)

function peakGuide(live: Live, around: { nowMs: number; adjuster: string; atBestSinceMs: number | null }): Guide {
  const watch = live.peak
  if (!watch) return say('hold-off', 'Wait')
  const below = `${watch.belowDb.toFixed(2)} dB below the best`
  switch (watch.phase) {
    case 'start':
      return say('climb', `Turn ${around.adjuster} slowly, either way`, { way: 'up', hands: 'on' })
    case 'climb':
      return say('climb', watch.proved ? 'Rising: go on' : 'Go on slowly', { way: 'up', hands: 'on' })
    case 'wrong way':
      return say('climb', 'Falling: turn the other way', { way: 'back', hands: 'on' })
    case 'passed over':
      return say('passed over', 'BACK', { way: 'back', hands: 'on', because: below })
    case 'return':
      return say('return', watch.slowly ? `Slowly: ${below}` : below, { way: 'up', hands: 'on' })
    case 'at best': {
      const held = around.atBestSinceMs === null ? 0 : Math.min(1, (around.nowMs - around.atBestSinceMs) / 1200)
      return say('at best', 'Top found. Hands off', { way: 'hold', hands: 'off', drop: 0.5 + held / 2 })
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

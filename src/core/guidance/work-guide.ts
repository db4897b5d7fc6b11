import type { SetWatch } from '../homing/set-to.ts'
import { driftOf } from '../reading/capture.ts'
import { DWELL_MS } from '../reading/dwell.ts'
import { errorOf, isInsideAim, type Live, type LiveRule } from '../reading/live.ts'
import { type Guide, say } from './guide.ts'
import { sizeWords } from './guide-words.ts'
import { peakGuide } from './peak-words.ts'

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
  if (live.last?.value === null)
    return say('over range', stateWords(live.last.reading.state), {
      because: `${rule.facts.instrument} answered ${JSON.stringify(live.last.reading.raw)}`,
      hands: 'off',
    })
  if (!live.current) return say('hold-off', 'Wait: readings do not count yet', { hands: around.turned ? '' : 'off' })
  if (live.peak) return peakGuide(live.peak, rule, around)
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
    case 'good': // a number that is none any more at the set
      return 'Over range'
    default:
      return state satisfies never
  }
}

function checkGuide(live: Live, rule: LiveRule): Guide {
  const e = errorOf(live, rule)
  const inside = e !== null && Math.abs(e) <= 1
  const { verdict, share } = live.settle
  const drifts = verdict === 'settling' && inside && driftOf(live, rule) !== null
  return say('settling', drifts ? 'Drifting, but in band: wait, or capture it so' : settleWords(live), {
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
  const state = size <= 1 ? 'in' : size <= FAR_E ? 'near' : 'far'
  const words = {
    in: `In. ${cap(direction(way))} a hair`,
    near: `${cap(direction(way))} a little`,
    far: `Far too ${way === 'down' ? 'high' : 'low'}: ${direction(way)}`,
  }[state]
  return (
    (live.set && searchGuide(live.set, state, way, around.adjuster)) ??
    say(state, words + learnedWay(live, rule), { way, hands: 'on' })
  )
}

/** Before the first move: the way round, where it is known from earlier moves of this adjuster. */
function learnedWay({ set }: Live, rule: LiveRule): string {
  if (set?.phase !== 'first' || rule.set?.usual?.clockwise == null) return ''
  return set.told > 0 ? ', clockwise' : ', anticlockwise'
}

/** What the search has to say beyond which way the reading should go; null where it has nothing to add. */
function searchGuide(set: SetWatch, state: 'in' | 'near' | 'far', way: 'up' | 'down', adjuster: string): Guide | null {
  const name = adjuster === '' ? 'it' : adjuster
  switch (set.phase) {
    case 'no effect':
      // just watching, nobody says that anything is turned: no alarm
      if (adjuster === '') return say(state, `${cap(direction(way))}. Nothing moves yet`, { way, hands: 'on' })
      // inside the band somebody may well be content: no alarm
      if (state === 'in') return say(state, `In. Nothing moves: is the tool in ${name}?`, { way, hands: 'on' })
      return say('no effect', `Hardly any effect: is the tool in ${name}? Stuck or cracked core?`, {
        way,
        hands: 'on',
        because: set.moves.length === 0 ? 'nothing moves' : 'it does far less than this adjuster usually does',
      })
    case 'cannot reach':
      return say('cannot reach', 'Cannot be reached: stop', {
        hands: 'off',
        because: 'both ends of its range lie on one side of the aim',
      })
    case 'end':
      return say(state, 'Nothing moves any more: at its stop? The other way', { way, hands: 'on' })
    case 'passed end':
      return say(state, 'You passed the end of its range: go on round', { way, hands: 'on' })
    case 'coming':
      return say(state, 'Stop: it comes by itself', { way: 'hold', hands: 'on' })
    case 'other way':
      return say(state, 'It goes away: the other way', { way, hands: 'on' })
    case 'step':
      return say(state, `${cap(direction(way))}: ${sizeWords(set.size)}`, { way, hands: 'on' })
    case 'look':
      return say(state, 'Hands still: look what it did', { way, hands: 'on' })
    case 'first':
    case 'on':
    case 'there':
      return null
    default:
      return set.phase satisfies never
  }
}

const direction = (way: 'up' | 'down') => (way === 'up' ? 'bring it up' : 'bring it down')
const cap = (words: string) => words.charAt(0).toUpperCase() + words.slice(1)

import { type Said, said, type Words } from '../../words/said/said.ts'
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
      because: said('guide.answered', {
        instrument: rule.facts.instrument,
        reply: JSON.stringify(live.last.reading.raw),
      }),
      hands: 'off',
    })
  if (!live.current) return say('hold-off', said('guide.hold-off'), { hands: around.turned ? '' : 'off' })
  if (live.peak) return peakGuide(live.peak, rule, around)
  return around.turned ? setGuide(live, rule, around) : checkGuide(live, rule)
}

/** What a reply that is not a number says, in a word or two. */
export function stateWords(state: Live['state']): Said {
  switch (state) {
    case 'over':
      return said('guide.over-range')
    case 'under':
      return said('guide.under-range')
    case 'no signal':
    case 'not a number':
      return said('guide.no-signal')
    case 'blank':
      return said('guide.blank')
    case 'stale':
      return said('guide.stale')
    case 'unreadable':
      return said('guide.unreadable')
    case 'good': // a number that is none any more at the set
      return said('guide.over-range')
    default:
      return state satisfies never
  }
}

function checkGuide(live: Live, rule: LiveRule): Guide {
  const e = errorOf(live, rule)
  const inside = e !== null && Math.abs(e) <= 1
  const { verdict, share } = live.settle
  const drifts = verdict === 'settling' && inside && driftOf(live, rule) !== null
  return say('settling', drifts ? said('guide.drifting-in-band') : settleWords(live), {
    hands: 'off',
    drop: inside ? (verdict === 'settled' ? 1 : share * 0.9) : 0,
  })
}

/** What the settling test has to say. */
export function settleWords(live: Live): Said {
  switch (live.settle.verdict) {
    case 'waiting':
    case 'settling':
      return said('settle.settling')
    case 'settled':
      return said('settle.settled')
    case 'erratic':
      return said('settle.erratic')
    case 'frozen':
      return said('settle.frozen')
    case 'two-valued':
      return said('settle.two-values')
    case 'too noisy':
      return said('settle.too-noisy')
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
  if (e === null || !live.current || rule.goal.kind === 'peak') return say('hold-off', said('guide.wait'))
  const size = Math.abs(e)
  const value = live.current.value ?? 0
  if (isInsideAim(live.current, rule.goal)) {
    const settled = live.settle.verdict === 'settled'
    const dwelt = live.insideSinceMs === null ? 0 : Math.min(1, (around.nowMs - live.insideSinceMs) / DWELL_MS)
    const drop = 0.7 * (settled ? 1 : live.settle.share) + (settled ? 0.3 * dwelt : 0)
    return settled
      ? say('steady', said('guide.there-tool-out'), { way: 'hold', hands: 'off', drop })
      : say('in', said('guide.there-hands-still'), { way: 'hold', hands: 'off', drop })
  }
  const way = value > rule.goal.aimHigh ? 'down' : 'up'
  const smaller = value >= rule.goal.aimLow && value <= rule.goal.aimHigh
  if (smaller)
    return say('in', said('guide.larger-peak-right'), {
      because: said('guide.peaks-differ'),
      hands: 'off',
    })
  const state = size <= 1 ? 'in' : size <= FAR_E ? 'near' : 'far'
  return (
    (live.set && searchGuide(live.set, state, way, around.adjuster)) ??
    say(state, withWayRound(WAYS[way][state], live, rule), { way, hands: 'on' })
  )
}

/** Before the first move: the way round, where it is known from earlier moves of this adjuster. */
function withWayRound(words: Words, { set }: Live, rule: LiveRule): Words {
  if (set?.phase !== 'first' || rule.set?.usual?.clockwise == null) return words
  return set.told > 0 ? said('guide.turn-clockwise', { words }) : said('guide.turn-anticlockwise', { words })
}

/** What the search has to say beyond which way the reading should go; null where it has nothing to add. */
function searchGuide(set: SetWatch, state: 'in' | 'near' | 'far', way: 'up' | 'down', adjuster: string): Guide | null {
  switch (set.phase) {
    case 'no effect':
      // just watching, nobody says that anything is turned: no alarm
      if (adjuster === '') return say(state, WAYS[way].nothingMoves, { way, hands: 'on' })
      // inside the band somebody may well be content: no alarm
      if (state === 'in') return say(state, said('guide.in-nothing-moves', { adjuster }), { way, hands: 'on' })
      return say('no effect', said('guide.hardly-any-effect', { adjuster }), {
        way,
        hands: 'on',
        because: set.moves.length === 0 ? said('guide.nothing-moves') : said('guide.less-than-usual'),
      })
    case 'cannot reach':
      return say('cannot reach', said('guide.cannot-reach'), {
        hands: 'off',
        because: said('guide.cannot-reach-why'),
      })
    case 'end':
      return say(state, said('guide.end-of-range'), { way, hands: 'on' })
    case 'passed end':
      return say(state, said('guide.passed-end'), { way, hands: 'on' })
    case 'coming':
      return say(state, said('guide.comes-by-itself'), { way: 'hold', hands: 'on' })
    case 'other way':
      return say(state, said('guide.goes-away'), { way, hands: 'on' })
    case 'step':
      return say(state, WAYS[way].by(sizeWords(set.size)), { way, hands: 'on' })
    case 'look':
      return say(state, said('guide.hands-still-look'), { way, hands: 'on' })
    case 'first':
    case 'on':
    case 'there':
      return null
    default:
      return set.phase satisfies never
  }
}

/** Which way the reading should go, by how far it is off. */
const WAYS = {
  up: {
    in: said('guide.up-a-hair'),
    near: said('guide.up-a-little'),
    far: said('guide.far-too-low'),
    nothingMoves: said('guide.up-nothing-moves'),
    by: (far: Said) => said('guide.up-by', { far }),
  },
  down: {
    in: said('guide.down-a-hair'),
    near: said('guide.down-a-little'),
    far: said('guide.far-too-high'),
    nothingMoves: said('guide.down-nothing-moves'),
    by: (far: Said) => said('guide.down-by', { far }),
  },
}

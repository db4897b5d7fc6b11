import { describe, expect, test } from 'vitest'
import { goalOf } from '../../../src/core/goal/goal.ts'
import { advanceWatch, startWatch, type Watch, watchFrame } from '../../../src/core/guidance/watch.ts'
import { gainOf } from '../../../src/core/uncertainty/correction.ts'
import { readTarget } from '../../../src/quantity/parse-target.ts'
import type { LiveState } from '../../../src/schema/messages/live-frame.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { METER_FACTS } from '../../kit/job/meter-facts.ts'

const ABOUT = { bench: { name: 'test', simulated: true }, seq: 1 }

/** What is said in a minute of watching RF power, with what the meter reads then. */
function minuteOf(target: string, watts: (atS: number) => number): { states: Set<LiveState>; words: Set<string> } {
  const read = readTarget(target, 'RF power')
  const goal = read.ok ? goalOf(read.value, null, { aim: null, rule: null }) : null
  if (!goal) throw new TypeError(target)
  const facts = METER_FACTS.power
  let watch: Watch = startWatch(facts, goal, target, 0)
  const states = new Set<LiveState>()
  const words = new Set<string>()
  for (let nowMs = facts.everyMs; nowMs <= 60_000; nowMs += facts.everyMs) {
    const value = watts(nowMs / 1000) / gainOf(facts)
    const { quantity, instrument } = facts
    const times = { beganMs: nowMs - facts.latencyMs, arrivedMs: nowMs }
    const said = { quantity, instrument, epoch: 0, ...times, raw: String(value), value, state: 'good' } as const
    watch = advanceWatch(watch, { kind: 'reading', reading: said }, nowMs)
    const { state, guide } = worded(watchFrame(watch, ABOUT))
    states.add(state)
    words.add(guide.words)
  }
  return { states, words }
}

const swing = (atS: number) => Math.sin(7 * atS)

describe('just watching while nobody turns anything, as the page stands at its first start', () => {
  test.each([
    ['3.6 .. 4.0 W', 'the supply off', (atS: number) => 0.0004 * swing(atS)],
    ['maximum', 'the power steady', (atS: number) => 3.5 + 0.002 * swing(atS)],
  ])('%s, %s: the number stays, and nobody is told of a cracked core', (target, _, watts) => {
    const { states, words } = minuteOf(target, watts)
    expect([...states]).not.toContain('no effect')
    expect([...words].filter((one) => /stuck|cracked| {2}/i.test(one))).toEqual([])
    expect([...words].some((one) => /Nothing moves yet$/.test(one))).toBe(true)
  })
})

test('a power that rises into its band is followed there', () => {
  const { states } = minuteOf('3.6 .. 4.0 W', (atS) => Math.min(3.8, 0.2 * atS) + 0.002 * swing(atS))
  expect([...states]).toEqual(expect.arrayContaining(['far', 'near', 'in', 'steady']))
})

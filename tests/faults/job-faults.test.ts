import { join } from 'node:path'
import { describe, expect, test, vi } from 'vitest'
import type { SimulatedBench } from '../../mocks/simulated-bench.ts'
import { type FastRun, runFast } from '../../src/commands/job/job-fast.ts'
import type { LiveFrame, LiveState } from '../../src/schema/messages/live-frame.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'

vi.setConfig({ testTimeout: 60_000 })

const procedure = join(import.meta.dirname, '..', 'kit', 'two-steps.yaml')

interface Story {
  readonly run: FastRun
  readonly states: readonly LiveState[]
  /** Frames whose gauge shows a number that counts, while the fault was on. */
  readonly frames: readonly LiveFrame[]
}

/** Does the two steps by the hand; `act` is called with every frame and the world, and may switch faults. */
async function tell(act: (frame: LiveFrame, world: SimulatedBench) => void): Promise<Story> {
  let world: SimulatedBench | null = null
  const states: LiveState[] = []
  const frames: LiveFrame[] = []
  const run = await runFast({
    procedure,
    seed: 3,
    warm: true,
    bands: [],
    onWorld: (opened) => {
      world = opened
    },
    onFrame: (frame) => {
      if (states.at(-1) !== frame.state) states.push(frame.state)
      frames.push(frame)
      if (world) act(frame, world)
    },
  })
  return { run, states, frames }
}

/** Acts once, the first time `when` holds. */
function once(when: (frame: LiveFrame) => boolean, what: (world: SimulatedBench) => void) {
  let done = false
  return (frame: LiveFrame, world: SimulatedBench) => {
    if (done || !when(frame)) return
    done = true
    what(world)
  }
}

const turningPower = (frame: LiveFrame) => frame.step?.id === 'power' && frame.key.keyed && frame.reading !== null
const turningVolts = (frame: LiveFrame) =>
  frame.step?.id === 'control-voltage' && frame.reading !== null && frame.state !== 'hold-off'
const allDone = (story: Story) => story.run.outcome.steps.map((step) => step.state)

describe('a meter goes wrong in mid-step', () => {
  test('unplugged at 15.6 V keyed: named, supply to normal at once, and the job goes on when it is back', async () => {
    let lowest = 99
    const pull = once(turningPower, (world) => world.faults.set('power', 'unplugged', { kind: 'always' }, { ms: 6000 }))
    const story = await tell((frame, world) => {
      pull(frame, world)
      if (frame.state === 'link lost') lowest = Math.min(lowest, world.supplyTruth().volts)
    })
    expect(story.states).toContain('link lost')
    const lost = story.frames.find((frame) => frame.state === 'link lost')
    expect(lost?.because).toMatch(/^power .*TRANSPORT_LINK_LOST/)
    expect(lowest).toBeLessThan(14)
    expect(allDone(story)).toEqual(['done', 'done'])
  })

  test('late replies while turning never become readings of another question: every value shown stays between the rails of T1', async () => {
    const story = await tell(
      once(turningVolts, (world) => world.faults.set('volts', 'late', { kind: 'next', times: 3 }, { ms: 2600 })),
    )
    const shown = story.frames.flatMap((frame) =>
      frame.step?.id === 'control-voltage' && frame.reading?.value != null ? [frame.reading.value] : [],
    )
    expect(Math.max(...shown)).toBeLessThan(4.8)
    expect(allDone(story)).toEqual(['done', 'done'])
  })

  test.each(['blank', 'overrange', 'half line', 'stray byte', 'twice', 'wrong terminator', 'pieces', 'echo'] as const)(
    'four replies that are wrong (%s): never a number that was not there, and the job goes on',
    async (fault) => {
      const story = await tell(
        once(turningVolts, (world) => world.faults.set('volts', fault, { kind: 'next', times: 4 })),
      )
      const shown = story.frames.filter((frame) => frame.step?.id === 'control-voltage' && frame.reading !== null)
      for (const { reading } of shown) {
        if (reading?.word !== '') expect(reading).toMatchObject({ value: null, digits: '' })
        else expect(reading?.value).toBeLessThan(4.8)
      }
      if (fault === 'overrange')
        expect(shown.some(({ reading }) => sentence(reading?.word ?? '') === 'Over range')).toBe(true)
      expect(allDone(story)).toEqual(['done', 'done'])
    },
  )

  test('silent for good: the reading is old, the meter is named, nothing is captured from it', async () => {
    const fall = once(turningVolts, (world) => world.faults.set('volts', 'silent'))
    const story = await tell((frame, world) => {
      fall(frame, world)
      if (frame.state === 'link lost') world.faults.clear()
    })
    expect(story.states.some((state) => state === 'old' || state === 'link lost')).toBe(true)
    expect(allDone(story)).toEqual(['done', 'done'])
  })
})

describe('the set is not as the step wants it', () => {
  test('on the wrong channel: said in words, and the value is taken on the right one', async () => {
    const story = await tell(
      once(
        (frame) => frame.step?.id === 'power' && frame.key.keyed,
        (world) => world.set.channel(19),
      ),
    )
    expect(story.frames.some((frame) => sentence(frame.because) === 'the set is on 19, the step wants 20')).toBe(true)
    expect(allDone(story)).toEqual(['done', 'done'])
  })
})

test('at the end of every one of these jobs the supply is at normal voltage or off', async () => {
  let world: SimulatedBench | null = null
  await tell((_frame, opened) => {
    world = opened
  })
  const truth = (world as SimulatedBench | null)?.supplyTruth()
  expect(truth === undefined ? 99 : truth.output === 'off' ? 0 : truth.volts).toBeLessThan(14)
})

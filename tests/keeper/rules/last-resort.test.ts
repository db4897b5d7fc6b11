import { expect, test } from 'vitest'
import type { Act } from '../../../src/keeper/rules/keeper-state.ts'
import { lastResort } from '../../../src/keeper/rules/last-resort.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'
import { command, look, run, supplyModel } from '../supply-model.ts'

/** On at 15.6 V, normal 13.8 V; each act takes 20 ms. `fails`: acts that are refused. */
function resort(about: {
  readonly fails?: (act: Act, times: number) => boolean
  readonly setVolts?: number
  readonly triesAtMost?: number
  /** The output stays on, whatever it is told. */
  readonly stuck?: boolean
}) {
  const { fails = () => false, setVolts = 15.6, triesAtMost = 20, stuck = false } = about
  const model = supplyModel()
  Object.assign(model, { on: true, setVolts, volts: setVolts })
  const acts: string[] = []
  const failures: unknown[] = []
  let nowMs = 0
  let tries = 0
  const ended = lastResort({
    perform: async (act) => {
      const beganMs = nowMs
      nowMs += 20
      run(model, nowMs)
      const name = act.do === 'volts' ? `volts ${act.volts}` : act.do
      acts.push(name)
      if (fails(act, acts.filter((one) => one === name).length)) throw new Error(`${name} refused`)
      if (act.do === 'look') return look(model, beganMs, nowMs)
      command(model, act.do === 'volts' ? act : { do: 'off' }, nowMs)
      if (stuck) model.on = true
      return null
    },
    lowestVolts: 13.8,
    pause: async () => {
      nowMs += 50
      tries += 1
      return tries < triesAtMost
    },
    failed: (error) => failures.push(error),
  })
  return { model, acts, failures, ended }
}

test('off, and once that is proved the setting goes down to normal, and off is proved again', async () => {
  const it = resort({})
  expect(worded(await it.ended)).toEqual({ proved: true, leftHigh: '' })
  expect(it.model).toMatchObject({ on: false, setVolts: 13.8 })
  expect(it.acts.slice(-3)).toEqual(['look', 'volts 13.8', 'look'])
})

test.each([13.8, 10.8])('a setting of %s V, normal or lower, is left', async (setVolts) => {
  const it = resort({ setVolts })
  expect(worded(await it.ended)).toEqual({ proved: true, leftHigh: '' })
  expect(it.acts.filter((act) => act.startsWith('volts'))).toEqual([])
})

test('an output that will not go off: its voltage goes down all the same, and off is tried until the time is up', async () => {
  const it = resort({ stuck: true, triesAtMost: 5 })
  expect(worded(await it.ended)).toEqual({ proved: false, leftHigh: '' })
  expect(it.model.setVolts).toBe(13.8)
  expect(it.acts.filter((act) => act === 'off').length).toBe(5)
})

test('a setting that is not taken is said, is tried twice, and does not undo what was proved', async () => {
  const it = resort({ fails: ({ do: what }) => what === 'volts' })
  expect(worded(await it.ended)).toEqual({
    proved: true,
    leftHigh: 'the voltage setting did not go down from 15.60 V to 13.80 V: turn it down at the supply',
  })
  expect(it.acts.filter((act) => act.startsWith('volts'))).toHaveLength(2)
  expect(it.failures).toHaveLength(2)
})

test('a finger on the output key while the setting goes down: off again', async () => {
  const it = resort({
    fails: ({ do: what }, times) => {
      if (what === 'volts' && times === 1) Object.assign(it.model, { on: true, volts: 15.6 })
      return false
    },
  })
  expect(worded(await it.ended)).toEqual({ proved: true, leftHigh: '' })
  expect(it.model).toMatchObject({ on: false, setVolts: 13.8 })
})

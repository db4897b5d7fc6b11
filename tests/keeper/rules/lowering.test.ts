import { expect, test } from 'vitest'
import { keep } from '../../../src/keeper/rules/keep.ts'
import { wontGoOff } from '../../../src/keeper/rules/keeper-safing.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { foldBench, LIMITS, workingBench } from '../fold-bench.ts'
import { supplyModel } from '../supply-model.ts'

const settings = (bench: ReturnType<typeof foldBench>, fromMs: number) =>
  bench.model.log.filter(({ atMs }) => atMs >= fromMs).map(({ what }) => what)

test('off at 15.6 V: answered as soon as off is proved, then the setting goes down to normal', () => {
  const bench = workingBench(15.6)
  const fromMs = bench.nowMs()
  bench.ask({ verb: 'off', id: 1, why: 'stop control' })
  bench.pass(1000)
  expect(settings(bench, fromMs)).toEqual(['off', 'volts 13.8'])
  expect(bench.model).toMatchObject({ on: false, setVolts: 13.8 })
  const lowered = bench.model.log.find(({ what, atMs }) => atMs >= fromMs && what === 'volts 13.8')
  const answered = bench.answer(1)
  expect(answered).toMatchObject({ kind: 'done', state: { output: 'off', setVolts: 15.6 } })
  expect(answered?.kind === 'done' && answered.state.atMs <= (lowered?.atMs ?? 0)).toBe(true)
})

test('safe by itself throws the limits away, not what normal is: 13.8 V', () => {
  const bench = workingBench(15.6)
  bench.beats = false
  bench.pass(4500)
  expect(bench.state().limits).toBeNull()
  expect(bench.model).toMatchObject({ on: false, setVolts: 13.8 })
})

test.each([13.8, 10.8])('off at %s V, normal or below it: the setting is left', (volts) => {
  const bench = workingBench(volts)
  const fromMs = bench.nowMs()
  bench.ask({ verb: 'off', id: 1, why: 'stop control' })
  bench.pass(1000)
  expect(settings(bench, fromMs)).toEqual(['off'])
})

test('normal is not known at the start: a setting left by another program goes down to 0 V', () => {
  const model = supplyModel()
  Object.assign(model, { on: true, setVolts: 15.6, volts: 15.6 })
  const bench = foldBench({ model })
  bench.pass(500)
  expect(settings(bench, 0)).toEqual(['off', 'volts 0'])
})

test('a setting that is not taken is said and noted, and off stays proved', () => {
  const bench = workingBench(15.6)
  bench.refuses = { act: 'volts', code: 'INSTRUMENT_REFUSED' }
  bench.ask({ verb: 'off', id: 1, why: 'stop control' })
  bench.pass(3000)
  expect(bench.answer(1)).toMatchObject({ kind: 'done' })
  const why =
    'the output is off, but the voltage setting did not go down from 15.60 V to 13.80 V (INSTRUMENT_REFUSED): turn it down at the supply'
  expect(bench.says.filter((one) => one.kind === 'acted')).toMatchObject([{ resting: 'safe', proved: true, why }])
  expect(bench.notes.at(-1)).toMatchObject({ what: 'left high', proved: true, why })
})

test('an ending keeper ends when the setting is down', () => {
  const bench = workingBench(15.6)
  bench.feed({ kind: 'leave', why: 'pipe closed', atMs: bench.nowMs() })
  bench.pass(1500)
  expect(bench.state().ended).toEqual({ proved: true })
  expect(bench.model).toMatchObject({ on: false, setVolts: 13.8 })
})

test('an ending keeper that is told again, whatever the reason, ends with its first proof: nobody is there to hear it', () => {
  const bench = workingBench(15.6)
  bench.feed({ kind: 'leave', why: 'pipe closed', atMs: bench.nowMs() })
  for (let ms = 0; ms < 1500; ms += 10) {
    bench.pass(10)
    if (bench.state().lowering) bench.feed({ kind: 'leave', why: 'nobody hears', atMs: bench.nowMs() })
  }
  expect(bench.state().ended).toEqual({ proved: true })
  expect(bench.notes.filter(({ what }) => what === 'going safe').map(({ why }) => why)).toEqual(['pipe closed'])
  expect(bench.model).toMatchObject({ on: false, setVolts: 13.8 })
})

test('a keeper that may not write any more: off once more, the setting is left and said, and that is the end of it', () => {
  const bench = workingBench(15.6)
  bench.feed({ kind: 'leave', why: 'pipe closed', atMs: bench.nowMs() })
  for (let ms = 0; ms < 3000; ms += 1) {
    if (bench.state().lowering?.stage === 'write')
      bench.feed({ kind: 'alarm', why: 'another process holds the supply now', atMs: bench.nowMs() })
    bench.pass(1)
  }
  expect(bench.state().ended).toEqual({ proved: true })
  expect(bench.notes.map(({ what }) => what)).toEqual(['safe', 'going safe', 'safe', 'going safe', 'safe', 'left high'])
  expect(bench.notes.at(-1)?.why).toBe(
    'the output is off, but the voltage setting did not go down from 15.60 V to 13.80 V (another process holds the supply now): turn it down at the supply',
  )
})

test('an ending keeper whose supply falls silent once it is off ends all the same, within 2 s', () => {
  const bench = workingBench(15.6)
  bench.feed({ kind: 'leave', why: 'pipe closed', atMs: bench.nowMs() })
  while (!bench.state().lowering) bench.pass(1)
  bench.deaf = true
  bench.pass(2000)
  expect(bench.state().ended).toEqual({ proved: true })
  expect(bench.notes.at(-1)).toMatchObject({ what: 'left high' })
})

test('new limits wait until the setting is down', () => {
  const bench = workingBench(15.6)
  const fromMs = bench.nowMs()
  bench.ask({ verb: 'off', id: 1, why: 'stop control' })
  while (!bench.state().lowering) bench.pass(1)
  bench.ask({ verb: 'limits', id: 2, ...LIMITS })
  bench.pass(1500)
  expect(bench.answer(2)).toMatchObject({ kind: 'done' })
  expect(settings(bench, fromMs)).toEqual(['off', 'volts 13.8', 'off', 'amps 0.8', 'trip 16.5'])
})

test('a finger on the output key while the setting goes down: off again, and said', () => {
  const bench = workingBench(15.6)
  bench.ask({ verb: 'off', id: 1, why: 'stop control' })
  while (!bench.state().lowering) bench.pass(1)
  bench.refuses = { act: 'volts', code: 'TRANSPORT_REPLY_TIMEOUT' }
  bench.model.on = true
  bench.pass(3000)
  bench.refuses = null
  bench.pass(3000)
  expect(bench.model.on).toBe(false)
  expect(
    bench.says
      .filter((one) => one.kind === 'acted')
      .some(({ why }) => /came on without being asked/.test(sentence(why))),
  ).toBe(true)
})

/** An output that stays on, whatever it is told. */
const stuckOn = (bench: ReturnType<typeof foldBench>) =>
  Object.defineProperty(bench.model, 'on', { get: () => true, set: () => {} })

test.each(['stays on', 'refuses'] as const)(
  'an output that %s at 15.6 V: off is asked for again and again, and from 1 s on its voltage goes down to the lowest, never up',
  (how) => {
    const bench = workingBench(15.6)
    if (how === 'refuses') bench.refuses = { act: 'off', code: 'INSTRUMENT_REFUSED' }
    else stuckOn(bench)
    const fromMs = bench.nowMs()
    bench.ask({ verb: 'off', id: 1, why: 'stop control' })
    bench.pass(900)
    expect(bench.model.setVolts).toBe(15.6)
    bench.pass(1100)
    expect(bench.model.setVolts).toBe(0)
    expect(bench.model.volts).toBeLessThan(0.1)
    bench.pass(3000)
    const told = settings(bench, fromMs)
    expect(told.filter((what) => what !== 'off')).toEqual(['volts 0'])
    expect(bench.acts.filter(({ act, beganMs }) => act.do === 'off' && beganMs >= fromMs).length).toBeGreaterThan(3)
    expect(bench.says.filter((one) => one.kind === 'acted')).toMatchObject([{ proved: false }])
  },
)

test('a voltage that is not taken either is tried once after each off, and off is never kept waiting for it', () => {
  const bench = workingBench(15.6)
  stuckOn(bench)
  bench.refuses = { act: 'volts', code: 'INSTRUMENT_REFUSED' }
  const fromMs = bench.nowMs()
  bench.ask({ verb: 'off', id: 1, why: 'stop control' })
  bench.pass(6000)
  const acts = bench.acts.filter(({ beganMs }) => beganMs >= fromMs).map(({ act }) => act.do)
  const [offs, downs] = (['off', 'volts'] as const).map((what) => acts.filter((act) => act === what).length)
  expect(downs).toBeGreaterThan(1)
  expect(downs).toBeLessThanOrEqual(offs ?? 0)
})

test('a keeper that may not write does not want to again before its next off', () => {
  const bench = workingBench(15.6)
  stuckOn(bench)
  bench.ask({ verb: 'off', id: 1, why: 'stop control' })
  bench.pass(800)
  const { safing, ...state } = bench.state()
  if (!safing) throw new TypeError('it is on the way to safe')
  const said = { ...state, safing: { ...safing, saidUnproved: true } }
  expect(wontGoOff(said, said.safing)).toBe(true)
  const after = keep(said, { kind: 'alarm', why: 'another process holds the supply now', atMs: bench.nowMs() }).state
  expect(after.safing && wontGoOff(after, after.safing)).toBe(false)
})

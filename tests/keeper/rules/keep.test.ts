import { describe, expect, test } from 'vitest'
import { rulesFor } from '../../../src/keeper/rules/keeper-state.ts'
import { sentence } from '../../../src/words/sentence/sentence.ts'
import { foldBench, LIMITS, workingBench } from '../fold-bench.ts'
import { supplyModel } from '../supply-model.ts'

const told = (bench: ReturnType<typeof foldBench>) => bench.says.filter((one) => one.kind !== 'state')
const acted = (bench: ReturnType<typeof foldBench>) => bench.says.filter((one) => one.kind === 'acted')
const commands = (bench: ReturnType<typeof foldBench>) => bench.model.log.map(({ what }) => what)

describe('the start', () => {
  test('a supply found off is told off once more and read back, and nobody is alarmed', () => {
    const bench = foldBench()
    bench.pass(300)
    expect(commands(bench)).toEqual(['off'])
    expect(bench.state().safing).toBeNull()
    expect(acted(bench)).toEqual([])
  })

  test('a supply found on at 15.6 V is switched off, said and noted', () => {
    const model = supplyModel()
    Object.assign(model, { on: true, setVolts: 15.6, volts: 15.6 })
    const bench = foldBench({ model })
    bench.pass(300)
    expect(model.on).toBe(false)
    expect(acted(bench)).toMatchObject([
      { resting: 'safe', proved: true, why: 'found on at the start (15.60 V, 0.30 A)' },
    ])
    expect(bench.notes.map(({ what, proved }) => [what, proved])).toEqual([
      ['found on', false],
      ['safe', true],
    ])
  })

  test.each([
    [{ verb: 'set', id: 1, volts: 12, amps: 1 }],
    [{ verb: 'on', id: 1 }],
    [{ verb: 'normal', id: 1, why: 'x' }],
  ] as const)('before the limits nothing is taken: %j', (request) => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask(request)
    expect(bench.answer(1)).toMatchObject({
      kind: 'refused',
      code: 'KEEPER_REFUSED',
      words: 'the supply is kept off until somebody starts again (the keeper has just started)',
    })
  })
})

describe('limits and on', () => {
  test('goes off, first output at 3 V and 0.1 A, off, current limit, trip, voltage, read back, on: in that order', () => {
    const bench = foldBench()
    bench.pass(300)
    bench.model.log.length = 0
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.pass(500)
    expect(bench.answer(1)).toMatchObject({ kind: 'done', state: { output: 'off', resting: 'safe', limitAmps: 0.8 } })
    expect(commands(bench)).toEqual(['off', 'amps 0.8', 'trip 16.5'])
    bench.ask({ verb: 'set', id: 2, volts: 12, amps: 0.8 })
    bench.pass(300)
    bench.model.log.length = 0
    bench.ask({ verb: 'on', id: 3 })
    bench.pass(1500)
    expect(commands(bench)).toEqual([
      ...['off', 'amps 0.1', 'volts 3', 'trip 16.5', 'volts 3', 'on'],
      ...['off', 'amps 0.8', 'trip 16.5', 'volts 12', 'on'],
    ])
    expect(bench.answer(3)).toMatchObject({ kind: 'done', state: { output: 'on', resting: 'working', setVolts: 12 } })
    const done = bench.answer(3)
    if (done?.kind === 'done') expect(done.state.volts).toBeCloseTo(12, 1)
  })

  test('a higher voltage left in the supply is down before the trip goes down', () => {
    const model = supplyModel()
    Object.assign(model, { setVolts: 20 })
    const bench = foldBench({ model })
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.pass(500)
    expect(bench.answer(1)?.kind).toBe('done')
    expect(commands(bench)).toEqual(['off', 'volts 0', 'off', 'amps 0.8', 'trip 16.5'])
  })

  test('orders given together are carried out one after the other', () => {
    const bench = workingBench(13.8, 2.5)
    expect(told(bench).map((one) => ('id' in one ? [one.kind, one.id] : one.kind))).toEqual([
      ['done', 1001],
      ['done', 1002],
      ['done', 1003],
    ])
  })

  test.each([
    ['ceiling', { ceilingVolts: 17 }, 'a ceiling of 17.00 V asked for, the bench allows 16.50 V'],
    ['current ceiling', { ceilingAmps: 4.5 }, 'a current ceiling of 4.500 A asked for, the bench allows 4.000 A'],
    [
      'trip below the ceiling',
      { tripVolts: 15.9 },
      /trip of 15\.90 V .* must not lie below the ceiling of 16\.00 V nor above 18\.15 V/,
    ],
    ['trip far above', { tripVolts: 19 }, /trip of 19\.00 V/],
    ['normal above the ceiling', { normalVolts: 16.1 }, 'normal is 16.10 V, the ceiling 16.00 V'],
    ['receive limit above the ceiling', { receiveAmps: 3 }, 'the receive limit is 3.000 A, the ceiling 2.500 A'],
  ])('refuses limits: %s', (_name, change, words) => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS, ...change })
    const matching = typeof words === 'string' ? words : expect.stringMatching(words)
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', code: 'KEEPER_REFUSED', words: matching })
    expect(bench.state().locked).not.toBeNull()
  })

  test('with the output on, limits only get tighter', () => {
    const bench = workingBench()
    bench.ask({ verb: 'limits', id: 1, ...LIMITS, ceilingVolts: 15, tripVolts: 16 })
    bench.pass(500)
    expect(bench.answer(1)?.kind).toBe('done')
    bench.ask({ verb: 'limits', id: 2, ...LIMITS })
    bench.pass(500)
    expect(bench.answer(2)).toMatchObject({
      kind: 'refused',
      words: 'the output is on, and higher limits were asked for: switch it off first',
    })
    bench.ask({ verb: 'set', id: 3, volts: 15.6, amps: 2.5 })
    expect(bench.answer(3)).toMatchObject({ kind: 'refused', words: '15.60 V asked for, the ceiling is 15.00 V' })
  })

  test('a trip that the supply does not take ends in safe, not in on', () => {
    const bench = foldBench()
    bench.pass(300)
    bench.refuses = { act: 'trip', code: 'INSTRUMENT_SETTING_DIFFERS' }
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.pass(500)
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', code: 'INSTRUMENT_SETTING_DIFFERS' })
    bench.ask({ verb: 'on', id: 2 })
    expect(bench.answer(2)?.kind).toBe('refused')
    expect(commands(bench)).not.toContain('on')
  })

  test('current at 3 V: off within half a second, proved, refused with the cause; nothing is raised', () => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.pass(500)
    bench.model.short = true
    bench.ask({ verb: 'on', id: 2 })
    bench.pass(3000)
    expect(bench.answer(2)).toMatchObject({
      kind: 'refused',
      code: 'KEEPER_SHORT',
      words: expect.stringMatching(
        /^0\.10 A flows at 3\.00 V: the supply plug may be reversed, or there is a short\. Nothing/,
      ),
    })
    expect(bench.model.on).toBe(false)
    const onAtMs = bench.model.log.find(({ what }) => what === 'on')?.atMs ?? 0
    const offAtMs = bench.model.log.find(({ what, atMs }) => what === 'off' && atMs > onAtMs)?.atMs ?? Infinity
    expect(offAtMs - onAtMs).toBeLessThan(500)
    expect(acted(bench)).toMatchObject([
      { resting: 'safe', proved: true, why: expect.stringMatching(/^0\.10 A flows/) },
    ])
    expect(bench.acts.flatMap(({ act }) => (act.do === 'volts' ? [act.volts] : []))).toEqual([3])
    bench.ask({ verb: 'on', id: 3 })
    expect(bench.answer(3)?.kind).toBe('refused')
  })

  test('a radio whose input fills up for 0.15 s is not taken for a short, and the start takes about a second', () => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.pass(500)
    const beganMs = bench.nowMs()
    bench.model.short = true
    bench.ask({ verb: 'on', id: 2 })
    while (!bench.model.on) bench.pass(10)
    bench.pass(150)
    bench.model.short = false
    while (!bench.answer(2) && bench.nowMs() < beganMs + 5000) bench.pass(10)
    expect(bench.answer(2)?.kind).toBe('done')
    expect(bench.nowMs() - beganMs).toBeLessThan(1500)
  })

  test('volts that do not come up to 3 V, though no current is measured, are a fault too', () => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.pass(500)
    bench.model.clampVolts = 1.2
    bench.ask({ verb: 'on', id: 2 })
    bench.pass(2000)
    expect(bench.answer(2)).toMatchObject({
      code: 'KEEPER_SHORT',
      words: expect.stringMatching(/^1\.20 V measured where 3\.00 V was ordered\. Nothing was raised/),
    })
    expect(bench.model.on).toBe(false)
  })

  test('a supply 2 V low of its setting: refused after 5 s, off', () => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.pass(500)
    bench.model.keyed = true // 1.24 A wanted, 0.8 A allowed after all: sags to 8.9 V
    bench.model.limitAmps = 0.8
    bench.ask({ verb: 'set', id: 2, volts: 13.8, amps: 1.1 }) // sags to 12.2 V: above 80 %, never reached
    bench.ask({ verb: 'on', id: 3 })
    bench.pass(7000)
    expect(bench.answer(3)).toMatchObject({
      kind: 'refused',
      code: 'KEEPER_SUPPLY_DISAGREES',
      words: expect.stringMatching(/^13\.80 V not reached within 5\.\d s, 12\.2\d V measured$/),
    })
    expect(bench.model.on).toBe(false)
    expect(sentence(bench.state().locked ?? '')).toMatch(/^"on" failed: 13\.80 V not reached/)
  })

  test('a tripped supply is not switched on, and not cleared', () => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.pass(500)
    bench.model.tripped = true
    bench.ask({ verb: 'on', id: 2 })
    bench.pass(1000)
    expect(bench.answer(2)?.kind).toBe('refused')
    expect(commands(bench)).not.toContain('on')
    expect(bench.model.tripped).toBe(true)
  })
})

describe('up and down', () => {
  test('up to 15.6 V at 1 V/s in steps of 0.1 V, done when measured', () => {
    const bench = workingBench()
    bench.model.log.length = 0
    const beganMs = bench.nowMs()
    bench.ask({ verb: 'set', id: 1, volts: 15.6, amps: 2.5 })
    bench.pass(1000)
    expect(bench.says.at(-1)).toMatchObject({ kind: 'state', state: { moving: true } })
    bench.pass(2000)
    expect(bench.answer(1)).toMatchObject({
      kind: 'done',
      state: { setVolts: 15.6, resting: 'working', moving: false },
    })
    const steps = bench.model.log.filter(({ what }) => what.startsWith('volts'))
    expect(steps).toHaveLength(18)
    const lastMs = steps.at(-1)?.atMs ?? 0
    expect(lastMs - beganMs).toBeGreaterThan(1700)
    expect(lastMs - beganMs).toBeLessThan(2100)
    for (const [index, step] of steps.entries()) {
      expect(Number(step.what.split(' ')[1])).toBeCloseTo(13.9 + 0.1 * index, 6)
      const before = steps[index - 1]
      if (before) expect(step.atMs - before.atMs).toBeGreaterThanOrEqual(100)
    }
  })

  test('refused upward while keyed, with the values', () => {
    const bench = workingBench()
    bench.model.keyed = true
    bench.pass(300)
    bench.ask({ verb: 'set', id: 1, volts: 15.6, amps: 2.5 })
    bench.pass(300)
    expect(bench.answer(1)).toMatchObject({
      kind: 'refused',
      code: 'KEEPER_REFUSED',
      words:
        '15.60 V asked for from 13.80 V while the set is keyed (1.240 A, keyed from 0.900 A): release the key first',
    })
    expect(bench.model.setVolts).toBe(13.8)
    expect(bench.state().locked).toBeNull()
  })

  test('keyed in the middle of the way up: it stops there and refuses', () => {
    const bench = workingBench()
    bench.ask({ verb: 'set', id: 1, volts: 15.6, amps: 2.5 })
    bench.pass(900)
    bench.model.keyed = true
    const atVolts = bench.model.setVolts
    bench.pass(1000)
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', words: expect.stringMatching(/release the key first$/) })
    expect(bench.model.setVolts - atVolts).toBeLessThan(0.11)
    expect(bench.model.on).toBe(true)
  })

  test('normal while keyed at 15.6 V: the next command to the supply is 13.8 V; the receive limit follows the key', () => {
    const bench = workingBench(15.6)
    bench.model.keyed = true
    bench.pass(300)
    bench.model.log.length = 0
    const beganMs = bench.nowMs()
    bench.ask({ verb: 'normal', id: 1, why: 'step end' })
    bench.pass(1000)
    expect(bench.model.log[0]).toMatchObject({ what: 'volts 13.8' })
    expect((bench.model.log[0]?.atMs ?? Infinity) - beganMs).toBeLessThanOrEqual(10)
    expect(bench.answer(1)).toMatchObject({
      kind: 'done',
      state: { setVolts: 13.8, limitAmps: 2.5, resting: 'normal', output: 'on' },
    })
    bench.model.keyed = false
    bench.pass(500)
    expect(bench.model.limitAmps).toBe(0.8)
    expect(bench.model.on).toBe(true)
  })

  test.each([
    ['INSTRUMENT_REFUSED', /^the receive limit was not taken: INSTRUMENT_REFUSED$/],
    ['TRANSPORT_REPLY_TIMEOUT', null],
  ])('the receive limit that follows the key meets %s', (code, why) => {
    const bench = workingBench(15.6)
    bench.model.keyed = true
    bench.pass(300)
    bench.ask({ verb: 'normal', id: 1, why: 'step end' })
    bench.pass(1000)
    bench.refuses = { act: 'amps', code }
    bench.model.keyed = false
    const acts = bench.acts.length
    bench.pass(300)
    expect(bench.acts.slice(acts).filter(({ act }) => act.do === 'amps')).toMatchObject([{ act: { amps: 0.8 } }])
    bench.refuses = null
    bench.pass(1000)
    if (why === null) expect([bench.model.on, bench.model.limitAmps]).toEqual([true, 0.8])
    else expect(acted(bench)).toMatchObject([{ why: expect.stringMatching(why), proved: true }])
  })

  test('normal from below goes up when the key is released, not before', () => {
    const bench = workingBench(12)
    bench.model.keyed = true
    bench.pass(300)
    bench.ask({ verb: 'normal', id: 1, why: 'step end' })
    bench.pass(3000)
    expect(bench.model.setVolts).toBe(12)
    expect(bench.answer(1)).toBeUndefined()
    bench.model.keyed = false
    bench.pass(3500)
    expect(bench.answer(1)).toMatchObject({
      kind: 'done',
      state: { setVolts: 13.8, limitAmps: 0.8, resting: 'normal' },
    })
  })

  test('normal that waits for the key for too long is refused, and stays below', () => {
    const bench = workingBench(12)
    bench.model.keyed = true
    bench.pass(300)
    bench.ask({ verb: 'normal', id: 1, why: 'step end' })
    bench.pass(70_000)
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', words: expect.stringMatching(/release the key first$/) })
    expect(bench.model.setVolts).toBe(12)
  })

  test('normal overtakes a way up', () => {
    const bench = workingBench()
    bench.ask({ verb: 'set', id: 1, volts: 15.6, amps: 2.5 })
    bench.pass(800)
    bench.ask({ verb: 'normal', id: 2, why: 'page gone' })
    bench.pass(1000)
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', words: '"normal" came before it was done' })
    expect(bench.answer(2)?.kind).toBe('done')
    expect(bench.model.setVolts).toBe(13.8)
  })

  test('a set that follows a normal waits for it', () => {
    const bench = workingBench(15.6)
    bench.ask({ verb: 'normal', id: 1, why: 'step end' })
    bench.ask({ verb: 'set', id: 2, volts: 14, amps: 1 })
    bench.pass(2500)
    expect(bench.answer(1)?.kind).toBe('done')
    expect(bench.answer(2)).toMatchObject({ kind: 'done', state: { setVolts: 14, limitAmps: 1 } })
  })

  test('a missed reply on the way down is tried once more; a second ends in safe', () => {
    const once = workingBench(15.6)
    once.refuses = { act: 'volts', code: 'TRANSPORT_REPLY_TIMEOUT' }
    once.ask({ verb: 'normal', id: 1, why: 'step end' })
    once.pass(350)
    once.refuses = null
    once.pass(1500)
    expect(once.answer(1)?.kind).toBe('done')

    const twice = workingBench(15.6)
    twice.refuses = { act: 'volts', code: 'TRANSPORT_REPLY_TIMEOUT' }
    twice.ask({ verb: 'normal', id: 1, why: 'step end' })
    twice.pass(1500)
    expect(twice.answer(1)).toMatchObject({ kind: 'refused', code: 'TRANSPORT_REPLY_TIMEOUT' })
    expect(twice.model.on).toBe(false)
    expect(sentence(twice.state().locked ?? '')).toMatch(/^"normal" failed/)
  })

  test.each([
    ['above the ceiling', 16.2, 1, '16.20 V asked for, the ceiling is 16.00 V'],
    ['ten times too much', 156, 1, '156.00 V asked for, the ceiling is 16.00 V'],
    ['more current than allowed', 13.8, 3, 'a current limit of 3.000 A asked for, the ceiling is 2.500 A'],
  ])('refuses a set %s', (_name, volts, amps, words) => {
    const bench = workingBench()
    bench.ask({ verb: 'set', id: 1, volts, amps })
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', code: 'KEEPER_REFUSED', words })
  })
})

describe('safe by itself', () => {
  test('3 s without a beat: off, read back, said, noted; nothing is taken until the limits come again', () => {
    const bench = workingBench(15.6)
    bench.model.keyed = true
    bench.pass(700)
    bench.beats = false
    const lastBeatMs = bench.state().beatMs
    bench.pass(4000)
    const off = bench.model.log.findLast(({ what }) => what === 'off')
    const offMs = off?.atMs ?? Infinity
    expect(bench.model.log.at(-1)?.what).toBe('volts 13.8')
    expect(offMs - lastBeatMs).toBeGreaterThanOrEqual(3000)
    expect(offMs - lastBeatMs).toBeLessThan(3100)
    expect(acted(bench)).toMatchObject([{ resting: 'safe', why: 'no beat for 3.0 s', proved: true }])
    expect(bench.notes.map(({ what, why }) => [what, why])).toEqual([
      ['safe', 'the keeper has started'],
      ['going safe', 'no beat for 3.0 s'],
      ['safe', 'no beat for 3.0 s'],
    ])
    bench.beats = true
    bench.model.keyed = false
    bench.ask({ verb: 'on', id: 1 })
    bench.pass(2000)
    expect(bench.answer(1)).toMatchObject({
      kind: 'refused',
      words: 'the supply is kept off until somebody starts again (no beat for 3.0 s)',
    })
    expect(bench.model.on).toBe(false)
    bench.ask({ verb: 'limits', id: 2, ...LIMITS })
    bench.ask({ verb: 'on', id: 3 })
    bench.pass(2000)
    expect(bench.answer(3)).toMatchObject({ kind: 'done', state: { setVolts: 13.8, output: 'on', resting: 'normal' } })
  })

  test('a trip', () => {
    const bench = workingBench(15.6)
    bench.model.on = false
    bench.model.tripped = true
    bench.pass(400)
    expect(acted(bench)).toMatchObject([{ why: 'the supply has tripped (set to 15.60 V)', proved: true }])
    bench.ask({ verb: 'limits', id: 1, ...LIMITS })
    bench.pass(1000)
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', code: 'KEEPER_TRIPPED' })
    bench.model.tripped = false // cleared at the supply
    bench.ask({ verb: 'limits', id: 2, ...LIMITS })
    bench.pass(1000)
    expect(bench.answer(2)).toMatchObject({ kind: 'done', state: { output: 'off' } })
  })

  test('constant current is reported, and below 80 % of the setting for 0.5 s it is the current limit', () => {
    const bench = workingBench(13.8, 0.8)
    bench.pass(1000)
    bench.model.keyed = true // 8.9 V left
    const beganMs = bench.nowMs()
    bench.pass(300)
    expect(bench.says.at(-1)).toMatchObject({ kind: 'state', state: { regulation: 'current', output: 'on' } })
    bench.pass(1000)
    expect(acted(bench)).toMatchObject([
      { why: expect.stringMatching(/^current limit: 8\.9\d V at 0\.800 A, set to 13\.80 V$/) },
    ])
    const offMs = bench.model.log.at(-1)?.atMs ?? Infinity
    expect(offMs - beganMs).toBeGreaterThan(500)
    expect(offMs - beganMs).toBeLessThan(900)
  })

  test('a dip of 0.3 s is left alone', () => {
    const bench = workingBench(13.8, 0.8)
    bench.pass(1000)
    bench.model.keyed = true
    bench.pass(300)
    bench.model.keyed = false
    bench.pass(1000)
    expect(acted(bench)).toEqual([])
  })

  test('unreadable for 1 s: off blindly, again and again, said as not proved; proved when it answers', () => {
    const bench = workingBench(15.6)
    bench.deaf = true
    bench.pass(6000)
    const offs = bench.acts.filter(({ act }) => act.do === 'off').length
    expect(offs).toBeGreaterThan(5)
    expect(acted(bench)).toMatchObject([{ why: 'the supply could not be read for 1.0 s', proved: false }])
    bench.deaf = false
    bench.pass(2500)
    expect(bench.model.on).toBe(false)
    expect(acted(bench)).toMatchObject([{ proved: false }, { proved: true }])
    expect(bench.notes.map(({ what }) => what)).toEqual(['safe', 'going safe', 'not proved', 'safe'])
  })

  test('the states say null while the supply cannot be read', () => {
    const bench = workingBench()
    bench.deaf = true
    bench.pass(600)
    expect(bench.says.at(-1)).toMatchObject({
      kind: 'state',
      state: { volts: null, amps: null, output: 'unknown', setVolts: null },
    })
  })

  test('the computer slept for 30 s', () => {
    const bench = workingBench(15.6)
    bench.feed({ kind: 'tick', atMs: bench.nowMs(), bootMs: bench.nowMs() + 30_000 })
    bench.pass(300)
    expect(acted(bench)).toMatchObject([
      { why: expect.stringMatching(/^the computer slept or stood still for (29|30)\.\d s$/), proved: true },
    ])
  })

  test('switched on at the front panel', () => {
    const bench = workingBench()
    bench.ask({ verb: 'off', id: 1, why: 'stop control' })
    bench.pass(1500)
    bench.model.on = true
    bench.pass(800)
    expect(acted(bench)).toMatchObject([{ why: 'the output came on without being asked for (13.80 V)', proved: true }])
    expect(bench.model.on).toBe(false)
  })

  test('switched off at the front panel', () => {
    const bench = workingBench()
    bench.model.on = false
    bench.pass(800)
    expect(acted(bench)).toMatchObject([{ why: 'the output went off at the supply', proved: true }])
  })

  test('turned up at the front panel beyond the ceiling', () => {
    const bench = workingBench()
    bench.model.setVolts = 16.4
    bench.pass(800)
    expect(acted(bench)).toMatchObject([{ why: 'the supply is set to 16.40 V, the ceiling is 16.00 V' }])
    expect(bench.model.on).toBe(false)
  })

  test('pipe closed: off, and then the end', () => {
    const bench = workingBench(15.6)
    bench.feed({ kind: 'leave', why: 'the service closed the pipe', atMs: bench.nowMs() })
    bench.pass(500)
    expect(bench.model.on).toBe(false)
    expect(bench.state().ended).toEqual({ proved: true })
  })

  test('pipe closed and the supply dumb: given up after 30 s, not proved', () => {
    const bench = workingBench(15.6)
    bench.deaf = true
    bench.feed({ kind: 'leave', why: 'the service closed the pipe', atMs: bench.nowMs() })
    bench.pass(29_000)
    expect(bench.state().ended).toBeNull()
    bench.pass(2000)
    expect(bench.state().ended).toEqual({ proved: false })
  })

  test('whoever waits is refused when the output goes off', () => {
    const bench = workingBench()
    bench.ask({ verb: 'set', id: 1, volts: 15.6, amps: 2.5 })
    bench.pass(300)
    bench.ask({ verb: 'off', id: 2, why: 'stop control' })
    bench.pass(500)
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', words: 'the output was switched off: stop control' })
    expect(bench.answer(2)).toMatchObject({ kind: 'done', state: { output: 'off', resting: 'safe' } })
  })
})

describe('off on request', () => {
  test('nothing is taken after it before the limits of a new wish; then on gives normal voltage, not what was set before', () => {
    const bench = workingBench(15.6)
    bench.ask({ verb: 'off', id: 1, why: 'stop control' })
    bench.pass(500)
    expect(acted(bench)).toEqual([])
    bench.ask({ verb: 'set', id: 2, volts: 15.6, amps: 2.5 })
    bench.ask({ verb: 'on', id: 3 })
    bench.ask({ verb: 'normal', id: 4, why: 'step end' })
    bench.ask({ verb: 'limits', id: 5, wish: 1, ...LIMITS })
    bench.pass(1500)
    for (const id of [2, 3, 4])
      expect(bench.answer(id)).toMatchObject({
        kind: 'refused',
        words: expect.stringMatching(/kept off.*stop control/),
      })
    expect(bench.answer(5)).toMatchObject({ kind: 'refused', words: 'it is not wanted any more' })
    expect(bench.model.on).toBe(false)
    bench.ask({ verb: 'limits', id: 6, ...LIMITS })
    bench.ask({ verb: 'on', id: 7 })
    bench.pass(2500)
    expect(bench.answer(7)).toMatchObject({
      kind: 'done',
      state: { setVolts: 13.8, limitAmps: 0.8, resting: 'normal' },
    })
  })

  test('not proved within 3 s: KEEPER_NOT_SAFE to whoever asked', () => {
    const bench = workingBench(15.6)
    bench.deaf = true
    bench.ask({ verb: 'off', id: 1, why: 'stop control' })
    bench.pass(4000)
    expect(bench.answer(1)).toMatchObject({
      kind: 'refused',
      code: 'KEEPER_NOT_SAFE',
      words: 'the output is not proved off, the supply cannot be read',
    })
  })

  test('an output that says off but keeps its volts is not safe', () => {
    const bench = workingBench(13.8)
    const stuck = bench.model
    bench.ask({ verb: 'off', id: 1, why: 'stop control' })
    Object.defineProperty(stuck, 'volts', { get: () => 13.8, set: () => {} })
    bench.pass(4000)
    expect(bench.answer(1)).toMatchObject({
      kind: 'refused',
      code: 'KEEPER_NOT_SAFE',
      words: 'the output is not proved off: it says off and 13.80 V remain',
    })
    expect(acted(bench)).toMatchObject([{ proved: false }])
  })
})

test.each([
  [1, 3000, 1, 2000],
  [0.5, 3000, 1, 1000],
  [10, 5000, 5, 20_000],
])(
  'on a clock %d times faster: beat lost after %d ms of it, %d times the patience, asleep after %d ms',
  (times, beatMs, patience, sleptMs) => {
    const rules = rulesFor('supply', 16.5, 4, times)
    expect([rules.beatLostMs, rules.patience, rules.sleptMs]).toEqual([beatMs, patience, sleptMs])
  },
)

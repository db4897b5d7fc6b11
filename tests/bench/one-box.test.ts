import { describe, expect, test } from 'vitest'
import { openBench } from '../../src/bench/open-bench.ts'
import { readYamlText } from '../../src/schema/door/yaml-door.ts'
import { DriverFile } from '../../src/schema/files/driver-file.ts'
import type { Reading } from '../../src/schema/kept/reading.ts'
import { benchStage } from '../kit/job/bench-stage.ts'
import { never } from '../kit/links/instrument-deps.ts'
import type { Answer } from '../kit/links/scripted-instrument.ts'

/** Three functions whose replies have one form and one range: only where the box stands tells them apart. */
const TEXT = `
driver: box
format: 1
title: Box
manual: test
identify: { ask: "*IDN?", looks like: "*,*,*,*" }
link: { reply within: 1 s, after a missed reply: sentinel, errors: "SYST:ERR?" }
functions:
  one: { select: "INST:SEL ONE", takes: 1 s, read back: "INST:SEL?", answers: ONE, page: "1" }
  two: { select: "INST:SEL TWO", takes: 1 s, read back: "INST:SEL?", answers: TWO, page: "1" }
  three: { select: "INST:SEL THREE", takes: 1 s, read back: "INST:SEL?", answers: THREE, page: "1" }
readings:
  DC voltage: { function: one, ask: "READ?", unit: V, takes: 0.2 s, every: 0.25 s, step: 1 mV, noise: { and: 1 mV }, accuracy: { and: 1 mV }, sample: { reply: "1", value: 1 V }, page: "1" }
  audio level: { function: two, ask: "READ?", unit: V, takes: 0.2 s, every: 0.25 s, step: 1 mV, noise: { and: 1 mV }, accuracy: { and: 1 mV }, sample: { reply: "1", value: 1 V }, page: "1" }
  RF power: { function: three, ask: "READ?", unit: W, takes: 0.2 s, every: 0.25 s, step: 1 mW, noise: { and: 1 mW }, accuracy: { and: 1 mW }, sample: { reply: "1", value: 1 W }, page: "1" }
`
/** One that cannot be asked where it stands as well. */
const BOXES = {
  asked: readYamlText(TEXT, 'box.yaml', DriverFile),
  mute: readYamlText(TEXT.replace(/read back: "INST:SEL\?", answers: [A-Z]+, /g, ''), 'box.yaml', DriverFile),
}
const VALUES = { ONE: 1, TWO: 2, THREE: 3 } as const
type Stand = keyof typeof VALUES
const TRUE_VALUE: Readonly<Record<string, number>> = { 'DC voltage': 1, 'audio level': 2, 'RF power': 3 }

/** A box that answers READ? with the value of whatever function it stands in; for 1 s after a change with nothing to go by. */
async function boxStage(kind: keyof typeof BOXES = 'asked', more: Record<string, Answer> = {}) {
  const stage = benchStage({ box: { driver: 'box', at: 'memory:box' } })
  const { clock } = stage
  let stands: Stand = 'ONE'
  let readyMs = 0
  const changes: { readonly to: Stand; readonly atMs: number }[] = []
  const turn = (to: Stand) => {
    if (to === stands) return
    stands = to
    readyMs = clock.nowMs() + 1000
    changes.push({ to, atMs: clock.nowMs() })
  }
  const to = (name: Stand) => () => {
    turn(name)
    return null
  }
  const script = stage.script('box', {
    'INST:SEL ONE': to('ONE'),
    'INST:SEL TWO': to('TWO'),
    'INST:SEL THREE': to('THREE'),
    'INST:SEL?': () => stands,
    'READ?': () => (clock.nowMs() < readyMs ? '77' : String(VALUES[stands])),
    ...more,
  })
  script.delayMs = 20
  const readings: Reading[] = []
  const drivers = new Map([['box', BOXES[kind]]])
  const bench = await clock.runUntil(openBench({ ...stage.options, drivers, signal: never() }))
  bench.onReading((reading) => readings.push(reading))
  return { ...stage, bench, readings, script, changes, turn }
}

const wrong = (readings: readonly Reading[]) =>
  readings.filter(({ value, quantity }) => value !== null && value !== TRUE_VALUE[quantity])

test('each quantity is read in its own function, 1 s after the change, and the first of the list gets the time', async () => {
  const { clock, bench, readings, changes } = await boxStage()
  bench.watch(['RF power', 'DC voltage', 'audio level'])
  await clock.advance(10_000)
  bench.raiseEpoch('key')
  await clock.advance(10_000)
  bench.raiseEpoch('key')
  await clock.advance(5000)
  expect(wrong(readings)).toEqual([])
  const count = (quantity: string) => readings.filter((reading) => reading.quantity === quantity).length
  expect([count('DC voltage'), count('audio level')]).toEqual([1, 1])
  expect(count('RF power')).toBeGreaterThan(60)
  for (const { beganMs } of readings) {
    const last = changes.findLast(({ atMs }) => atMs <= beganMs)
    expect(beganMs - (last?.atMs ?? -1000)).toBeGreaterThanOrEqual(1000)
  }
  await clock.runUntil(bench.close())
})

test('a visit after a change belongs to the new epoch; a list of one brings none', async () => {
  const { clock, bench, readings, changes } = await boxStage()
  bench.watch(['RF power'])
  await clock.advance(10_000)
  bench.watch(['RF power', 'DC voltage', 'audio level'])
  await clock.advance(10_000)
  readings.length = 0
  const epoch = bench.raiseEpoch('key')
  await clock.advance(10_000)
  const visits = readings.filter(({ quantity }) => quantity === 'audio level')
  expect(visits.map((one) => [one.epoch, one.value])).toEqual([[epoch, 2]])
  changes.length = 0
  bench.watch(['RF power'])
  bench.raiseEpoch('key')
  await clock.advance(10_000)
  expect(changes).toEqual([])
  await clock.runUntil(bench.close())
})

describe('whenever somebody turns the function by hand, no reading is given to the wrong quantity, and it comes back', () => {
  const moments = Array.from({ length: 60 }, (_, index) => 3 * index + 1)
  test.each([0, 1000, 2000, 3000, 4000, 5000])('from %d ms, every 3 ms', async (fromMs) => {
    for (const ms of moments) {
      const { clock, bench, readings, turn } = await boxStage()
      bench.watch(['RF power', 'DC voltage', 'audio level'])
      await clock.advance(fromMs + ms)
      turn('TWO')
      await clock.advance(6000)
      expect(wrong(readings), `turned at ${fromMs + ms} ms`).toEqual([])
      const last = readings.at(-1)
      expect([last?.quantity, last?.value]).toEqual(['RF power', 3])
      expect(clock.nowMs() - (last?.arrivedMs ?? 0)).toBeLessThan(600)
      await clock.runUntil(bench.close())
    }
  })
})

test('after a power cut it does not trust the function it was in', async () => {
  const { clock, bench, readings, script, turn } = await boxStage()
  bench.watch(['RF power'])
  await clock.advance(5000)
  script.plug(false)
  turn('ONE')
  await clock.advance(4000)
  script.plug(true)
  await clock.advance(10_000)
  expect(wrong(readings)).toEqual([])
  expect(readings.at(-1)).toMatchObject({ quantity: 'RF power', value: 3 })
  expect(clock.nowMs() - (readings.at(-1)?.arrivedMs ?? 0)).toBeLessThan(600)
  await clock.runUntil(bench.close())
})

test('one that missed a question may have been off for a moment: it is put in its function again before a reading counts', async () => {
  const { clock, bench, readings, script, turn } = await boxStage('mute')
  bench.watch(['RF power'])
  await clock.advance(5000)
  const reads = script.answers['READ?'] ?? null
  script.answers['READ?'] = () => {
    script.answers['READ?'] = reads
    turn('ONE')
    return null
  }
  await clock.advance(10_000)
  expect(script.heard.filter(({ text }) => text === 'INST:SEL THREE')).toHaveLength(2)
  expect(wrong(readings)).toEqual([])
  expect(readings.at(-1)).toMatchObject({ quantity: 'RF power', value: 3 })
  await clock.runUntil(bench.close())
})

test('one that can be asked nothing is put in its function again after 1.5 s without a reading', async () => {
  const stage = await boxStage('mute', { '*ESR?': null })
  stage.bench.watch(['RF power'])
  await stage.clock.advance(5000)
  stage.bench.watch([])
  await stage.clock.advance(500)
  stage.turn('ONE') // switched off and on
  await stage.clock.advance(2500)
  stage.bench.watch(['RF power'])
  await stage.clock.advance(4000)
  expect(wrong(stage.readings)).toEqual([])
  expect(stage.readings.at(-1)).toMatchObject({ quantity: 'RF power', value: 3 })
  expect(stage.clock.nowMs() - (stage.readings.at(-1)?.arrivedMs ?? 0)).toBeLessThan(600)
  await stage.clock.runUntil(stage.bench.close())
})

test('nothing but the list moves the function: an idle box is left where it stands', async () => {
  const { clock, bench, changes, script } = await boxStage()
  await clock.advance(30_000)
  expect(changes).toEqual([])
  expect(script.heard.some(({ text }) => text.startsWith('READ'))).toBe(false)
  await clock.runUntil(bench.close())
})

describe('after a change of function the first reading may be that of the function before', () => {
  /** A box whose READ? answers what it measured last: after a change once more what it measured before it. */
  const tardyStage = async (driver: DriverFile) => {
    const stage = benchStage({ box: { driver: 'box', at: 'memory:box' } })
    let stands: Stand = 'ONE'
    let measured: Stand = 'ONE'
    const to = (name: Stand) => () => {
      stands = name
      return null
    }
    const script = stage.script('box', {
      'INST:SEL ONE': to('ONE'),
      'INST:SEL TWO': to('TWO'),
      'INST:SEL THREE': to('THREE'),
      'INST:SEL?': () => stands,
      'READ?': () => {
        const said = String(VALUES[measured])
        measured = stands
        return said
      },
    })
    script.delayMs = 20
    const drivers = new Map([['box', driver]])
    const bench = await stage.clock.runUntil(openBench({ ...stage.options, drivers, signal: never() }))
    bench.onReading((reading) => stage.readings.push(reading))
    bench.watch(['RF power', 'DC voltage', 'audio level'])
    await stage.clock.advance(8000)
    bench.raiseEpoch('supply')
    await stage.clock.advance(8000)
    await stage.clock.runUntil(bench.close())
    return stage
  }

  test('it is thrown away', async () => {
    const { readings } = await tardyStage(BOXES.asked)
    expect(wrong(readings)).toEqual([])
    expect(new Set(readings.map(({ quantity }) => quantity)).size).toBe(3)
  })

  test('but where the driver says with its page that it is new, it is believed', async () => {
    const said = TEXT.replaceAll('page: "1" }\nreadings', 'first reading is new: "2-7", page: "1" }\nreadings').replace(
      /answers: (ONE|TWO)/g,
      'first reading is new: "2-7", answers: $1',
    )
    const { readings } = await tardyStage(readYamlText(said, 'box.yaml', DriverFile))
    expect(wrong(readings).length).toBeGreaterThan(0)
  })
})

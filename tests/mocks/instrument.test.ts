import { expect, test } from 'vitest'
import { query } from '../../mocks/unit/command-table.ts'
import { createFaultBoard } from '../../mocks/unit/faults.ts'
import { createInstrument } from '../../mocks/unit/instrument.ts'
import { seededRng } from '../../src/system/rng.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'

function meter() {
  const clock = virtualClock()
  const rng = seededRng(1)
  let resets = 0
  const instrument = createInstrument(
    {
      name: 'thing',
      kind: 'THING',
      serial: 'SIM0009',
      commands: [query('THING[:VALue]?', () => '7')],
      reset: () => {
        resets += 1
      },
    },
    { clock, rng, faults: createFaultBoard(clock, rng, () => false) },
  )
  const line = () => {
    const heard: string[] = []
    const session = instrument.attach({ send: (bytes) => heard.push(bytes) })
    return { heard, session }
  }
  return { clock, instrument, line, resets: () => resets }
}

test('a new session ends the old one: what the old one asked for is never sent', async () => {
  const { clock, line } = meter()
  const first = line()
  first.session.receive('THING?\n')
  const second = line()
  second.session.receive('THING:VAL?\n')
  await clock.advance(100)
  expect(first.heard).toEqual([])
  expect(second.heard).toEqual(['7\n'])
})

test('a question in any two pieces is answered once', async () => {
  const text = 'THING?;*ESE?\r\n'
  for (let cut = 1; cut < text.length; cut += 1) {
    const { clock, line } = meter()
    const { heard, session } = line()
    session.receive(text.slice(0, cut))
    await clock.advance(20)
    session.receive(text.slice(cut))
    await clock.advance(20)
    expect(heard).toEqual(['7;0\n'])
  }
})

test('a power cycle resets, says "power on" once, and forgets its errors', async () => {
  const { clock, instrument, line, resets } = meter()
  const before = line()
  before.session.receive('*ESR?;NONSENSE\n')
  await clock.advance(20)
  instrument.powerCycle()
  expect(resets()).toBe(1)
  const after = line()
  after.session.receive('*ESR?;:SYST:ERR?\n')
  await clock.advance(20)
  expect(after.heard).toEqual(['128;0,"No error"\n'])
})

test('an empty message and empty units say nothing and are no error', async () => {
  const { clock, line } = meter()
  const { heard, session } = line()
  session.receive('\n  \n;;\nSYST:ERR?\n')
  await clock.advance(20)
  expect(heard).toEqual(['0,"No error"\n'])
})

import { describe, expect, test } from 'vitest'
import { RIGHT } from '../../mocks/plant/adjusters.ts'
import { type Client, type MemoryBench, memoryBench, numberOf } from './kit.ts'

const NOT_A_NUMBER = '+9.91E+37'

async function keyed(): Promise<MemoryBench & { box: Client; ask(text: string): Promise<string | null> }> {
  const made = await memoryBench({ kind: 'one-box', asFound: RIGHT })
  await made.power(13.8)
  const { set } = made.bench
  set.channel(20)
  set.microphone('oscillator')
  const box = made.client('testset')
  const ask = (text: string) => made.run(() => box.ask(text, 3000))
  for (const text of ['SOUR2:FREQ 1000', 'SOUR2:VOLT 0.03', 'OUTP2 ON']) await made.run(() => box.tell(text))
  set.key(true)
  await made.clock.advance(2500)
  return { ...made, box, ask }
}

describe('one function at a time', () => {
  test.each([
    ['COUNter', 'READ:FREQ?', 27.205e6, 2000],
    ['POW', 'READ:POW?', 3.67, 0.4],
    ['modulation', 'READ:FM:DEV?', 1800, 200],
  ])('%s: nothing but 9.91E+37 for 1 s after the change, then %s is %d', async (name, question, value, within) => {
    const { ask, run, box, clock } = await keyed()
    await run(() => box.tell('INST:SEL MOD'))
    await clock.advance(1500)
    await run(() => box.tell('INST:SEL POW'))
    await clock.advance(1500)
    await run(() => box.tell(`INST:SEL ${name}`))
    const first = await ask(question)
    if (name !== 'POW') expect(first?.split(',')[0]).toBe(NOT_A_NUMBER) // POW it was in already
    await clock.advance(1000)
    const second = numberOf((await ask(question))?.split(',')[0] ?? '')
    expect(Math.abs(second - value)).toBeLessThan(within)
    expect(await ask('SYST:ERR?')).toBe('0,"No error"')
  })

  test.each([
    ['COUN', ['READ:POW?', 'READ:FM:DEV?', 'READ:AM:DEPT?', 'FETC:POW?']],
    ['POW', ['READ:FREQ?', 'MEAS:FREQ?', 'READ:FM:DEV?']],
    ['MOD', ['READ:FREQ?', 'READ:POW?', 'FETC:FREQ?']],
  ])('in %s the questions of the others are -221, unanswered', async (name, questions) => {
    const { ask, run, box, clock } = await keyed()
    await run(() => box.tell(`INST:SEL ${name}`))
    await clock.advance(1500)
    for (const question of questions) {
      expect(await ask(question)).toBeNull()
      expect(await ask('SYST:ERR?')).toMatch(/^-221,/)
    }
  })

  test('the last reading of before a change is gone: FETCh is -230 until there is a new one', async () => {
    const { ask, run, box, clock } = await keyed()
    await run(() => box.tell('INST:SEL POW'))
    await clock.advance(1500)
    const read = await ask('READ:POW?')
    expect(await ask('FETC:POW?')).toBe(read)
    await run(() => box.tell('INST:SEL COUN'))
    await run(() => box.tell('INST:SEL POW'))
    expect(await run(() => box.ask('FETC:POW?', 100))).toBeNull()
    expect(await ask('SYST:ERR?')).toMatch(/^-230,/)
    expect(await ask('READ:POW?')).toBe(NOT_A_NUMBER)
    expect(await ask('FETC:POW?')).toBeNull()
  })

  test('the tone runs on through changes of function', async () => {
    const { ask, run, box, clock } = await keyed()
    await run(() => box.tell('INST:SEL MOD'))
    await clock.advance(2000)
    const before = numberOf((await ask('READ:FM:DEV?'))?.split(',')[0] ?? '')
    await run(() => box.tell('INST:SEL COUN'))
    expect(await ask('OUTP2?')).toBe('1')
    await run(() => box.tell('INST:SEL MOD'))
    await clock.advance(2000)
    const after = numberOf((await ask('READ:FM:DEV?'))?.split(',')[0] ?? '')
    expect(Math.abs(after - before)).toBeLessThan(60)
  })

  test('INST:SEL? says where it stands, in the short form; another word is -224', async () => {
    const { ask, run, box } = await keyed()
    await run(() => box.tell('INSTrument:SELect POWER'))
    expect(await ask('INST:SEL?')).toBe('POW')
    await run(() => box.tell('INST:SEL SCOPE'))
    expect(await ask('SYST:ERR?')).toMatch(/^-224,/)
    expect(await ask('INST?')).toBe('POW')
  })
})

describe('the RF generator on the same socket', () => {
  test('is not switched on against a carrier: -221, and it stays off', async () => {
    const { ask, run, box } = await keyed()
    await run(() => box.tell('OUTP1 ON'))
    expect(await ask('SYST:ERR?')).toMatch(/^-221,/)
    expect(await ask('OUTP1?')).toBe('0')
  })

  test('while it is on nothing is measured; a carrier into it switches it off and queues -240', async () => {
    const { ask, run, box, clock, bench } = await keyed()
    bench.set.key(false)
    await clock.advance(500)
    for (const text of ['INST:SEL POW', 'SOUR1:FREQ 27.205E6', 'SOUR1:POW -47', 'OUTP1 ON'])
      await run(() => box.tell(text))
    await clock.advance(1500)
    expect(await ask('OUTP1?')).toBe('1')
    expect(await ask('READ:POW?')).toBe(NOT_A_NUMBER)
    expect(await ask('SYST:ERR?')).toBe('0,"No error"')
    bench.set.key(true)
    await clock.advance(500)
    expect(await ask('SYST:ERR?')).toMatch(/^-240,/)
    expect(await ask('OUTP1?')).toBe('0')
    await clock.advance(500)
    expect(numberOf(await ask('READ:POW?'))).toBeGreaterThan(3)
  })
})

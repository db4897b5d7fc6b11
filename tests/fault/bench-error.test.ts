import { expect, test } from 'vitest'
import { BenchError, happenedOf, plainWords, wholeWords, wordsOf } from '../../src/fault/bench-error.ts'
import { said } from '../../src/words/said/said.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'

const BUSY = 'Another program holds the instrument: close it there, or wait'
const fault = () => new BenchError('TRANSPORT_BUSY', 'psu (tcp://10.0.0.1:5025)', 'it hung up')

test('the message says who, what happened, the cure and the code', () => {
  expect(fault().message).toBe(`psu (tcp://10.0.0.1:5025): it hung up. ${BUSY} [TRANSPORT_BUSY]`)
  expect(sentence(wholeWords(fault()))).toBe(fault().message)
  expect(wordsOf(fault())).toBe(fault().message)
})

test('cause and cure are told as data: what happened begins with a capital, and the cure is a sentence of its own', () => {
  const plain = plainWords(fault())
  expect(plain).toEqual({
    said: 'fault.plain',
    with: { happened: 'it hung up', next: { said: 'next.transport-busy' } },
  })
  expect(sentence(plain)).toBe(`It hung up. ${BUSY}`)
})

test('words handed on bring their cure along, which is not told twice', () => {
  const handedOn = (happened: Parameters<typeof plainWords>[0] & object) =>
    new BenchError('TRANSPORT_BUSY', 'bench', plainWords(happened)).message
  expect(handedOn(fault())).toBe(`bench: It hung up. ${BUSY} [TRANSPORT_BUSY]`)
  const asText = new BenchError('TRANSPORT_BUSY', 'bench', sentence(plainWords(fault())))
  expect(asText.message).toBe(`bench: It hung up. ${BUSY} [TRANSPORT_BUSY]`)
})

test('another cure than the one that was handed on is told besides', () => {
  const other = new BenchError('TRANSPORT_CLOSED', 'bench', plainWords(fault()))
  expect(other.message).toBe(`bench: It hung up. ${BUSY}. Open the bench again [TRANSPORT_CLOSED]`)
})

test('what else is thrown is told in its own words', () => {
  const error = new TypeError('no such thing')
  for (const told of [happenedOf(error), plainWords(error), wholeWords(error), wordsOf(error)])
    expect(told).toBe('no such thing')
  expect(wordsOf('cut')).toBe('cut')
  const words = said('guide.wait')
  expect(happenedOf(new BenchError('TRANSPORT_BUSY', 'psu', words))).toEqual(words)
})

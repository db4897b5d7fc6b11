import { expect, test } from 'vitest'
import { type Spoken, speak } from '../../../web/view/status.ts'

test('a reading that crosses an edge ten times a second for a minute makes at most 20 messages', () => {
  let spoken: Spoken = { said: '', saidAtMs: Number.NEGATIVE_INFINITY }
  let messages = 0
  for (let atMs = 0; atMs < 60_000; atMs += 100) {
    const next = speak(spoken, `message ${atMs}`, atMs)
    if (next.said !== spoken.said && next.said !== '') messages += 1
    spoken = next
  }
  expect(messages).toBe(20)
})

test('what still holds is not said again, and what is over may be said anew', () => {
  const first = speak({ said: '', saidAtMs: -9_999 }, 'captured 3.85 W', 0)
  expect(speak(first, 'captured 3.85 W', 5_000)).toBe(first)
  const over = speak(first, '', 4_000)
  expect(over.said).toBe('')
  expect(speak(over, 'captured 3.85 W', 8_000).said).toBe('captured 3.85 W')
})

test('what holds no more is gone after a second, and the next message waits its turn', () => {
  const told = speak({ said: '', saidAtMs: -9_999 }, 'Release the key', 0)
  expect(speak(told, 'Rest', 900).said).toBe('Release the key')
  const gone = speak(told, 'Rest', 1_000)
  expect(gone.said).toBe('')
  expect(speak(gone, 'Rest', 2_900)).toBe(gone)
  expect(speak(gone, 'Rest', 3_000).said).toBe('Rest')
})

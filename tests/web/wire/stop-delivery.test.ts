import { describe, expect, test } from 'vitest'
import { type OwedStop, owedStop, STOP_ANSWER_MS, type StopNews } from '../../../web/wire/stop-delivery.ts'

const owedAfter = (...news: readonly StopNews[]) =>
  news.reduce<OwedStop | null>((owed, one) => owedStop(owed, one), null)
const asked = (id: string | null, atMs = 0) => ({ kind: 'asked' as const, id, atMs })

describe('a STOP is owed until it came through', () => {
  test('answered at once, nothing is said', () => {
    expect(owedAfter(asked('a'), { kind: 'answered', id: 'a', ok: true })).toBeNull()
  })
  test('without a connection it is late at once, and stays so when it is asked again', () => {
    expect(owedAfter(asked(null))).toMatchObject({ late: true })
    expect(owedAfter(asked(null), asked('b', 900))).toEqual({ id: 'b', sinceMs: 0, late: true })
    expect(owedAfter(asked(null), asked('b', 900), { kind: 'answered', id: 'b', ok: true })).toBeNull()
  })
  test('no answer for a second, on a connection that looks well', () => {
    expect(owedAfter(asked('a'), { kind: 'time', atMs: STOP_ANSWER_MS - 1 })).toMatchObject({ late: false })
    expect(owedAfter(asked('a'), { kind: 'time', atMs: STOP_ANSWER_MS })).toMatchObject({ late: true })
  })
  test('the connection breaks before the answer; another request is answered; it is refused: it stays owed', () => {
    expect(owedAfter(asked('a'), { kind: 'connection lost' })).toMatchObject({ id: null, late: true })
    expect(owedAfter(asked('a'), { kind: 'answered', id: 'b', ok: true })).toMatchObject({ id: 'a' })
    expect(owedAfter(asked('a'), { kind: 'answered', id: 'a', ok: false })).toMatchObject({ late: true })
  })
  test('a frame settles it only when the output is off', () => {
    expect(owedAfter(asked(null), { kind: 'frame', off: false })).toMatchObject({ late: true })
    expect(owedAfter(asked(null), { kind: 'frame', off: true })).toBeNull()
  })
  test('a frame that was under way when STOP was pressed says off and settles nothing', () => {
    expect(owedAfter(asked('a'), { kind: 'frame', off: true })).toMatchObject({ id: 'a' })
  })
  test('nothing asked, nothing owed', () => {
    expect(
      owedAfter({ kind: 'connection lost' }, { kind: 'time', atMs: 9e9 }, { kind: 'frame', off: false }),
    ).toBeNull()
  })
})

import { expect, test } from 'vitest'
import { CUT_ABOVE_BYTES, HOLD_ABOVE_BYTES, type Outbox, openOutbox } from '../../src/server/outbox.ts'
import { type VirtualClock, virtualClock } from '../../src/system/virtual-clock.ts'

const KIB = 1024
const text = (size: number, mark = 0) => new Uint8Array(size).fill(mark)

function slowPage(): {
  clock: VirtualClock
  outbox: Outbox
  sent: number[]
  pings: string[]
  wait: (bytes: number) => void
} {
  const clock = virtualClock()
  const sent: number[] = []
  const pings: string[] = []
  let waiting = 0
  const wire = {
    waitingBytes: () => waiting,
    send: (bytes: Uint8Array) => void sent.push(bytes[0] ?? -1),
    ping: (mark: string) => void pings.push(mark),
  }
  const wait = (bytes: number) => {
    waiting = bytes
  }
  return { clock, outbox: openOutbox(wire, clock), sent, pings, wait }
}

test('sends frames at once while the page keeps up', () => {
  const { outbox, sent } = slowPage()
  for (let mark = 1; mark <= 5; mark += 1) outbox.frame(text(10 * KIB, mark))
  expect(sent).toEqual([1, 2, 3, 4, 5])
})

test('holds the newest frame only, once 256 KiB are under way, and sends it when the page has read up', () => {
  const { outbox, sent, pings } = slowPage()
  for (let mark = 1; mark <= 200; mark += 1) outbox.frame(text(10 * KIB, mark))
  expect(sent).toHaveLength(Math.floor(HOLD_ABOVE_BYTES / (10 * KIB)))
  expect(pings).toEqual([String(250 * KIB)]) // one, however many frames wait
  outbox.ponged(String(250 * KIB))
  expect(sent.slice(24)).toEqual([25, 200])
})

test('asks how far a page has read between frames, once 64 KiB were sent, and not twice', () => {
  const { outbox, pings } = slowPage()
  outbox.frame(text(63 * KIB))
  outbox.tick()
  expect(pings).toEqual([])
  outbox.frame(text(KIB))
  expect(pings).toEqual([]) // not with the frame
  outbox.tick()
  outbox.tick()
  expect(pings).toEqual([String(64 * KIB)])
  outbox.ponged(String(64 * KIB))
  outbox.tick()
  expect(pings).toHaveLength(1)
})

test('goes by the bytes that a page has read, not by those it has been asked about', () => {
  const { outbox, sent } = slowPage()
  outbox.frame(text(64 * KIB, 1))
  outbox.tick() // asks about the first 64 KiB
  outbox.frame(text(150 * KIB, 2))
  outbox.frame(text(100 * KIB, 3))
  expect(sent).toEqual([1, 2])
  outbox.ponged(String(64 * KIB))
  expect(sent).toEqual([1, 2, 3])
})

test('holds frames as well when the socket itself has not got rid of them', () => {
  const { outbox, sent, wait } = slowPage()
  wait(250 * KIB)
  outbox.frame(text(10 * KIB, 1))
  expect(sent).toEqual([])
  wait(0)
  outbox.ponged('0')
  expect(sent).toEqual([1])
})

test('sends a frame that is larger than the limit when nothing else is under way', () => {
  const { outbox, sent } = slowPage()
  outbox.frame(text(300 * KIB, 1))
  expect(sent).toEqual([1])
})

test('asks a page to say when it has read up, when a large frame waits behind a little', () => {
  const { outbox, sent, pings } = slowPage()
  outbox.frame(text(10 * KIB, 1))
  outbox.frame(text(300 * KIB, 2))
  expect(sent).toEqual([1])
  expect(pings).toEqual([String(10 * KIB)])
  outbox.ponged(String(10 * KIB))
  expect(sent).toEqual([1, 2])
})

test('asks again when an answer has slipped in between and the frame still does not fit', () => {
  const { outbox, sent, pings } = slowPage()
  outbox.frame(text(10 * KIB, 1))
  outbox.frame(text(255 * KIB, 2))
  outbox.say(text(5 * KIB, 3))
  outbox.ponged(String(10 * KIB))
  expect(sent).toEqual([1, 3])
  outbox.tick()
  expect(pings).toEqual([String(10 * KIB), String(15 * KIB)])
  outbox.ponged(String(15 * KIB))
  expect(sent).toEqual([1, 3, 2])
})

test('never skips an answer, but leaves out beats, while a frame waits', () => {
  const { outbox, sent, wait } = slowPage()
  wait(HOLD_ABOVE_BYTES)
  outbox.frame(text(KIB, 1))
  outbox.mention(text(KIB, 2))
  outbox.say(text(KIB, 3))
  expect(sent).toEqual([3])
})

test('gives a page up when a frame has waited 10 s for it', async () => {
  const { outbox, clock, wait } = slowPage()
  wait(HOLD_ABOVE_BYTES)
  outbox.frame(text(KIB, 1))
  await clock.advance(5_000)
  outbox.frame(text(KIB, 2)) // a newer one does not start the time again
  await clock.advance(4_999)
  expect(outbox.tick()).toBeNull()
  await clock.advance(1)
  expect(outbox.tick()).toBe('it has not caught up for 10 s')
})

test('gives a page up when more than 4 MiB wait for it', () => {
  const { outbox, wait } = slowPage()
  wait(CUT_ABOVE_BYTES)
  expect(outbox.tick()).toBeNull()
  wait(CUT_ABOVE_BYTES + 1)
  expect(outbox.tick()).toBe('4194305 bytes wait for it, more than 4194304')
})

test('pings every 10 s and gives a page up after two pings without an answer', async () => {
  const { outbox, clock, pings } = slowPage()
  const said: (string | null)[] = []
  for (let at = 0; at < 4; at += 1) {
    await clock.advance(9_999)
    said.push(outbox.tick())
    await clock.advance(1)
    said.push(outbox.tick())
    if (at === 0) outbox.ponged('0') // it answers the first one
  }
  expect(pings).toHaveLength(3)
  expect(said).toEqual([null, null, null, null, null, null, null, 'it answered none of 2 pings, 10 s apart'])
})

test.each(['', 'x', '-1', '1.5', '999999999', 'NaN', 'Infinity'])(
  'does not believe an answer "%s" to a ping that was never sent',
  (mark) => {
    const { outbox, sent, wait } = slowPage()
    wait(HOLD_ABOVE_BYTES)
    outbox.frame(text(KIB, 1))
    wait(0)
    outbox.frame(text(HOLD_ABOVE_BYTES, 2))
    outbox.ponged(mark)
    expect(sent).toEqual([])
  },
)

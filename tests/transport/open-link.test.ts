import { describe, expect, test } from 'vitest'
import { silentLog } from '../../src/system/log.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { openLink } from '../../src/transport/open-link.ts'
import { memoryBench, PLAIN, quietSignal, WAIT } from '../kit/links/link-kit.ts'
import type { Act } from '../kit/links/memory-pair.ts'

const WHO = 'volts (multimeter at memory:volts)'
const REPEAT = 'Check cable and remote mode, then repeat the step [TRANSPORT_REPLY_TIMEOUT]'

/** Answers by question; what is not named is left to the common commands. */
const answers = (table: Readonly<Record<string, Act>>) => (line: string) => table[line]

describe('in step', () => {
  test('a link opens with a bare terminator, the clear and a sentinel, 150 ms of quiet in all', async () => {
    const { clock, instrument, open } = memoryBench()
    await clock.runUntil(open())
    expect(instrument.heard).toEqual(['', '*CLS', '*ESE 66', '*ESE?', '*ESE 0'])
    expect(clock.nowMs()).toBe(150)
  })

  test('a reply says when its question left and when its last byte came, 12 ms later', async () => {
    const { clock, opened } = memoryBench({ answer: answers({ 'READ?': { say: '+1.38E+01', afterMs: 12 } }) })
    const link = await opened()
    const sentMs = clock.nowMs()
    const reply = await clock.runUntil(link.ask('READ?', WAIT))
    expect(reply).toEqual({ text: '+1.38E+01', sentMs, arrivedMs: sentMs + 12 })
  })

  test('20 questions asked at once go one by one, each with its own reply', async () => {
    const { clock, instrument, opened } = memoryBench({
      answer: (line) => (line.startsWith('Q') ? { say: `to ${line}`, afterMs: 3 } : undefined),
    })
    const link = await opened()
    const questions = Array.from({ length: 20 }, (_, number) => `Q${number}?`)
    const replies = await clock.runUntil(Promise.all(questions.map((question) => link.ask(question, WAIT))))
    expect(replies.map((reply) => reply.text)).toEqual(questions.map((question) => `to ${question}`))
    expect(instrument.heard).toEqual(questions)
  })

  test.each(Array.from({ length: 12 }, (_, index) => [index + 1]))(
    'a CRLF reply in pieces of %i bytes, 7 ms apart, is one reply',
    async (pieceBytes) => {
      const { clock, opened } = memoryBench({
        answer: answers({ 'READ?': '+1.38E+01' }),
        end: '\r\n',
        pieceBytes,
        pieceGapMs: 7,
      })
      const link = await opened({ replyEnd: '\r\n' })
      const replies = [await clock.runUntil(link.ask('READ?', WAIT)), await clock.runUntil(link.ask('READ?', WAIT))]
      expect(replies.map((reply) => reply.text)).toEqual(['+1.38E+01', '+1.38E+01'])
    },
  )

  test('an echo of the question is not its reply, and an echo of a message does not come unasked', async () => {
    const { clock, instrument, opened } = memoryBench({
      answer: (line) => {
        if (line === 'READ?') return { say: 'READ?\n+1.38E+01' }
        return line === 'RANG 20' ? 'RANG 20' : undefined
      },
    })
    const link = await opened()
    await clock.runUntil(link.tell('RANG 20', WAIT))
    expect((await clock.runUntil(link.ask('READ?', WAIT))).text).toBe('+1.38E+01')
    expect(instrument.heard).toEqual(['RANG 20', 'READ?'])
  })

  test('50 ms pass between the end of one exchange and the next where the manual asks for it', async () => {
    const { clock, opened } = memoryBench({ answer: answers({ 'READ?': { say: '1', afterMs: 5 } }) })
    const link = await opened({ gapMs: 50 })
    await clock.advance(100)
    const first = await clock.runUntil(link.ask('READ?', WAIT))
    await clock.runUntil(link.tell('RANG 20', WAIT))
    const second = await clock.runUntil(link.ask('READ?', WAIT))
    expect(second.sentMs - first.sentMs).toBe(5 + 50 + 50)
  })

  test('what comes in the 2000 ms after opening is thrown away', async () => {
    const { clock, instrument, open } = memoryBench({ answer: answers({ 'READ?': 'fresh' }) })
    const opening = open({ settleMs: 2000 })
    await clock.advance(10)
    instrument.say('boot 1.2\nold half', 1500)
    const link = await clock.runUntil(opening)
    expect(clock.nowMs()).toBe(2150)
    expect((await clock.runUntil(link.ask('READ?', WAIT))).text).toBe('fresh')
  })
})

describe('a late reply never answers the next question', () => {
  /** A? takes 1500 ms the first time, B? answers at once. */
  const lateBench = () => {
    let asked = 0
    return memoryBench({
      answer: (line) => {
        if (line === 'B?') return 'B'
        if (line !== 'A?') return undefined
        asked += 1
        return asked === 1 ? { say: 'late A', afterMs: 1500 } : 'A'
      },
    })
  }
  const MANNERS = [['sentinel'], ['identity'], ['drain'], ['reopen']] as const

  test.each(MANNERS)('when B is asked before it comes (%s)', async (resync) => {
    const { clock, opened } = lateBench()
    const link = await opened({ resync })
    const late = await clock.runUntil(Promise.allSettled([link.ask('A?', WAIT), link.ask('B?', WAIT)]))
    expect(late).toMatchObject([{ reason: { code: 'TRANSPORT_REPLY_TIMEOUT' } }, { value: { text: 'B' } }])
    expect((await clock.runUntil(link.ask('A?', WAIT))).text).toBe('A')
  })

  test.each(MANNERS)('when B is asked after it has come unasked (%s)', async (resync) => {
    const { clock, opened } = lateBench()
    const link = await opened({ resync })
    await clock.runUntil(expect(link.ask('A?', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT' }))
    await clock.advance(2000)
    expect((await clock.runUntil(link.ask('B?', WAIT))).text).toBe('B')
  })

  test.each(MANNERS)('when A was called off and B is asked at once (%s)', async (resync) => {
    const { clock, opened } = lateBench()
    const link = await opened({ resync })
    const stop = new AbortController()
    const first = link.ask('A?', { ms: 5000, signal: stop.signal })
    await clock.advance(100)
    stop.abort('not wanted')
    await expect(first).rejects.toBe('not wanted')
    const reply = await clock.runUntil(link.ask('B?', { ms: 2000, signal: quietSignal }))
    expect(reply.text).toBe('B')
  })

  test('when it comes in the middle of the sentinel, as a number', async () => {
    let asked = 0
    const { clock, instrument, opened } = memoryBench({
      answer: (line) => {
        if (line === 'B?') return '2'
        if (line !== 'A?') return undefined
        asked += 1
        return asked === 1 ? { say: '67', afterMs: 1120 } : '1'
      },
    })
    const link = await opened() // the next sentinel is 67 too
    await clock.runUntil(expect(link.ask('A?', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT' }))
    expect((await clock.runUntil(link.ask('B?', WAIT))).text).toBe('2')
    expect(instrument.heard.filter((line) => line.startsWith('*ESE '))).toEqual([
      '*ESE 67',
      '*ESE 0',
      '*ESE 68',
      '*ESE 0',
    ])
  })

  test('on a new link to the same port, where it comes while the link is being opened', async () => {
    const { clock, instrument, opened, open } = lateBench()
    const link = await opened()
    await clock.runUntil(expect(link.ask('A?', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT' }))
    await link.close()
    const opening = open()
    instrument.say('late A\n', 60) // closing a serial port does not delete it
    const again = await clock.runUntil(opening)
    expect((await clock.runUntil(again.ask('B?', WAIT))).text).toBe('B')
  })
})

describe('in doubt', () => {
  test('a line that comes unasked brings the link in step before the next question', async () => {
    const { clock, instrument, opened } = memoryBench({ answer: answers({ 'READ?': '+1.38E+01' }) })
    const link = await opened()
    instrument.say('+9.99E+02\n')
    expect((await clock.runUntil(link.ask('READ?', WAIT))).text).toBe('+1.38E+01')
    expect(instrument.heard).toEqual(['', '*CLS', '*ESE 67', '*ESE?', '*ESE 0', 'READ?'])
  })

  test('half a line that comes unasked does too', async () => {
    const { clock, instrument, opened } = memoryBench({ answer: answers({ 'READ?': '+1.38E+01' }) })
    const link = await opened()
    instrument.say('9')
    expect((await clock.runUntil(link.ask('READ?', WAIT))).text).toBe('+1.38E+01')
    expect(instrument.heard.filter((line) => line === '*ESE?')).toHaveLength(1) // the half line is not the front of its reply
  })

  test('a reply that the caller doubts brings the link in step, and a question already on its way is not believed', async () => {
    const { clock, instrument, opened } = memoryBench({
      answer: answers({ 'A?': 'odd', 'B?': { say: '2', afterMs: 5 } }),
    })
    const link = await opened()
    const first = link.ask('A?', WAIT)
    const second = link.ask('B?', WAIT)
    const fate = second.catch((error: unknown) => error)
    await clock.runUntil(first)
    link.doubt('"odd" is no number')
    expect(await clock.runUntil(fate)).toMatchObject({
      code: 'TRANSPORT_OUT_OF_STEP',
      message: `${WHO}: the reply to B? may belong to another question: "odd" is no number. Switch the instrument off and on, then repeat the step [TRANSPORT_OUT_OF_STEP]`,
    })
    expect((await clock.runUntil(link.ask('B?', WAIT))).text).toBe('2')
    expect(instrument.heard.filter((line) => line === '*ESE?')).toHaveLength(1)
  })

  test('a reply in the very millisecond of its deadline counts, and 1 ms later it does not', async () => {
    let afterMs = 100
    const { clock, opened } = memoryBench({ answer: (line) => (line === 'READ?' ? { say: '1', afterMs } : undefined) })
    const link = await opened()
    const wait = { ms: 100, signal: quietSignal }
    expect((await clock.runUntil(link.ask('READ?', wait))).text).toBe('1')
    afterMs = 101
    await clock.runUntil(expect(link.ask('READ?', wait)).rejects.toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT' }))
  })

  test('two lines in one piece for one question are no reply', async () => {
    const { clock, opened } = memoryBench({ answer: answers({ 'READ?': '1\n2' }) })
    const link = await opened()
    await clock.runUntil(
      expect(link.ask('READ?', WAIT)).rejects.toMatchObject({
        message: `${WHO}: more than one line came in reply to READ?. Switch the instrument off and on, then repeat the step [TRANSPORT_OUT_OF_STEP]`,
      }),
    )
  })

  test('a line with the beginning of another behind it, in one piece, is no reply', async () => {
    const { clock, instrument, opened } = memoryBench({ answer: () => undefined })
    const link = await opened()
    const refused = expect(link.ask('READ?', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_OUT_OF_STEP' })
    instrument.say('1\n2')
    await clock.runUntil(refused)
  })

  test.each([
    ['\xb1\xb2.\xb4', 'looks like another baud rate or frame format (7E1 read as 8N1)', '"\xb1\xb2.\xb4"'],
    ['12\x07.5', 'holds bytes that are no text', '"12\\u0007.5"'],
  ])('the reply %j is garbled, not a value', async (say, words, quoted) => {
    const { clock, opened } = memoryBench({ answer: answers({ 'READ?': say }) })
    const link = await opened()
    await clock.runUntil(
      expect(link.ask('READ?', WAIT)).rejects.toMatchObject({
        message: `${WHO}: the reply ${quoted} ${words}. Check baud rate and parity [TRANSPORT_REPLY_GARBLED]`,
      }),
    )
  })

  test('zero bytes round a reply are padding', async () => {
    const { clock, opened } = memoryBench({ answer: answers({ 'READ?': '\0\0+1.5\0' }) })
    const link = await opened()
    expect((await clock.runUntil(link.ask('READ?', WAIT))).text).toBe('\0\0+1.5\0')
  })

  test('a reply of 5000 bytes is too long, and the next question is answered', async () => {
    const { clock, opened } = memoryBench({
      answer: answers({ 'TRACE?': '1,'.repeat(2500), 'READ?': '1' }),
      pieceBytes: 64,
    })
    const link = await opened()
    await clock.runUntil(
      expect(link.ask('TRACE?', WAIT)).rejects.toMatchObject({
        message: `${WHO}: the reply to TRACE? has no end within 4 KiB. Check the terminator in the driver file [TRANSPORT_REPLY_TOO_LONG]`,
      }),
    )
    expect((await clock.runUntil(link.ask('READ?', WAIT))).text).toBe('1')
  })

  test('a reply with another end is told as bytes without an end, not as silence', async () => {
    const { clock, opened } = memoryBench({ answer: answers({ 'READ?': { say: '+1.5', end: '\r' } }) })
    const link = await opened()
    await clock.runUntil(
      expect(link.ask('READ?', WAIT)).rejects.toMatchObject({
        message: `${WHO}: 5 bytes came in reply to READ? within 1000 ms, but no end of a line. ${REPEAT}`,
      }),
    )
  })

  test('a message to switch off goes out at once, behind a bare terminator, and does not wait for an answer', async () => {
    const { clock, instrument, opened } = memoryBench({
      answer: answers({ 'READ?': null, 'SYST:ERR?': '-222,"Data out of range"' }),
    })
    const link = await opened()
    const missed = link.ask('READ?', WAIT).catch((error: unknown) => error)
    const off = link.tell('OUTP OFF', WAIT)
    await clock.advance(1000)
    await off
    await missed
    expect(instrument.heard).toEqual(['READ?', '', 'OUTP OFF'])
    // The queue may hold what the instrument says to that message: it is not emptied on the way back in step.
    await clock.runUntil(link.ask('SYST:ERR?', WAIT))
    expect(instrument.heard).not.toContain('*CLS')
  })
})

describe('lost', () => {
  test('the words for a missed reply, and two misses in a row end the link', async () => {
    const { clock, instrument, opened } = memoryBench({ answer: answers({ 'READ?': null }) })
    const link = await opened()
    const lost: string[] = []
    link.onLost((fault) => lost.push(fault.message))
    const timeout = { message: `${WHO}: no reply to READ? within 1000 ms. ${REPEAT}` }
    await clock.runUntil(expect(link.ask('READ?', WAIT)).rejects.toMatchObject(timeout))
    expect(lost).toEqual([])
    await clock.runUntil(expect(link.ask('READ?', WAIT)).rejects.toMatchObject(timeout))
    const words = `${WHO}: 2 questions in a row stayed without a reply. Plug it back in; the step goes on by itself when it answers again [TRANSPORT_LINK_LOST]`
    expect(lost).toEqual([words])
    await expect(link.ask('READ?', WAIT)).rejects.toMatchObject({ message: words })
    await expect(link.tell('OUTP OFF', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_LINK_LOST' })
    expect(instrument.heard.filter((line) => line === 'OUTP OFF')).toEqual([])
  })

  test('an answered question between two misses keeps the link', async () => {
    const { clock, opened } = memoryBench({ answer: answers({ 'READ?': null, 'SYST:ERR?': '0,"No error"' }) })
    const link = await opened()
    let lost = 0
    link.onLost(() => {
      lost += 1
    })
    for (let round = 0; round < 3; round++) {
      await clock.runUntil(expect(link.ask('READ?', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_REPLY_TIMEOUT' }))
      await clock.runUntil(link.ask('SYST:ERR?', WAIT))
    }
    expect(lost).toBe(0)
  })

  test('a link that does not come back in step is lost, and everybody who waits is told', async () => {
    let dead = false
    const { clock, opened } = memoryBench({ answer: () => (dead ? null : undefined) })
    const link = await opened()
    dead = true
    const lost: string[] = []
    link.onLost((fault) => lost.push(fault.code))
    const asked = [link.ask('A?', WAIT), link.ask('B?', WAIT), link.ask('C?', WAIT), link.tell('D', WAIT)]
    const settled = await clock.runUntil(Promise.allSettled(asked))
    expect(settled.map((each) => each.status)).toEqual(['rejected', 'rejected', 'rejected', 'rejected'])
    expect(lost).toEqual(['TRANSPORT_REPLY_TIMEOUT'])
  })

  test('onLost is called for a listener that comes after the loss', async () => {
    const { instrument, opened } = memoryBench()
    const link = await opened()
    instrument.vanish()
    await expect(new Promise((resolve) => link.onLost(resolve))).resolves.toMatchObject({
      message: `${WHO}: the plug is out. Plug it back in; the step goes on by itself when it answers again [TRANSPORT_LINK_LOST]`,
    })
  })

  test('an instrument that goes in the middle of a reply ends the question at once, and half a line is no value', async () => {
    const { clock, opened } = memoryBench({
      answer: answers({ 'READ?': { say: '+1.38', afterMs: 5, end: '', thenGone: true } }),
    })
    const link = await opened()
    const beganMs = clock.nowMs()
    await clock.runUntil(
      expect(link.ask('READ?', WAIT)).rejects.toMatchObject({
        message: `${WHO}: memory instrument went away, with READ? unanswered. Plug it back in; the step goes on by itself when it answers again [TRANSPORT_LINK_LOST]`,
      }),
    )
    expect(clock.nowMs() - beganMs).toBe(5)
  })

  test('a write that is not taken within 2000 ms ends the link, and is not sent later', async () => {
    let blocked = false
    const { clock, instrument, opened } = memoryBench({ blocked: () => blocked })
    const link = await opened()
    blocked = true
    const beganMs = clock.nowMs()
    const stalled = `${WHO}: "OUTP ON" could not be sent in time: the way out is blocked. Check cable and flow control, then repeat the step [TRANSPORT_SEND_STALLED]`
    await clock.runUntil(
      expect(link.tell('OUTP ON', { ms: 5000, signal: quietSignal })).rejects.toMatchObject({ message: stalled }),
    )
    expect(clock.nowMs() - beganMs).toBe(2000)
    blocked = false
    await expect(link.tell('OUTP ON', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_SEND_STALLED' })
    await clock.advance(60_000)
    expect(instrument.heard).toEqual([])
  })
})

describe('closing and calling off', () => {
  test('close rejects the question on its way and 9 who wait; none is left, none is sent', async () => {
    const { clock, instrument, opened } = memoryBench({ answer: answers({ 'Q0?': null }) })
    const link = await opened()
    const asked = Array.from({ length: 10 }, (_, number) => link.ask(`Q${number}?`, WAIT))
    const settled = Promise.allSettled(asked)
    await clock.advance(10)
    await link.close()
    const closed = `${WHO}: the link was closed. Open the bench again [TRANSPORT_CLOSED]`
    expect(await settled).toMatchObject(
      Array.from({ length: 10 }, () => ({ status: 'rejected', reason: { message: closed } })),
    )
    expect(instrument.heard).toEqual(['Q0?'])
    await link.close()
    await expect(link.ask('READ?', WAIT)).rejects.toMatchObject({ code: 'TRANSPORT_CLOSED' })
  })

  test('closing in the middle of bringing the link in step, and in a pause, rejects too', async () => {
    const { clock, instrument, opened } = memoryBench({ answer: answers({ 'READ?': '1' }) })
    const link = await opened({ gapMs: 500 })
    await clock.runUntil(link.ask('READ?', WAIT))
    const pausing = Promise.allSettled([link.ask('READ?', WAIT)])
    await clock.advance(10)
    await link.close()
    expect(await pausing).toMatchObject([{ reason: { code: 'TRANSPORT_CLOSED' } }])

    const other = await opened()
    instrument.say('unasked\n')
    const resyncing = Promise.allSettled([other.ask('READ?', WAIT)])
    await clock.advance(10)
    await other.close()
    expect(await resyncing).toMatchObject([{ reason: { code: 'TRANSPORT_CLOSED' } }])
  })

  test('onLost is not called when the owner closes', async () => {
    const { opened } = memoryBench()
    const link = await opened()
    let lost = 0
    link.onLost(() => {
      lost += 1
    })
    await link.close()
    expect(lost).toBe(0)
  })

  test('a caller called off in the queue gets its own reason, and the link stays in step for the others', async () => {
    const { clock, instrument, opened } = memoryBench({
      answer: (line) => (line.startsWith('Q') ? { say: `to ${line}`, afterMs: 20 } : undefined),
    })
    const link = await opened()
    const stop = new AbortController()
    const first = link.ask('Q1?', WAIT)
    const second = link.ask('Q2?', { ms: 1000, signal: stop.signal })
    const third = link.ask('Q3?', WAIT)
    await clock.advance(5)
    const reason = new Error('stopped by hand')
    stop.abort(reason)
    await expect(second).rejects.toBe(reason)
    await clock.runUntil(Promise.all([first, third]))
    expect(instrument.heard).toEqual(['Q1?', 'Q3?'])
  })

  test('a caller called off with its question on the way gets its own reason, and the next question is brought in step', async () => {
    const { clock, instrument, opened } = memoryBench({
      answer: (line) => (line.startsWith('Q') ? { say: `to ${line}`, afterMs: 20 } : undefined),
    })
    const link = await opened()
    const stop = new AbortController()
    const first = link.ask('Q1?', { ms: 1000, signal: stop.signal })
    const second = link.ask('Q2?', WAIT)
    await clock.advance(5)
    stop.abort('stopped by hand')
    await expect(first).rejects.toBe('stopped by hand')
    expect((await clock.runUntil(second)).text).toBe('to Q2?')
    expect(instrument.heard).toEqual(['Q1?', '', '*CLS', '*ESE 67', '*ESE?', '*ESE 0', 'Q2?'])
  })

  test('a signal that is aborted already is not asked for', async () => {
    const { instrument, opened } = memoryBench()
    const link = await opened()
    await expect(link.ask('READ?', { ms: 1000, signal: AbortSignal.abort('no') })).rejects.toBe('no')
    expect(instrument.heard).toEqual([])
  })
})

describe('opening', () => {
  test('a silent instrument: no reply to the sentinel, and the port is closed again', async () => {
    const { clock, instrument, open } = memoryBench({ answer: () => null })
    await clock.runUntil(
      expect(open()).rejects.toMatchObject({
        message: `${WHO}: no reply to *ESE? within 1000 ms, asked 2 times. ${REPEAT}`,
      }),
    )
    expect(instrument.connections()).toBe(1)
  })

  test('bytes that never become a line', async () => {
    const { clock, open } = memoryBench({ answer: () => ({ say: '\xf8\xff\x80', end: '' }) })
    await clock.runUntil(
      expect(open()).rejects.toMatchObject({
        message: `${WHO}: 24 bytes came in reply to *ESE?, but no end of a line. Check baud rate and parity [TRANSPORT_REPLY_GARBLED]`,
      }),
    )
  })

  test('an instrument that answers something else', async () => {
    const { clock, open } = memoryBench({ answer: (line) => (line === '*ESE?' ? '0' : null) })
    await clock.runUntil(
      expect(open()).rejects.toMatchObject({
        message: `${WHO}: 2 lines came, but none was the expected reply to *ESE?. Switch the instrument off and on, then repeat the step [TRANSPORT_OUT_OF_STEP]`,
      }),
    )
  })

  test('an instrument that never stops talking', async () => {
    const { clock, instrument, open } = memoryBench()
    const opening = open()
    for (let atMs = 0; atMs < 20_000; atMs += 20) instrument.say('+1.0\n', atMs)
    await clock.runUntil(expect(opening).rejects.toMatchObject({ code: 'TRANSPORT_OUT_OF_STEP' }))
    expect(clock.nowMs()).toBeLessThan(1200)
  })

  test('the first sentinel falls on a deaf instrument, the second is answered', async () => {
    let heard = 0
    const { clock, open } = memoryBench({
      answer: () => {
        heard += 1
        return heard <= 4 ? null : undefined
      },
    })
    await clock.runUntil(open())
    expect(heard).toBe(9)
  })

  test('an instrument that takes all of the 1000 ms allowed for the sentinel is in step at the first try', async () => {
    const { clock, instrument, open } = memoryBench({ pieceBytes: 1, pieceGapMs: 500 }) // "66" and its end
    await clock.runUntil(open())
    expect(instrument.heard.filter((line) => line === '*ESE?')).toHaveLength(1)
  })

  test('called off before it began', async () => {
    const { instrument, open } = memoryBench()
    await expect(open({}, { ms: 1000, signal: AbortSignal.abort('called off') })).rejects.toBe('called off')
    expect(instrument.connections()).toBe(0)
  })

  test('a memory address without anything in memory', async () => {
    const deps = { clock: virtualClock(), log: silentLog }
    const opening = openLink({ who: WHO, address: 'memory:volts', manners: PLAIN, deps, wait: WAIT })
    await expect(opening).rejects.toMatchObject({
      message: `${WHO}: nothing in this program answers at memory:volts. Check that the instrument is on, the cable is in and nobody else uses the port [TRANSPORT_OPEN_FAILED]`,
    })
  })

  test('called off while it settles', async () => {
    const { clock, instrument, open } = memoryBench()
    const stop = new AbortController()
    const opening = open({ settleMs: 2000 }, { ms: 1000, signal: stop.signal })
    const fate = expect(opening).rejects.toBe('called off')
    await clock.advance(100)
    stop.abort('called off')
    await fate
    expect(instrument.heard).toEqual([])
  })

  test('an identity that differs between the two times it is asked is not in step', async () => {
    let asked = 0
    const { clock, open } = memoryBench({
      answer: (line) => {
        if (line !== '*IDN?') return undefined
        asked += 1
        return `EXAMPLE,${asked}`
      },
    })
    await clock.runUntil(expect(open({ resync: 'identity' })).rejects.toMatchObject({ code: 'TRANSPORT_OUT_OF_STEP' }))
  })
})

test('a message over the longest that the instrument takes is refused before it is sent', async () => {
  const { instrument, opened } = memoryBench()
  const link = await opened({ longestMessage: 20 })
  await expect(link.ask('MEAS:VOLT:DC? 20,0.001', WAIT)).rejects.toMatchObject({
    message: `${WHO}: "MEAS:VOLT:DC? 20,0.001" has 23 bytes with its end; the instrument takes 20. Shorten the row in the driver file, or correct its longest message [TRANSPORT_MESSAGE_TOO_LONG]`,
  })
  await expect(link.tell('OUTP\nOFF', WAIT)).rejects.toThrow(TypeError)
  expect(instrument.heard).toEqual([])
})

test('1000 exchanges leave no listener on a signal that lives on', async () => {
  const { clock, opened } = memoryBench({ answer: answers({ 'READ?': '1' }) })
  const link = await opened()
  const stop = new AbortController()
  let listeners = 0
  const add = stop.signal.addEventListener.bind(stop.signal)
  const remove = stop.signal.removeEventListener.bind(stop.signal)
  Object.assign(stop.signal, {
    addEventListener: (...given: Parameters<typeof add>) => {
      listeners += 1
      add(...given)
    },
    removeEventListener: (...given: Parameters<typeof remove>) => {
      listeners -= 1
      remove(...given)
    },
  })
  const asking = async () => {
    for (let exchange = 0; exchange < 1000; exchange++) await link.ask('READ?', { ms: 1000, signal: stop.signal })
  }
  await clock.runUntil(asking())
  expect(listeners).toBeLessThanOrEqual(1) // the last signal is listened to until another comes or the link ends
  await link.close()
  expect(listeners).toBe(0)
})

import { describe, expect, test } from 'vitest'
import { foldBench, LIMITS, workingBench } from '../fold-bench.ts'

/** Ready, 0 to 4 s later the end of it: each step of the chain is under way in one of these. */
const MOMENTS = Array.from({ length: 81 }, (_, at) => at * 50)

/** A chain as the service sends it, each order when the one before it is answered, for `wish`. */
function chain(bench: ReturnType<typeof foldBench>, wish: number) {
  const orders = [
    { verb: 'limits', id: 1, wish, ...LIMITS },
    { verb: 'set', id: 2, wish, volts: 13.8, amps: 0.8 },
    { verb: 'on', id: 3, wish },
    { verb: 'set', id: 4, wish, volts: 15.6, amps: 2.5 },
  ] as const
  let sent = 0
  return () => {
    const before = orders[sent - 1]
    const next = orders[sent]
    if (!next || (before && bench.answer(before.id) === undefined)) return
    sent += 1
    bench.ask(next)
  }
}

function raisedUntil(ms: number, end: (bench: ReturnType<typeof foldBench>) => void) {
  const bench = foldBench()
  bench.pass(300)
  const goOn = chain(bench, 5)
  const beganMs = bench.nowMs()
  while (bench.nowMs() - beganMs < ms) {
    goOn()
    bench.pass(10)
  }
  end(bench)
  for (let at = 0; at < 500; at++) {
    goOn() // a service that has not noticed yet goes on with its chain
    bench.pass(10)
  }
  return bench
}

describe('an order lives as long as the wish that it serves', () => {
  test.each(MOMENTS)(
    'normal %i ms into the chain ends it, whatever is under way: never above normal after that',
    (ms) => {
      const bench = raisedUntil(ms, (it) => it.ask({ verb: 'normal', id: 90, upTo: 5, why: 'page gone' }))
      const answer = bench.answer(90)
      expect(bench.model.on ? bench.model.setVolts : 0).toBeLessThanOrEqual(13.8)
      // Before the output is on there is nothing to bring back: it is off then, or was never armed.
      if (answer?.kind === 'refused') expect(bench.model.on).toBe(false)
      else expect(answer?.kind).toBe('done')
    },
  )

  test.each(MOMENTS)('off %i ms into the chain ends it, whatever is under way: off for good', (ms) => {
    const bench = raisedUntil(ms, (it) => it.ask({ verb: 'off', id: 90, upTo: 5, why: 'stop control' }))
    expect(bench.answer(90)).toMatchObject({ kind: 'done', state: { output: 'off' } })
    expect(bench.model.on).toBe(false)
  })

  test('normal while the first limits are set switches off and says so', () => {
    const bench = foldBench()
    bench.pass(300)
    bench.ask({ verb: 'limits', id: 1, wish: 1, ...LIMITS })
    bench.pass(20)
    bench.ask({ verb: 'normal', id: 2, why: 'page gone' })
    bench.pass(500)
    expect(bench.answer(1)).toMatchObject({ kind: 'refused', words: '"normal" came before it was done' })
    expect(bench.answer(2)).toMatchObject({ kind: 'done', state: { output: 'off' } })
    bench.ask({ verb: 'on', id: 3, wish: 1 })
    expect(bench.answer(3)).toMatchObject({ kind: 'refused', words: 'it is not wanted any more' })
  })

  test('a wish that was ended before its first order came is dead too', () => {
    const bench = workingBench(13.8)
    bench.ask({ verb: 'normal', id: 1, upTo: 9, why: 'page gone' })
    bench.ask({ verb: 'set', id: 2, wish: 9, volts: 15.6, amps: 2.5 })
    bench.ask({ verb: 'set', id: 3, wish: 10, volts: 15, amps: 2.5 })
    bench.pass(4000)
    expect(bench.answer(2)).toMatchObject({ kind: 'refused', words: 'it is not wanted any more' })
    expect(bench.answer(3)?.kind).toBe('done')
    expect(bench.model.setVolts).toBe(15)
  })

  test('what the keeper does by itself ends every wish as well', () => {
    const bench = workingBench(15.6)
    bench.ask({ verb: 'state', id: 1 })
    bench.model.tripped = true
    bench.model.on = false
    bench.pass(500)
    bench.model.tripped = false
    bench.ask({ verb: 'limits', id: 2, wish: 1, ...LIMITS })
    bench.pass(500)
    expect(bench.answer(2)).toMatchObject({ kind: 'refused', words: 'it is not wanted any more' })
  })
})

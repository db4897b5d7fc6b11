import { expect, test } from 'vitest'
import { Turnstile } from '../../src/transport/turnstile.ts'

const quietSignal = () => new AbortController().signal

async function depths(count: number): Promise<void> {
  for (let depth = 0; depth < count; depth++) await null
}

test.each(Array.from({ length: 40 }, (_, depth) => [depth]))(
  'only one is inside when a caller comes %i microtasks after the first was let go',
  async (depth) => {
    const turnstile = new Turnstile()
    let inside = 0
    let most = 0
    const order: number[] = []
    let letGo: () => void = () => {}
    const exchange = (name: number, held?: Promise<void>) => async () => {
      inside += 1
      most = Math.max(most, inside)
      order.push(name)
      await (held ?? depths(3))
      inside -= 1
    }
    const held = new Promise<void>((resolve) => {
      letGo = resolve
    })
    const first = turnstile.pass(exchange(1, held), quietSignal())
    const second = turnstile.pass(exchange(2), quietSignal())
    letGo()
    await depths(depth)
    const third = turnstile.pass(exchange(3), quietSignal())
    await Promise.all([first, second, third])
    expect({ most, order }).toEqual({ most: 1, order: [1, 2, 3] })
  },
)

test.each(Array.from({ length: 40 }, (_, depth) => [depth]))(
  'only one is inside when nobody queued and a caller comes %i microtasks after the first was let go',
  async (depth) => {
    const turnstile = new Turnstile()
    let inside = 0
    let most = 0
    const exchange = async () => {
      inside += 1
      most = Math.max(most, inside)
      await depths(5)
      inside -= 1
    }
    const first = turnstile.pass(exchange, quietSignal())
    await depths(depth)
    await Promise.all([turnstile.pass(exchange, quietSignal()), turnstile.pass(exchange, quietSignal()), first])
    expect(most).toBe(1)
  },
)

test('a failed exchange does not block the next, and one that throws before it begins does not either', async () => {
  const turnstile = new Turnstile()
  const failing = turnstile.pass(() => Promise.reject(new Error('no')), quietSignal())
  await expect(failing).rejects.toThrow('no')
  const throwing = turnstile.pass(() => {
    throw new Error('at once')
  }, quietSignal())
  await expect(throwing).rejects.toThrow('at once')
  await expect(turnstile.pass(async () => 'in', quietSignal())).resolves.toBe('in')
})

test('a caller that is called off while it waits rejects at once with its own reason, and the others notice nothing', async () => {
  const turnstile = new Turnstile()
  let letGo: () => void = () => {}
  const first = turnstile.pass(() => new Promise<void>((resolve) => (letGo = resolve)), quietSignal())
  const stop = new AbortController()
  const ran: string[] = []
  const second = turnstile.pass(async () => ran.push('second'), stop.signal)
  const third = turnstile.pass(async () => ran.push('third'), quietSignal())
  const reason = { called: 'off' }
  stop.abort(reason)
  await expect(second).rejects.toBe(reason)
  expect(ran).toEqual([])
  letGo()
  await Promise.all([first, third])
  expect(ran).toEqual(['third'])
})

test('closing rejects 20 who wait, each once, and whoever comes later', async () => {
  const turnstile = new Turnstile()
  let letGo: () => void = () => {}
  const first = turnstile.pass(() => new Promise<void>((resolve) => (letGo = resolve)), quietSignal())
  const waiting = Array.from({ length: 20 }, () => turnstile.pass(async () => 'in', quietSignal()))
  const closed = new Error('closed')
  turnstile.close(closed)
  letGo()
  await first
  const settled = await Promise.allSettled([...waiting, turnstile.pass(async () => 'in', quietSignal())])
  expect(settled).toEqual(Array.from({ length: 21 }, () => ({ status: 'rejected', reason: closed })))
})

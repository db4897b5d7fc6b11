import { expect, test } from 'vitest'
import { seededRng } from '../../src/system/rng.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'
import { type Door, Host, lane, NEVER } from './host.ts'

function host() {
  const clock = virtualClock()
  return { clock, host: new Host('service', clock, seededRng(1)) }
}

test('a frozen process does nothing; thawed, it does all of it, each door in its order', async () => {
  const { clock, host: service } = host()
  const did: string[] = []
  const say = (door: Door, word: string) => service.run(door, () => did.push(word))
  service.clock.sleepUntil(100, NEVER).then(() => did.push('slept'))
  service.freeze()
  say('pipe', 'pipe 1')
  say('page', 'page 1')
  say('pipe', 'pipe 2')
  say('page', 'page 2')
  await clock.advance(500)
  expect(did).toEqual([])
  service.thaw()
  await clock.advance(0)
  expect(did.toSorted()).toEqual(['page 1', 'page 2', 'pipe 1', 'pipe 2', 'slept'])
  expect(did.filter((word) => word.startsWith('pipe'))).toEqual(['pipe 1', 'pipe 2'])
  expect(did.filter((word) => word.startsWith('page'))).toEqual(['page 1', 'page 2'])
  expect(service.asleep).toBe(0)
})

test('a process frozen again while it catches up stops where it is', async () => {
  const { clock, host: service } = host()
  const did: string[] = []
  service.freeze()
  service.run('pipe', () => {
    did.push('first')
    service.freeze()
  })
  service.run('pipe', () => did.push('second'))
  service.thaw()
  await clock.advance(100)
  expect(did).toEqual(['first'])
  service.thaw()
  await clock.advance(0)
  expect(did).toEqual(['first', 'second'])
})

test('nothing of a dead process goes on, and whoever waits for its end is told once', async () => {
  const { clock, host: service } = host()
  const did: string[] = []
  service.onDeath(() => did.push('told'))
  service.clock.sleepUntil(100, NEVER).then(() => did.push('slept'))
  service.freeze()
  service.run('pipe', () => did.push('heard'))
  service.kill()
  service.kill()
  service.thaw()
  service.run('pipe', () => did.push('heard'))
  await clock.advance(500)
  expect(did).toEqual(['told'])
  service.onDeath(() => did.push('told late'))
  expect(did).toEqual(['told', 'told late'])
})

test('a sleep that was called off while the process stood still is called off', async () => {
  const { clock, host: service } = host()
  const over = new AbortController()
  let ended = ''
  service.clock.sleepUntil(100, over.signal).then(
    () => {
      ended = 'slept'
    },
    () => {
      ended = 'called off'
    },
  )
  service.freeze()
  await clock.advance(200)
  over.abort(new Error('over'))
  service.thaw()
  await clock.advance(0)
  expect(ended).toBe('called off')
})

test('messages of one way never overtake each other, however long each is under way', async () => {
  const clock = virtualClock()
  const delays = [50, 0, 10, 0, 0]
  const send = lane(clock, () => delays.shift() ?? 0)
  const came: string[] = []
  for (const word of ['a', 'b', 'c']) send(() => came.push(`${word} ${clock.nowMs()}`))
  await clock.advance(20)
  send(() => came.push(`d ${clock.nowMs()}`))
  await clock.advance(100)
  send(() => came.push(`e ${clock.nowMs()}`))
  await clock.advance(0)
  expect(came).toEqual(['a 50', 'b 50', 'c 50', 'd 50', 'e 120'])
})

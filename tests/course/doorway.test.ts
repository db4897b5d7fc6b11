import { expect, test } from 'vitest'
import { openDoorway } from '../../src/course/doorway.ts'

const turns = (count: number) =>
  Array.from({ length: count }).reduce<Promise<void>>(
    (so) => so.then(() => new Promise<void>((resolve) => setImmediate(resolve))),
    Promise.resolve(),
  )

/** Something that takes many promises, and says when it begins and when it is over. */
const work = (told: string[], name: string, promises: number) => () => {
  told.push(`${name} begins`)
  void Array.from({ length: promises })
    .reduce<Promise<void>>((so) => so.then(() => {}), Promise.resolve())
    .then(() => told.push(`${name} is over`))
}

test('what comes while nothing is under way is let in at once', () => {
  const told: string[] = []
  openDoorway({ settled: () => {} }).come(() => told.push('in'))
  expect(told).toEqual(['in'])
})

test('what comes together is let in one after the other, each when all that the one before led to has happened', async () => {
  const told: string[] = []
  const doorway = openDoorway({ settled: () => told.push('settled') })
  for (const name of ['a', 'b', 'c']) doorway.come(work(told, name, 50))
  await turns(5)
  const each = (name: string) => [`${name} begins`, `${name} is over`, 'settled']
  expect(told).toEqual(['a', 'b', 'c'].flatMap(each))
})

test('what comes from within waits, and is in before the next turn of the loop is over', async () => {
  const told: string[] = []
  const doorway = openDoorway({ settled: () => {} })
  doorway.come(() => {
    doorway.come(() => told.push('within'))
    told.push('outer')
  })
  expect(told).toEqual(['outer'])
  await turns(2)
  expect(told).toEqual(['outer', 'within'])
})

test('a thousand that come in one turn are all in two turns later: the way in does not grow longer than what comes', async () => {
  let count = 0
  const doorway = openDoorway({ settled: () => {} })
  for (let n = 0; n < 1000; n += 1)
    doorway.come(() => {
      count += 1
    })
  await turns(2)
  expect(count).toBe(1000)
})

test('what nobody waits for any more is not let in, and what comes behind it is', async () => {
  const told: string[] = []
  const doorway = openDoorway({ settled: () => {} })
  let wanted = true
  doorway.come(() => {
    wanted = false
  })
  doorway.come(
    () => told.push('unwanted'),
    () => wanted,
  )
  doorway.come(() => told.push('wanted'))
  await turns(3)
  doorway.come(() => told.push('later'))
  expect(told).toEqual(['wanted', 'later'])
  await turns(3)
})

test('a clock that jumps is held for as long as something is under way', async () => {
  const held: Promise<void>[] = []
  const doorway = openDoorway({ settled: () => {}, hold: (one) => held.push(one) })
  let free = 0
  const watch = () => void held.at(-1)?.then(() => (free += 1))
  doorway.come(() => {})
  doorway.come(() => {})
  watch()
  expect(held).toHaveLength(1)
  await Promise.resolve()
  expect(free).toBe(0)
  await turns(3)
  expect(free).toBe(1)
})

test('something that throws does not close the door', async () => {
  const told: string[] = []
  const doorway = openDoorway({ settled: () => {} })
  expect(() =>
    doorway.come(() => {
      throw new Error('a mistake')
    }),
  ).toThrow('a mistake')
  doorway.come(() => told.push('next'))
  await turns(2)
  expect(told).toEqual(['next'])
})

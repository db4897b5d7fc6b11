import { expect, test } from 'vitest'
import { Wishes } from '../../src/bench/wishes.ts'
import { loadDriver } from '../../src/instrument/load-driver.ts'

const wishes = () => new Wishes(loadDriver('drivers', 'modulation-meter-scpi').readings)

test('nothing is due while nothing is wanted, or only what others read', () => {
  const mine = wishes()
  expect(mine.next()).toBeUndefined()
  mine.want(['RF power'])
  expect(mine.next()).toBeUndefined()
})

test('the most wanted of those never asked for comes first', () => {
  const mine = wishes()
  mine.want(['AM depth', 'FM deviation'])
  expect(mine.next()?.quantity).toBe('AM depth')
})

test('the one that waited longest comes next, 250 ms after it was asked for', () => {
  const mine = wishes()
  mine.want(['AM depth', 'FM deviation'])
  mine.asked('AM depth', 1000)
  mine.asked('FM deviation', 900)
  expect(mine.next()).toEqual({ quantity: 'FM deviation', atMs: 1150 })
  mine.asked('FM deviation', 1150)
  expect(mine.next()).toEqual({ quantity: 'AM depth', atMs: 1250 })
})

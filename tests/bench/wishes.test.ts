import { describe, expect, test } from 'vitest'
import { Wishes } from '../../src/bench/wishes.ts'
import { loadDriver } from '../../src/instrument/load-driver.ts'
import type { Quantity } from '../../src/quantity/quantity.ts'

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
  expect(mine.next()).toMatchObject({ quantity: 'FM deviation', atMs: 1150 })
  mine.asked('FM deviation', 1150)
  expect(mine.next()).toMatchObject({ quantity: 'AM depth', atMs: 1250 })
})

describe('a box that is several instruments', () => {
  const box = () => {
    const { readings, functions } = loadDriver('drivers', 'test-set-scpi')
    return new Wishes(readings, functions)
  }
  let asks = 0
  /** What it does in six turns: the quantities asked for, in order; those in `seen` are read with a number. */
  const round = (
    mine: Wishes,
    from: string | null,
    seen: readonly Quantity[] = ['RF power', 'FM deviation', 'frequency'],
  ) => {
    const asked: string[] = []
    let standsIn = from
    for (let turns = 0; turns < 6; turns += 1) {
      const due = mine.next(standsIn)
      if (!due) break
      standsIn = due.function
      asked.push(due.quantity)
      mine.asked(due.quantity, asks++)
      if (seen.includes(due.quantity)) mine.seen(due.quantity)
    }
    return asked
  }
  const stays = (quantity: string, times: number): readonly string[] => Array(times).fill(quantity)

  test('visits one of the others at each change until each was read once, then stays with the most wanted', () => {
    const mine = box()
    mine.want(['FM deviation', 'RF power', 'frequency'])
    expect(round(mine, null)).toEqual(['RF power', ...stays('FM deviation', 5)])
    mine.changed(0, false)
    expect(round(mine, 'modulation')).toEqual(['frequency', ...stays('FM deviation', 5)])
    mine.changed(0, false)
    expect(round(mine, 'modulation')).toEqual(stays('FM deviation', 6))
  })

  test('what was visited in vain (no carrier) is visited again, after the others', () => {
    const mine = box()
    mine.want(['FM deviation', 'RF power', 'frequency'])
    expect(round(mine, null, [])[0]).toBe('RF power')
    mine.changed(0, false)
    expect(round(mine, 'modulation', [])[0]).toBe('frequency')
    mine.changed(0, false)
    expect(round(mine, 'modulation')[0]).toBe('RF power')
  })

  test('what the function it stands in can read is visited first, without switching twice', () => {
    const mine = box()
    mine.want(['FM deviation', 'RF power', 'frequency'])
    expect(round(mine, 'counter').slice(0, 2)).toEqual(['frequency', 'FM deviation'])
  })

  test('quantities of one function take turns without a visit', () => {
    const mine = box()
    mine.want(['FM deviation', 'AM depth'])
    expect(round(mine, 'modulation').slice(0, 2)).toEqual(['FM deviation', 'AM depth'])
    mine.asked('FM deviation', 100)
    expect(mine.next('modulation')).toMatchObject({ quantity: 'AM depth', function: 'modulation' })
  })

  test('no visit before readings count: 1 s after the change, switching included', () => {
    const mine = box()
    mine.want(['RF power', 'frequency'])
    mine.changed(20_000, false)
    expect(mine.next('power')).toEqual({ quantity: 'frequency', function: 'counter', atMs: 20_000 })
    expect(mine.next('counter')).toEqual({ quantity: 'frequency', function: 'counter', atMs: 21_000 })
  })

  test('a wish given up and taken up again brings no visit, and another order none of what was seen', () => {
    const mine = box()
    mine.want(['RF power', 'frequency'])
    expect(round(mine, null)[0]).toBe('frequency')
    mine.want([])
    mine.want(['RF power', 'frequency'])
    expect(mine.next('power')?.quantity).toBe('RF power')
    mine.want(['frequency', 'RF power'])
    expect(mine.next('power')?.quantity).toBe('frequency')
    mine.want(['frequency', 'RF power', 'FM deviation'])
    expect(mine.next('counter')?.quantity).toBe('FM deviation')
    mine.want(['frequency', 'RF power'])
    expect(mine.next('counter')?.quantity).toBe('frequency')
  })

  test('when more than the key was changed (channel, supply, a step), what was seen is looked at again', () => {
    const mine = box()
    mine.want(['RF power', 'frequency'])
    round(mine, null)
    mine.changed(0, false)
    expect(mine.next('power')?.quantity).toBe('RF power')
    mine.changed(0, true)
    expect(mine.next('power')?.quantity).toBe('frequency')
  })
})

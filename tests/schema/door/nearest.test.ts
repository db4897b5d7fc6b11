import { describe, expect, test } from 'vitest'
import { nearest } from '../../../src/schema/door/nearest.ts'

const KEYS = ['path loss', 'calibrated', 'driver', 'at', 'limits', 'quantity']

describe('the nearest word', () => {
  test.each([
    ['path los', 'path loss'],
    ['pathloss', 'path loss'],
    ['path_loss', 'path loss'],
    ['Path Loss', 'path loss'],
    ['calibrtaed', 'calibrated'],
    ['dirver', 'driver'],
    ['limit', 'limits'],
    ['ta', 'at'],
    ['zebra', undefined],
    ['', undefined],
    ['x', undefined],
  ])('to "%s" is %s', (word, expected) => {
    expect(nearest(word, KEYS)).toBe(expected)
  })
})

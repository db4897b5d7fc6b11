import { describe, expect, test } from 'vitest'
import { DECODERS } from '../../src/instrument/decoders.ts'

describe('letter after number', () => {
  test.each([
    ['+1234.567E-03NVDC,+00.00', 1.234567],
    ['-0.05NADC', -0.05],
    ['+9999.999E+00OVDC', 'over'],
    ['+0000.000E+00UVDC', 'under'],
    ['+1234.567E-03ZVDC', 'unreadable'],
    ['+1234.567E-03RVDC', 'unreadable'],
    ['+1234.567E-03LVDC', 'unreadable'],
    ['+1234.567E-03VDC', 'unreadable'],
    ['+12.34.5E-03NVDC', 'unreadable'],
    ['', 'unreadable'],
    ['1.0', 'unreadable'],
  ])('"%s" is %s', (reply, expected) => {
    expect(DECODERS['letter after number']?.(reply)).toBe(expected)
  })
})

describe('letters before number', () => {
  test.each([
    ['NDCV+1.2345E+00', 1.2345],
    ['NDCV -0.5', -0.5],
    ['ODCV+9.9999E+09', 'over'],
    ['UDCV+0.0000E+00', 'under'],
    ['ZDCV+1.2345E+00', 'unreadable'],
    ['DCV+1.2345E+00', 'unreadable'],
    ['NDCV', 'unreadable'],
    ['NDCV+1,2345', 'unreadable'],
  ])('"%s" is %s', (reply, expected) => {
    expect(DECODERS['letters before number']?.(reply)).toBe(expected)
  })
})

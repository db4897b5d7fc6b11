import { describe, expect, test } from 'vitest'
import {
  arcMinutesOf,
  CARD_MM,
  distanceOf,
  heightMm,
  mmOf,
  pxPerMmOf,
  screenOf,
  USUAL_PX_PER_MM,
} from '../../../web/measure/arc-size.ts'
import { fitNumber, wishedWidthPx } from '../../../web/measure/fit-number.ts'
import { type ScreenFacts, tooSmall, typeSizes } from '../../../web/measure/type-sizes.ts'
import { sizeWords } from '../../../web/words/words-of-size.ts'

describe('arc-minutes', () => {
  // Character heights of NUREG-0700 rev. 2 and 3, 1.3.1-4 (READ: 16' least, 20' to 22' preferred; ISO 9241-3 says the same);
  // mm for each distance COMPUTED there from h = 2 D tan(angle/2).
  test.each([
    [16, 0.5, 2.33],
    [16, 1, 4.65],
    [16, 2, 9.31],
    [20, 0.5, 2.91],
    [20, 0.7, 4.07],
    [20, 1, 5.82],
    [20, 1.5, 8.73],
    [20, 2, 11.64],
    [20, 3, 17.45],
    [22, 2, 12.8],
  ])("%d' at %d m are %d mm", (arcMinutes, distanceM, mm) => {
    expect(heightMm(distanceM, arcMinutes)).toBeCloseTo(mm, 2)
    expect(arcMinutesOf(mm, distanceM)).toBeCloseTo(arcMinutes, 1)
  })

  // READ in NUREG-0700: H = 6.283 D MA / 21600, the same for small angles.
  test("the short formula of the guideline differs by less than 0.01 % up to 50'", () => {
    for (const arcMinutes of [16, 20, 50])
      expect(heightMm(1, arcMinutes) / ((6.283 * 1000 * arcMinutes) / 21_600)).toBeCloseTo(1, 4)
  })

  test('18 mm on a phone at 2 m are the 31 arc-minutes of a glance, 30 mm more than 50', () => {
    expect(arcMinutesOf(18, 2)).toBeCloseTo(30.9, 1)
    expect(arcMinutesOf(30, 2)).toBeGreaterThan(50)
  })

  // ISO/IEC 7810, ID-1: 85.60 mm x 53.98 mm (MEMORY)
  test('a card 323.5 px wide is the usual 96 px an inch, one of 517 px a phone of 6.04 px/mm', () => {
    expect(pxPerMmOf(CARD_MM.width * USUAL_PX_PER_MM)).toBeCloseTo(96 / 25.4, 9)
    expect(CARD_MM.width * USUAL_PX_PER_MM).toBeCloseTo(323.5, 1)
    expect(pxPerMmOf(517)).toBeCloseTo(6.04, 2)
    expect(mmOf(120.8, 6.04)).toBeCloseTo(20, 9)
  })

  test('what is stored and cannot be a screen or a distance is not taken', () => {
    expect([1.9, 2, 4.47, 10, 10.1, '4', null, Number.NaN].map(screenOf)).toEqual([
      null,
      2,
      4.47,
      10,
      null,
      null,
      null,
      null,
    ])
    expect([0.3, 0.6, 1, 2, 1.5, '2', undefined].map(distanceOf)).toEqual([0.3, 0.6, 1, 2, 1, 1, 1])
  })
})

const LAPTOP: ScreenFacts = { width: 1280, height: 800, pxPerMm: 4.47, distanceM: 1 }
const TABLET: ScreenFacts = { width: 1024, height: 768, pxPerMm: 5.2, distanceM: 1 }
const PHONE: ScreenFacts = { width: 844, height: 390, pxPerMm: 6.04, distanceM: 0.3 }

/** A phone held upright: 65 mm wide. */
const UPRIGHT: ScreenFacts = { width: 390, height: 844, pxPerMm: 6.04, distanceM: 0.3 }

describe('sizes of a screen', () => {
  test.each([
    ['laptop', 30, 20, LAPTOP],
    ['laptop before a set-up', 30, 20, { ...LAPTOP, pxPerMm: null }],
    ['laptop seen from 2 m', 30, 20, { ...LAPTOP, distanceM: 2 }],
    ['tablet', 30, 20, TABLET],
    ['tablet held upright', 30, 20, { ...TABLET, width: 768, height: 1024 }],
    ['phone', 18, 0, PHONE],
    ['phone before a set-up', 18, 0, { ...PHONE, pxPerMm: null }],
  ] as const)('%s: digits %d mm, name %d mm, buttons 20 mm', (_, digitMm, nameMm, screen) => {
    const { mm, digit, name, target } = typeSizes(screen)
    expect(digit / mm).toBeGreaterThanOrEqual(digitMm)
    expect(name / mm).toBeGreaterThanOrEqual(nameMm)
    expect(target / mm).toBeGreaterThanOrEqual(20)
    expect(tooSmall(screen).filter(({ unit }) => unit === 'mm')).toEqual([])
  })

  test('a phone held upright has buttons as high, asks for digits as high, and says what its width leaves of them', () => {
    const { mm, digit, target, footShort } = typeSizes(UPRIGHT)
    expect(digit / mm).toBeGreaterThanOrEqual(18)
    expect(target / mm).toBeGreaterThanOrEqual(20)
    expect(footShort).toBe(true)
    expect(sizeWords(0.3, tooSmall(UPRIGHT))[0]).toBe(
      'The number is 15 mm high, 18 mm are wanted: use a larger screen.',
    )
  })

  test.each([
    [844, 390],
    [390, 844],
    [360, 640],
    [320, 568],
    [1280, 800],
    [1024, 768],
    [768, 1024],
    [600, 561],
  ])('on %d x %d name, number, gauge, words, facts and buttons fit under each other', (width, height) => {
    for (const pxPerMm of [null, 3, 6.04])
      for (const distanceM of [0.3, 1, 2] as const) {
        const sizes = typeSizes({ width, height, pxPerMm, distanceM })
        const { name, digit, guide, second, label, foot, target, gap } = sizes
        for (const px of Object.values(sizes)) if (typeof px === 'number') expect(px).toBeGreaterThan(0)
        // beside each other on a low screen: the name and the number, the buttons and all else
        const low = height <= 560
        const under = digit + (guide + second + foot) * 1.2 + label * 3 + 3 * gap + (low ? 0 : name + target)
        expect(under, `${pxPerMm} px/mm, ${distanceM} m`).toBeLessThan(height)
      }
  })

  test('words grow with the distance, as far as the screen has room, and never shrink', () => {
    const near = typeSizes({ ...LAPTOP, distanceM: 0.3 })
    const far = typeSizes({ ...LAPTOP, distanceM: 2 })
    expect(far.foot).toBeGreaterThan(near.foot * 1.3)
    expect(far.place).toBeGreaterThan(near.place * 1.3)
    expect(far.digit).toBe(near.digit)
  })

  test('a screen on which 30 mm leave nothing for the gauge gets what fits, and says so', () => {
    const tiny = { width: 1024, height: 768, pxPerMm: 7.5, distanceM: 1 } as const
    const { digit } = typeSizes(tiny)
    expect(digit).toBeCloseTo(0.23 * 768, 6)
    expect(sizeWords(1, tooSmall(tiny))[0]).toBe('The number is 23 mm high, 30 mm are wanted: use a larger screen.')
  })

  test('the small line leaves its labels out before it becomes smaller than can be read', () => {
    expect(typeSizes({ ...LAPTOP, pxPerMm: null }).footShort).toBe(false)
    expect(typeSizes(TABLET).footShort).toBe(true)
  })
})

describe('what is too small, in words', () => {
  test('nothing on a laptop at 1 m', () => {
    expect(sizeWords(1, tooSmall({ ...LAPTOP, pxPerMm: null }))).toEqual([
      'At 1 m everything on the gauge is large enough to be read.',
    ])
  })

  test('one part alone', () => {
    expect(sizeWords(2, [{ part: 'foot', unit: 'arc-minutes', is: 12.2, wanted: 16 }])).toEqual([
      'At 2 m the small line is 12 arc-minutes (16 are wanted): come nearer or use a larger screen.',
    ])
  })

  test('several, each with its own figure, and what was wanted once', () => {
    expect(
      sizeWords(2, [
        { part: 'guide', unit: 'arc-minutes', is: 14.4, wanted: 20 },
        { part: 'label', unit: 'arc-minutes', is: 9.4, wanted: 16 },
        { part: 'foot', unit: 'arc-minutes', is: 10.1, wanted: 16 },
      ]),
    ).toEqual([
      'At 2 m the sentence is 14 arc-minutes (20 are wanted), the labels of the slot 9, the small line 10 (16 are wanted): come nearer or use a larger screen.',
    ])
  })
})

describe('the number in its room', () => {
  const short = { head: 0, tail: 2.4, rest: 1.2 }
  const long = { head: 2.7, tail: 2.9, rest: 2.8 }

  test('a short one stands as it looks best', () => {
    expect(fitNumber(short, 900, 160)).toEqual({ typePx: 160, headShare: 1, restShare: 0.45 })
    expect(wishedWidthPx(short, 160)).toBeCloseTo(470.4, 6)
  })

  test('of a long one head and unit give way, and the digits that move do not', () => {
    const { typePx, headShare, restShare } = fitNumber(long, 1050, 217)
    expect(typePx).toBe(217)
    expect(headShare).toBeLessThan(1)
    expect(restShare).toBeLessThan(0.45)
    expect(typePx * (long.tail + long.head * headShare + long.rest * restShare)).toBeCloseTo(1050, 6)
  })

  test('only where that is not enough all of it shrinks', () => {
    const { typePx, headShare, restShare } = fitNumber(long, 600, 217)
    expect(typePx).toBeLessThan(217)
    expect(typePx * (long.tail + long.head * headShare + long.rest * restShare)).toBeCloseTo(600, 6)
  })
})

import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { type LiveFrame, type LiveState, STATES } from '../../src/schema/messages/shown.ts'
import { captured, frame, step } from '../web/frame-parts.ts'
import { FIXTURES, SIGNED, WATCHING } from '../web/frames.ts'
import { openStage, type Stage } from './stage.ts'

/** Digits as high as they should be; held upright a phone is not wide enough for long numbers so high, and says that it should be turned. */
const SIZES = [
  { name: 'laptop', width: 1280, height: 800, digitPx: 113.4, longPx: 113.4, labelPx: 75.6 },
  { name: 'tablet', width: 1024, height: 768, digitPx: 113.4, longPx: 113.4, labelPx: 75.6 },
  { name: 'phone turned sideways', width: 844, height: 390, digitPx: 68, longPx: 68, labelPx: 0 },
  { name: 'tablet held upright', width: 768, height: 1024, digitPx: 113.4, longPx: 113.4, labelPx: 75.6 },
  { name: 'phone held upright', width: 390, height: 844, digitPx: 68, longPx: 57, labelPx: 75.6 },
  { name: 'small phone held upright', width: 360, height: 640, digitPx: 64, longPx: 51, labelPx: 0 },
  {
    name: 'phone held upright under the bars of its browser',
    width: 375,
    height: 553,
    digitPx: 64,
    longPx: 51,
    labelPx: 0,
  },
] as const

const BUTTON_PX = 75.5

let stage: Stage
let page: Page

beforeAll(async () => {
  stage = await openStage()
}, 60_000)
afterAll(() => stage.close())

const show = (shown: LiveFrame, lastsMs?: number) => stage.show(page, shown, lastsMs)

interface Box {
  readonly selector: string
  readonly left: number
  readonly top: number
  readonly right: number
  readonly bottom: number
  readonly width: number
  readonly height: number
}

/** Where the visible elements of some selectors stand. */
function boxes(selectors: readonly string[]): Promise<Box[]> {
  return page.evaluate(
    (wanted) =>
      wanted.flatMap((selector) =>
        [...document.querySelectorAll(selector)]
          .filter((element) => element.getClientRects().length > 0)
          .map((element) => {
            const { left, top, right, bottom, width, height } = element.getBoundingClientRect()
            return { selector, left, top, right, bottom, width, height }
          }),
      ),
    selectors,
  )
}

const box = (selector: string) => boxes([selector])

/** Nothing lies on anything else; a common edge of 1 px is none. */
function expectApart(one: Box, others: readonly Box[]): void {
  for (const other of others) {
    const across = Math.min(one.right, other.right) - Math.max(one.left, other.left)
    const down = Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top)
    expect(Math.min(across, down), `${one.selector} on ${other.selector}`).toBeLessThanOrEqual(1)
  }
}

/** Parts that lie beside each other, never on each other. */
const PARTS = [
  '.head',
  '.number',
  '.typing',
  '.gauge',
  '.guide',
  '.call',
  '.step-sheet',
  '.setting-list',
  '.table',
  '.panel',
  '.lines',
  '.aside',
  '.strip',
  '.bar',
]
/** Words and numbers that stay on the sheet. */
const TEXTS = [
  '.digits',
  '.unit',
  '.age',
  '.beside',
  '.label',
  '.guide-words',
  '.call-big',
  '.call-second',
  '.fact',
  '.typing-note',
  '.record',
  '.sheet-label',
  '.sheet-where',
  '.sheet-target',
  '.sheet-guide',
  '.cautions',
]

describe.each(SIZES)('on a $name, $width x $height', ({ width, height, digitPx, longPx, labelPx }) => {
  beforeAll(async () => {
    page = await stage.openPage({ width, height })
  })
  afterAll(() => page.close())

  test('the first screen can be filled in to its end', async () => {
    await page.getByRole('button', { name: 'Watch' }).scrollIntoViewIfNeeded()
    await page.getByRole('button', { name: 'Start a job' }).scrollIntoViewIfNeeded()
    expect(await page.getByRole('button', { name: 'Start a job' }).isVisible()).toBe(true)
  })

  const standsApart = async () => {
    const parts = await boxes(PARTS)
    for (const [index, one] of parts.entries()) {
      expect(one.left).toBeGreaterThanOrEqual(0)
      expect(one.right).toBeLessThanOrEqual(width)
      expect(one.bottom).toBeLessThanOrEqual(height)
      expectApart(one, parts.slice(index + 1))
    }
    const [sheet, ...texts] = await boxes(['.sheet', ...TEXTS])
    for (const [index, one] of texts.entries()) expectApart(one, texts.slice(index + 1))
    for (const one of texts) {
      expect(one.left, one.selector).toBeGreaterThanOrEqual(sheet?.left ?? 0)
      expect(one.right, one.selector).toBeLessThanOrEqual(sheet?.right ?? 0)
      expect(one.bottom, one.selector).toBeLessThanOrEqual(sheet?.bottom ?? 0)
      expect(one.top, one.selector).toBeGreaterThanOrEqual(sheet?.top ?? 0)
    }
    expect(stage.complaints).toEqual([])
  }

  test.each(STATES)('%s: everything stands apart and on the screen', async (state) => {
    await show(FIXTURES[state])
    await standsApart()
  })

  test('so it does just watching, at the end of a signed job, where a step repeats, and while a typed value is doubted', async () => {
    await show(WATCHING)
    await standsApart()
    await show(SIGNED)
    await standsApart()
    await show({
      ...FIXTURES.captured,
      captured: [captured({ accepted: false, verdict: 'low', digits: '2.90' })],
      offers: ['next', 'again', 'stop'],
      guide: { words: 'Too low: 2.90 W', way: '', hands: '' },
      because: 'channel 1: out of band. Open the coils again, peak them, then this.',
    })
    await standsApart()
    const buttons = await box('button')
    expect(buttons).toHaveLength(4)
    for (const [index, one] of buttons.entries()) {
      expectApart(one, buttons.slice(index + 1))
      expect(one.bottom).toBeLessThanOrEqual(height)
      expect(one.height).toBeGreaterThanOrEqual(index === 0 ? 44 : BUTTON_PX)
      expect(one.width).toBeGreaterThanOrEqual(BUTTON_PX)
    }
    for (const state of ['near', 'key now', 'action', 'rest'] as const) {
      await show({ ...FIXTURES[state], step: step({ stop: { number: 2, of: 6, words: '600 Hz, 20 mV' } }) })
      await standsApart()
    }
    stage.service.answerWith(() => ({ ok: false, words: '39 W? Or 3.9?', asksBack: true }))
    await show(FIXTURES['type in'])
    await page.keyboard.type('39')
    await page.keyboard.press('Enter')
    await page.getByRole('button', { name: 'Yes, 39 W' }).waitFor()
    await standsApart()
    const [yes] = await box('.typing-row button:last-child')
    expect(Math.min(yes?.width ?? 0, yes?.height ?? 0)).toBeGreaterThanOrEqual(BUTTON_PX)
  })

  test('of new cautions at least three lines are in sight at once', async () => {
    await show(FIXTURES['read step'])
    const [scroll] = await box('.caution-scroll')
    const linePx = await page
      .locator('.cautions li')
      .first()
      .evaluate((one) => {
        const style = getComputedStyle(one)
        return Number.parseFloat(style.lineHeight) || Number.parseFloat(style.fontSize) * 1.2
      })
    const [head] = await box('.caution-head')
    expect((scroll?.height ?? 0) - (head?.height ?? 0)).toBeGreaterThanOrEqual(3 * linePx)
  })

  test('a line is broken after a comma, never between a number and its unit', async () => {
    await show(FIXTURES.near)
    const parts = await box('.title .part')
    expect(parts.length).toBe(2)
    const lines = await page.locator('.title .part').evaluateAll((all) => all.map((one) => one.getClientRects().length))
    expect(lines).toEqual([1, 1])
    expect(await page.locator('.title').textContent()).toBe(FIXTURES.near.step?.targetWords)
  })

  test.each<LiveState>(['far', 'in', 'passed over', 'captured', 'old'])(
    `%s: digits are at least ${digitPx} px high`,
    async (state) => {
      await show(FIXTURES[state])
      const [digits] = await box('.digits')
      expect(digits?.height).toBeGreaterThanOrEqual(digitPx)
      // The box is trimmed to the height of a digit; the ink itself says whether that is true.
      const ink = await page.locator('.digits').evaluate((element) => {
        const style = getComputedStyle(element)
        const canvas = document.createElement('canvas').getContext('2d')
        if (canvas === null) return 0
        canvas.font = `${style.fontWeight} 1000px ${style.fontFamily}`
        const capital = canvas.measureText('H').actualBoundingBoxAscent
        const digit = canvas.measureText('7').actualBoundingBoxAscent
        return (digit / capital) * element.getBoundingClientRect().height
      })
      expect(ink).toBeGreaterThanOrEqual(digitPx)
      const [label] = await box('.label')
      expect(label?.height).toBeGreaterThanOrEqual(labelPx)
    },
  )

  test('the moving digits of a long frequency keep their height where there is the width, and fit', async () => {
    await show(WATCHING)
    const [tail] = await box('.digits')
    expect(tail?.height).toBeGreaterThanOrEqual(longPx)
    expect((await box('.unit'))[0]?.right).toBeLessThanOrEqual((await box('.gauge-box'))[0]?.right ?? 0)
  })

  test.each<LiveState>(['read step', 'in', 'type in', 'settings', 'captured', 'stopped', 'finished'])(
    '%s: buttons are at least 20 mm',
    async (state) => {
      await show(FIXTURES[state])
      const buttons = await box('button:not(.hook-up-door)')
      expect(buttons.length).toBeGreaterThanOrEqual(2)
      expect(buttons.length).toBeLessThanOrEqual(3)
      // the words themselves are the door to their drawing
      for (const one of [...buttons, ...(await box('.hook-up-door'))]) {
        expect(one.width).toBeGreaterThanOrEqual(BUTTON_PX)
        expect(one.height).toBeGreaterThanOrEqual(BUTTON_PX)
      }
    },
  )

  test('the slot takes one third of the width, and the peg stands where its error says', async () => {
    await show(frame({ state: 'far', peg: { e: -4, halfE: 0.01, ragged: 0, drop: 0 } }))
    await page.waitForTimeout(250)
    const drawn = await page.locator('.gauge').evaluate((svg) => {
      const gauge = svg.getBoundingClientRect()
      const places =
        svg
          .querySelector('.slot')
          ?.getAttribute('d')
          ?.match(/[\d.]+/g)
          ?.map(Number) ?? []
      const peg = svg.querySelector('.peg-shape')?.getBoundingClientRect()
      return { width: gauge.width, slot: [places[0], places[3]], peg: (peg?.right ?? 0) - gauge.left }
    })
    expect(drawn.slot[0]).toBeCloseTo(drawn.width / 3, 0)
    expect(drawn.slot[1]).toBeCloseTo((drawn.width * 2) / 3, 0)
    const place = (1 - Math.asinh(1.5 * 3.99) / Math.asinh(18)) / 2
    expect(Math.abs(drawn.peg - place * drawn.width)).toBeLessThan(5)
  })
})

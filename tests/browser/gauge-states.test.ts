import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import type { Browser, Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from 'vitest'
import { type LiveFrame, type LiveState, STATES } from '../../src/schema/live-frame.ts'
import { FIXTURES, frame, keyed, reading, WATCHING } from '../web/frames.ts'
import { buildPage, type FakeService, openBrowser, openService, TOKEN } from './page-kit.ts'

const SIZES = [
  { name: 'laptop', width: 1280, height: 800, digitPx: 113.4, labelPx: 75.6 },
  { name: 'tablet', width: 1024, height: 768, digitPx: 113.4, labelPx: 75.6 },
  { name: 'phone turned sideways', width: 844, height: 390, digitPx: 68, labelPx: 0 },
] as const

const BUTTON_PX = 75.5

let dist: string
let browser: Browser
let service: FakeService
let page: Page
const complaints: string[] = []
let seq = 0

beforeAll(async () => {
  dist = await mkdtemp(join(tmpdir(), 'gauge-page-'))
  await buildPage(dist)
  browser = await openBrowser()
  service = await openService(dist)
}, 60_000)

afterAll(async () => {
  await browser.close()
  await service.close()
  await rm(dist, { recursive: true, force: true })
})

/** A page of its own at a size; what the browser complains about is collected. */
async function openPage(size: { readonly width: number; readonly height: number }): Promise<Page> {
  const opened = await browser.newPage({ viewport: { width: size.width, height: size.height } })
  opened.on('console', (message) => {
    if (message.type() === 'error') complaints.push(message.text())
  })
  opened.on('pageerror', (error) => complaints.push(error.message))
  await opened.goto(service.url)
  await opened.waitForSelector('.panel-form .choice')
  return opened
}

/**
 * Shows a frame and waits until the page says that it is painted. On a busy machine a test may take longer than a reading
 * lasts, so readings last a minute unless a test is about their age.
 */
async function show(shown: LiveFrame, lastsMs = 60_000): Promise<void> {
  seq += 1
  const painted = page.evaluate(
    (wanted) =>
      new Promise<void>((resolve) =>
        document.addEventListener('trimwright:painted', (event) => {
          if (event instanceof CustomEvent && event.detail.seq === wanted) resolve()
        }),
      ),
    seq,
  )
  // The listener stands before the frame leaves.
  await page.evaluate(() => true)
  service.show({ ...shown, reading: shown.reading && { ...shown.reading, oldAfterMs: lastsMs } }, seq)
  await painted
}

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
  '.gauge',
  '.guide',
  '.call',
  '.step-sheet',
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
  '.sheet-label',
  '.sheet-where',
  '.sheet-target',
  '.sheet-guide',
  '.cautions',
]

describe.each(SIZES)('on a $name, $width x $height', ({ width, height, digitPx, labelPx }) => {
  beforeAll(async () => {
    page = await openPage({ width, height })
  })
  afterAll(() => page.close())

  test('the first screen can be filled in to its end', async () => {
    await page.getByRole('button', { name: 'Watch' }).scrollIntoViewIfNeeded()
    await page.getByRole('button', { name: 'Start a job' }).scrollIntoViewIfNeeded()
    expect(await page.getByRole('button', { name: 'Start a job' }).isVisible()).toBe(true)
  })

  test.each([...STATES, 'just watching'] as const)('%s: everything stands apart and on the screen', async (state) => {
    await show(state === 'just watching' ? WATCHING : FIXTURES[state])
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
    expect(complaints).toEqual([])
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

  test('a long frequency keeps its moving digits as high, and fits', async () => {
    await show(WATCHING)
    const [tail] = await box('.digits')
    expect(tail?.height).toBeGreaterThanOrEqual(digitPx)
    expect((await box('.unit'))[0]?.right).toBeLessThanOrEqual((await box('.gauge-box'))[0]?.right ?? 0)
  })

  test.each<LiveState>(['read step', 'in', 'captured', 'stopped', 'finished'])(
    '%s: buttons are at least 20 mm',
    async (state) => {
      await show(FIXTURES[state])
      const buttons = await box('button')
      expect(buttons.length).toBeGreaterThanOrEqual(2)
      expect(buttons.length).toBeLessThanOrEqual(3)
      for (const one of buttons) {
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

describe('on a laptop', () => {
  beforeEach(async () => {
    service.asked.length = 0
    service.heres.length = 0
    service.protocols.length = 0
    complaints.length = 0
    page = await openPage({ width: 1280, height: 800 })
  })
  afterEach(async () => {
    await page.close()
    expect(complaints).toEqual([])
  })

  test('the frame round the screen looks different below, above, in, old, stopped, and otherwise', async () => {
    const shown: [LiveState, string][] = [
      ['far', 'above'],
      ['near', 'below'],
      ['in', 'in'],
      ['old', 'old'],
      ['stopped', 'stop'],
      ['read step', 'none'],
    ]
    const looks = new Set<string>()
    for (const [state, hatch] of shown) {
      await show(FIXTURES[state])
      expect(await page.getAttribute('body', 'data-hatch')).toBe(hatch)
      looks.add(await page.locator('.edge').evaluate((edge) => getComputedStyle(edge).background))
    }
    expect(looks.size).toBe(6)
  })

  describe('what the page sends', () => {
    const kinds = () => service.asked.map(({ kind }) => kind)

    test('its token as the sub-protocol, and that it is here and visible', async () => {
      await expect.poll(() => service.heres.length, { timeout: 3_000 }).toBeGreaterThanOrEqual(2)
      expect(service.protocols).toEqual([`trimwright.${TOKEN}`])
      expect(service.heres.every(({ visible }) => visible)).toBe(true)
    })

    test('a watch as it was written, or the example beside it', async () => {
      await show(FIXTURES.idle)
      await page.getByText('Frequency').click()
      await page.getByRole('button', { name: 'Watch' }).click()
      await page.getByLabel('What it should be').fill('27.2049 .. 27.2051 MHz')
      await page.keyboard.press('Enter')
      await page.getByRole('button', { name: 'maximum' }).click()
      await page.getByRole('button', { name: 'Watch' }).click()
      await expect.poll(() => service.asked.length).toBe(3)
      expect(service.asked).toMatchObject([
        { kind: 'watch', quantity: 'frequency', target: '27.205 MHz +- 150 Hz' },
        { kind: 'watch', quantity: 'frequency', target: '27.2049 .. 27.2051 MHz' },
        { kind: 'watch', quantity: 'frequency', target: 'maximum' },
      ])
      expect(new Set(service.asked.map((one) => ('id' in one ? one.id : ''))).size).toBe(3)
    })

    test('a job with its bands: those of "yes", those of "ask" only when picked, and no serial on a simulated bench', async () => {
      await show(FIXTURES.idle)
      await page.getByRole('button', { name: 'Start a job' }).click()
      await page.getByRole('button', { name: 'Begin' }).click()
      await show(frame({ ...FIXTURES.idle }))
      await page.getByRole('button', { name: 'Start a job' }).click()
      await page.getByText('channels 41 to 80').click()
      await page.getByLabel('Serial number').fill('BW-0417')
      await page.getByRole('button', { name: 'Begin' }).click()
      await expect.poll(() => service.asked.length).toBe(2)
      expect(service.asked).toMatchObject([
        { kind: 'start job', procedure: 'brackwater-27m-transmit.yaml', serial: '', bands: ['cept'] },
        { kind: 'start job', procedure: 'brackwater-27m-transmit.yaml', serial: 'BW-0417', bands: ['cept', 'de-low'] },
      ])
    })

    test('PageDown does what is offered, once a press, and says that it was the key', async () => {
      await show(FIXTURES['read step'])
      await page.keyboard.down('PageDown')
      await page.keyboard.down('PageDown')
      await page.keyboard.up('PageDown')
      await show(FIXTURES.steady)
      await page.waitForTimeout(200)
      await page.keyboard.press('PageDown')
      await show(FIXTURES.far)
      await page.waitForTimeout(200)
      await page.keyboard.press('PageDown')
      await page.getByRole('button', { name: 'Steps' }).waitFor()
      await expect.poll(() => service.asked.length).toBe(2)
      expect(service.asked).toMatchObject([{ kind: 'ready' }, { kind: 'capture', by: 'key' }])
    })

    test('a click captures as a click; STOP and End stop; Enter and Space alone do nothing', async () => {
      await show(FIXTURES.steady)
      await page.keyboard.press('Enter')
      await page.keyboard.press('Space')
      await page.getByRole('button', { name: 'Capture' }).click()
      await page.getByRole('button', { name: 'STOP' }).click()
      await page.keyboard.press('End')
      await expect.poll(() => service.asked.length).toBe(3)
      expect(service.asked).toMatchObject([{ kind: 'capture', by: 'click' }, { kind: 'stop' }, { kind: 'stop' }])
    })

    test('nothing while somebody types, and it says so', async () => {
      await show(FIXTURES.idle)
      await page.getByLabel('What it should be').focus()
      await page.keyboard.press('End')
      await page.keyboard.press('PageDown')
      expect(await page.getByText('Foot switch and keys rest while you type.').isVisible()).toBe(true)
      await page.waitForTimeout(100)
      expect(kinds()).toEqual([])
    })

    test('a step opened again from the list, and one left out with a reason of three letters', async () => {
      await show(FIXTURES['read step'])
      await page.getByRole('button', { name: 'Steps' }).click()
      const line = page.locator('.steps li', { hasText: 'A6' })
      await line.getByRole('button', { name: 'Leave out' }).click()
      await line.getByLabel('Reason').fill('no')
      await line.locator('.leave').getByRole('button', { name: 'Leave out' }).click()
      expect(await line.getByText('Say why').isVisible()).toBe(true)
      await line.getByLabel('Reason').fill('band not used here')
      await line.locator('.leave').getByRole('button', { name: 'Leave out' }).click()
      await page.locator('.steps').waitFor({ state: 'detached' })
      await page.getByRole('button', { name: 'Steps' }).click()
      await page.locator('.steps li', { hasText: 'A5' }).getByRole('button', { name: 'Open again' }).click()
      await expect.poll(() => service.asked.length).toBe(2)
      expect(service.asked).toMatchObject([
        { kind: 'leave out', step: 'ends', reason: 'band not used here' },
        { kind: 'open step', step: 'control' },
      ])
    })

    test('a page that does not steer asks for it, and has no other button but STOP', async () => {
      service.send({ kind: 'role', steering: 'another', asked: false })
      await show(FIXTURES.steady)
      expect(await page.getByText('Another page steers').isVisible()).toBe(true)
      const buttons = (await page.getByRole('button').allTextContents()).map((text) => text.replace(/\s+/g, ' '))
      expect(buttons).toEqual(['Steer from here', 'STOPsupply off'])
      await page.getByRole('button', { name: 'Steer from here' }).click()
      await expect.poll(kinds).toEqual(['steer'])
    })
  })

  describe('when the service goes', () => {
    test('the number is struck out and the hand told to stop at once; the page comes back by itself', async () => {
      await show(FIXTURES.near)
      service.drop()
      await page.getByText('Do not turn', { exact: true }).waitFor({ timeout: 1_000 })
      expect(await page.locator('.digits.struck').isVisible()).toBe(true)
      service.back()
      await expect.poll(() => service.protocols.length, { timeout: 5_000 }).toBe(2)
      await show(FIXTURES.near)
      expect(await page.locator('.digits.struck').count()).toBe(0)
      complaints.length = 0
      expect(await page.getByText('Bring it up a little').isVisible()).toBe(true)
    })

    test('frames that stop coming turn old by the service clock after the 900 ms of the reading', async () => {
      await show(FIXTURES.in, 900)
      await page.waitForFunction(() => document.body.dataset.hatch === 'old', null, { timeout: 2_000 })
    })
  })

  test('sound is held back until the first touch, and the page says so', async () => {
    await show(FIXTURES.far)
    expect(await page.locator('.news').textContent()).toBe('sound is held back by the browser: touch the page')
    await page.mouse.click(640, 300)
    await expect.poll(() => page.locator('.news').textContent()).toBe('')
  })

  test('a step that an open microphone would spoil asks about headphones once', async () => {
    await page.mouse.click(2, 2)
    const deviation = frame({
      reading: reading({ quantity: 'FM deviation', value: 1800, digits: '1.80', unit: 'kHz' }),
    })
    await show(deviation)
    await page.getByText('Do you wear headphones?').waitFor()
    await page.getByRole('button', { name: 'Stay silent' }).click()
    await expect.poll(() => page.locator('.news').textContent()).toBe('silent: the microphone would hear it')
  })

  test('dark ground and sound level are kept on this device', async () => {
    await show(FIXTURES.idle)
    await page.getByText('Dark ground').click()
    await page.getByText('events only').click()
    await page.reload()
    expect(await page.locator('html').getAttribute('data-ground')).toBe('dark')
    expect(await page.getByLabel('events only').isChecked()).toBe(true)
  })

  test('the peg does not glide where movement is not wanted', async () => {
    await show(FIXTURES.far)
    const duration = () => page.locator('.peg').evaluate((peg) => getComputedStyle(peg).transitionDuration)
    expect(await duration()).toBe('0.15s')
    await page.emulateMedia({ reducedMotion: 'reduce' })
    expect(await duration()).toBe('0s')
  })

  test('digits are kept from screen readers; one polite region speaks', async () => {
    await show(FIXTURES.captured)
    expect(await page.locator('.gauge-box').getAttribute('aria-live')).toBe('off')
    expect(await page.locator('[aria-live=polite]').count()).toBe(1)
    await expect.poll(() => page.getByRole('status').textContent(), { timeout: 4_000 }).toBe('captured 3.85 W')
  })

  test('every frame is painted, and one costs at most 10 ms of computing time in the page', async () => {
    const session = await page.context().newCDPSession(page)
    await session.send('Performance.enable', { timeDomain: 'threadTicks' })
    const spentS = async () => {
      const { metrics } = await session.send('Performance.getMetrics')
      return metrics.find(({ name }) => name === 'TaskDuration')?.value ?? Number.NaN
    }
    const moving = (at: number) => {
      const peg = { e: 2 + (at % 7), halfE: 0.3, ragged: 0.2, drop: 0 }
      return frame({ state: 'far', peg, key: keyed(at / 10), reading: reading({ digits: (4 + at / 50).toFixed(2) }) })
    }
    await show(moving(0))
    const beforeS = await spentS()
    for (let at = 1; at <= 40; at += 1) await show(moving(at))
    expect(((await spentS()) - beforeS) / 40).toBeLessThanOrEqual(0.01)
  })
})

test('the whole page is under 120 kB gzipped and brings no schema library', async () => {
  const files = await readdir(dist, { recursive: true, withFileTypes: true })
  const contents = await Promise.all(
    files.filter((file) => file.isFile()).map((file) => readFile(join(file.parentPath, file.name))),
  )
  const bytes = contents.reduce((sum, content) => sum + gzipSync(content).length, 0)
  expect(bytes).toBeLessThan(120_000)
  expect(contents.map(String).join('')).not.toMatch(/ZodError|strictObject|discriminatedUnion/)
})

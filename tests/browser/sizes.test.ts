import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import type { LiveFrame, LiveState } from '../../src/schema/messages/shown.ts'
import { arcMinutesOf } from '../../web/measure/arc-size.ts'
import { FIXTURES, WATCHING } from '../web/frames.ts'
import { pixelsOf } from './pixels.ts'
import { openStage, type Stage } from './stage.ts'

/** Screens as they are sold, with the px in a millimetre that a card would show, and where they stand. */
const DEVICES = [
  {
    name: 'laptop',
    width: 1280,
    height: 800,
    pxPerMm: 4.47,
    distanceM: 1,
    digitMm: 30,
    longMm: 30,
    labelMm: 20,
    knuckleMm: 20,
  },
  {
    name: 'tablet',
    width: 1024,
    height: 768,
    pxPerMm: 5.2,
    distanceM: 0.6,
    digitMm: 30,
    longMm: 30,
    labelMm: 20,
    knuckleMm: 20,
  },
  {
    name: 'phone',
    width: 844,
    height: 390,
    pxPerMm: 6.04,
    distanceM: 0.3,
    digitMm: 18,
    longMm: 18,
    labelMm: 0,
    knuckleMm: 20,
  },
  {
    name: 'tablet held upright',
    width: 768,
    height: 1024,
    pxPerMm: 5.2,
    distanceM: 0.6,
    digitMm: 29.5, // of four digits with a sign; shorter ones are 30
    longMm: 22,
    labelMm: 20,
    knuckleMm: 20,
  },
  // 65 mm wide: neither is there room for five digits of 18 mm nor for three buttons of 20 mm beside each other
  {
    name: 'phone held upright',
    width: 390,
    height: 844,
    pxPerMm: 6.04,
    distanceM: 0.3,
    digitMm: 12,
    longMm: 9,
    labelMm: 12,
    knuckleMm: 16,
  },
] as const

let stage: Stage
let page: Page
/** An empty page, without the policy of ours, to look at pictures in. */
let table: Page

beforeAll(async () => {
  stage = await openStage()
  page = await stage.openPage({ width: 1280, height: 800 })
  table = (await page.context().browser()?.newPage()) ?? page
}, 60_000)
afterAll(() => stage.close())

/** Stores what a set-up would have stored, and loads the page as this device. */
async function becomes(device: { width: number; height: number }, stored: object): Promise<void> {
  await page.setViewportSize({ width: device.width, height: device.height })
  await page.evaluate((kept) => localStorage.setItem('trimwright.settings', kept), JSON.stringify(stored))
  await page.reload()
  await page.waitForSelector('.panel-form .choice')
}

/** Height of the ink, px, of the first capital or digit of an element: rows of the picture that are not ground. */
async function inkPx(selector: string): Promise<number> {
  const place = await page.locator(selector).evaluate((element) => {
    // flat signs are as high as they are said to be, round ones a little higher
    for (const signs of [/[147EFHIKLMNTVWXYZ]/, /[A-Z0-9]/]) {
      const walk = document.createTreeWalker(element, NodeFilter.SHOW_TEXT)
      for (let node = walk.nextNode(); node !== null; node = walk.nextNode()) {
        const at = (node.textContent ?? '').search(signs)
        if (at < 0) continue
        const range = document.createRange()
        range.setStart(node, at)
        range.setEnd(node, at + 1)
        const { left, top, width, height } = range.getBoundingClientRect()
        return { x: left, y: top, width, height }
      }
    }
    return null
  })
  if (place === null) throw new Error(`no capital and no digit in ${selector}`)
  const png = await page.screenshot({ clip: place, animations: 'disabled' })
  const image = await pixelsOf(table, png)
  const pixels = image.data
  const light = (x: number, y: number) => pixels[(y * image.width + x) * 4 + 1] ?? 0
  const shades = new Map<number, number>()
  for (let at = 0; at < pixels.length; at += 4)
    shades.set(pixels[at + 1] ?? 0, (shades.get(pixels[at + 1] ?? 0) ?? 0) + 1)
  // bold signs cover less of their line than the ground does
  const ground = [...shades].reduce((most, one) => (one[1] > most[1] ? one : most))[0]
  const columns = Array.from({ length: Math.max(1, image.width - 4) }, (_, at) => at + 2)
  const inked = (y: number) => y >= 0 && y < image.height && columns.some((x) => Math.abs(light(x, y) - ground) > 60)
  // outward from its middle, so that what stands in the lines above and below is left out
  let top = Math.floor(image.height / 2)
  let bottom = top
  while (inked(top - 1)) top -= 1
  while (inked(bottom + 1)) bottom += 1
  return bottom - top + 1
}

interface Box {
  readonly what: string
  readonly left: number
  readonly top: number
  readonly right: number
  readonly bottom: number
}

const TEXTS = [
  '.label',
  '.place p',
  '.digits',
  '.unit',
  '.beside',
  '.guide-words',
  '.guide-second',
  '.gauge text',
  '.fact',
  '.lines p',
  'button:not(.hook-up-door)',
  '.hook-up-door span',
  '.call p',
  '.sheet-left > *',
  '.sheet-rows',
  '.cautions',
]

/** Whatever says something on the screen, where it is really seen: a place cut off by its box counts as far as it shows. */
function seen(): Promise<Box[]> {
  return page.evaluate((selectors) => {
    const boxes: Box[] = []
    for (const element of document.querySelectorAll(selectors.join(','))) {
      if (element.textContent?.trim() === '' || element.getClientRects().length === 0) continue
      const { left, top, right, bottom } = element.getBoundingClientRect()
      const holder = element.closest('.place')?.getBoundingClientRect()
      if (holder !== undefined && top >= holder.bottom - 1) continue
      const name = element.getAttribute('class') ?? element.tagName
      // rows that are more than their box are scrolled in it
      const scrolled = element.closest('.sheet-places')?.getBoundingClientRect().bottom ?? bottom
      const what = `${name} "${element.textContent?.slice(0, 24)}"`
      boxes.push({
        what,
        left,
        top,
        right,
        bottom: element.matches('.sheet-rows') ? Math.min(bottom, scrolled) : bottom,
      })
    }
    return boxes
  }, TEXTS)
}

/** Nothing lies on anything else, nothing leaves the sheet, and no line is wider than its box. */
async function expectApart(): Promise<void> {
  const found = await seen()
  expect(found.length).toBeGreaterThan(4)
  const sheet = await page.locator('.sheet').evaluate((element) => element.getBoundingClientRect().toJSON())
  for (const [index, one] of found.entries()) {
    expect(one.left, one.what).toBeGreaterThanOrEqual(sheet.left)
    expect(one.right, one.what).toBeLessThanOrEqual(sheet.right)
    expect(one.top, one.what).toBeGreaterThanOrEqual(sheet.top)
    expect(one.bottom, one.what).toBeLessThanOrEqual(sheet.bottom)
    for (const other of found.slice(index + 1)) {
      const across = Math.min(one.right, other.right) - Math.max(one.left, other.left)
      const down = Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top)
      expect(Math.min(across, down), `${one.what} on ${other.what}`).toBeLessThanOrEqual(2)
    }
  }
  const spilt = await page.evaluate(() =>
    [...document.querySelectorAll('.number, .guide, .strip, .fact, .call, .sheet-half, button, .gauge-box')]
      .filter((one) => one.getClientRects().length > 0 && one.scrollWidth > one.clientWidth + 1)
      .map((one) => one.className),
  )
  expect(spilt).toEqual([])
}

describe.each(DEVICES)('$name, $pxPerMm px/mm, seen from $distanceM m', (device) => {
  const { pxPerMm, distanceM, digitMm, longMm, labelMm, knuckleMm } = device
  beforeAll(() => becomes(device, { pxPerMm, distanceM }))

  const mm = async (selector: string) => (await inkPx(selector)) / pxPerMm
  const arcMinutes = async (selector: string) => arcMinutesOf(await mm(selector), distanceM)

  test.each<LiveState>(['near', 'steady', 'at best', 'captured'])(
    `%s: ink of the digits ${digitMm} mm, of the name ${labelMm} mm, of all words 16 or 20 arc-minutes`,
    async (state) => {
      await stage.show(page, FIXTURES[state])
      await page.waitForTimeout(200)
      await expectApart()
      expect(await mm('.tail')).toBeGreaterThanOrEqual(digitMm)
      expect(await mm('.label')).toBeGreaterThanOrEqual(labelMm)
      expect(await arcMinutes('.label')).toBeGreaterThanOrEqual(20)
      // a row of pixels is worth half an arc-minute here
      expect(await arcMinutes('.guide-words')).toBeGreaterThanOrEqual(19.5)
      if (state === 'steady' || state === 'captured') return
      const line = state === 'at best' ? '.beside' : '.place .title'
      for (const small of ['.fact[data-fact="plug"] b', '.fact[data-fact="current"] b', line])
        expect(await arcMinutes(small), small).toBeGreaterThanOrEqual(15.5)
    },
  )

  test('key now: the words a hand long, what to do 20 arc-minutes', async () => {
    await stage.show(page, FIXTURES['key now'])
    await expectApart()
    expect(await mm('.call-big')).toBeGreaterThanOrEqual(digitMm * 0.5)
    expect(await arcMinutes('.call-big')).toBeGreaterThanOrEqual(50)
    expect(await arcMinutes('.call-third')).toBeGreaterThanOrEqual(15.5)
  })

  test('read step: what is turned 20 mm, each line about it 16 arc-minutes', async () => {
    const fixture = FIXTURES['read step']
    const { cautions = [] } = fixture.step ?? {}
    await stage.show(page, {
      ...fixture,
      step: fixture.step && { ...fixture.step, cautions: [], cautionsSeen: cautions },
    })
    await page.waitForTimeout(100)
    await expectApart()
    expect(await mm('.sheet-label')).toBeGreaterThanOrEqual(labelMm)
    for (const line of ['.sheet-target b', '.sheet-guide'])
      expect(await arcMinutes(line), line).toBeGreaterThanOrEqual(15.5)
  })

  test('so it does while cautions want to be read, but for the name, which then is a little smaller', async () => {
    await stage.show(page, FIXTURES['read step'])
    await page.waitForTimeout(100)
    await expectApart()
    expect(await mm('.sheet-label')).toBeGreaterThanOrEqual(labelMm * 0.75)
    for (const line of ['.sheet-target b', '.sheet-guide', '.cautions li >> nth=0'])
      expect(await arcMinutes(line), line).toBeGreaterThanOrEqual(15)
  })

  test('the digits of a long frequency that move are as high, and unit and head stay inside', async () => {
    await stage.show(page, WATCHING)
    await expectApart()
    expect(await mm('.tail')).toBeGreaterThanOrEqual(longMm)
  })

  test(`the buttons for the knuckle are 20 mm high and ${knuckleMm} mm wide`, async () => {
    await stage.show(page, FIXTURES.steady)
    for (const one of ['.main', '.stop']) {
      const box = await page.locator(one).boundingBox()
      expect((box?.height ?? 0) / pxPerMm).toBeGreaterThanOrEqual(20)
      expect((box?.width ?? 0) / pxPerMm).toBeGreaterThanOrEqual(knuckleMm)
    }
  })
})

describe('the set-up', () => {
  const open = async () => {
    await page.getByRole('button', { name: 'Fit to this screen' }).click()
    await page.waitForSelector('.size-screen')
  }
  const card = async () => {
    const box = await page.locator('.card').boundingBox()
    return { width: box?.width ?? 0, height: box?.height ?? 0 }
  }
  const kept = () => page.evaluate(() => JSON.parse(localStorage.getItem('trimwright.settings') ?? '{}'))

  test('a card is drawn at the usual 96 px an inch, and that it is assumed is said', async () => {
    await becomes({ width: 1280, height: 800 }, {})
    await open()
    expect((await card()).width).toBeCloseTo((85.6 * 96) / 25.4, 0)
    expect((await card()).height / (await card()).width).toBeCloseTo(53.98 / 85.6, 2)
    expect(await page.locator('.size-told').textContent()).toBe('Not set up yet: the usual 96 px an inch is assumed.')
    expect(await page.locator('.size-said').textContent()).toBe(
      'At 1 m everything on the gauge is large enough to be read.',
    )
  })

  test('it holds against WCAG 2.2 AA, by axe-core', async () => {
    const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
    // the page's own policy refuses scripts from elsewhere: the checker comes in as the debugger's
    await page.evaluate(axe)
    const broken = await page.evaluate(
      `axe.run(document, { runOnly: { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] } })
        .then(({ violations, passes }) => [passes.length > 5, ...violations.map(({ id }) => id)])`,
    )
    expect(broken).toEqual([true])
  })

  test('arrow keys, buttons and the slider make it larger and smaller; it is kept when the card fits', async () => {
    await page.keyboard.press('ArrowRight')
    await page.keyboard.press('ArrowUp')
    await page.keyboard.press('ArrowLeft')
    expect((await card()).width).toBe(325)
    await page.getByRole('button', { name: 'Bigger' }).click()
    await page.getByRole('button', { name: 'Bigger' }).click()
    await page.getByRole('button', { name: 'Smaller' }).click()
    expect((await card()).width).toBe(326)
    await page.locator('.card-room').click()
    await page.keyboard.press('ArrowRight')
    expect((await card()).width).toBe(327)
    await page.getByRole('slider').fill('383')
    expect((await card()).width).toBe(383)
    expect(await page.locator('.size-told').textContent()).toBe('Not kept yet.')
    expect((await kept()).pxPerMm).toBeUndefined()
    await page.getByRole('button', { name: 'The card fits' }).click()
    expect((await kept()).pxPerMm).toBeCloseTo(383 / 85.6, 6)
    expect(await page.locator('.size-told').textContent()).toBe('Kept on this device.')
  })

  test('held down, a button goes on', async () => {
    const before = (await card()).width
    const box = await page.getByRole('button', { name: 'Bigger' }).boundingBox()
    await page.mouse.move((box?.x ?? 0) + 20, (box?.y ?? 0) + 20)
    await page.mouse.down()
    await expect.poll(async () => (await card()).width, { timeout: 3_000 }).toBeGreaterThan(before + 4)
    await page.mouse.up()
    const after = (await card()).width
    await page.waitForTimeout(150)
    expect((await card()).width).toBeLessThanOrEqual(after + 1)
  })

  test('what is too small at the distance is said with the figure that the ink has', async () => {
    await page.getByRole('slider').fill('383')
    await page.getByText('2 m', { exact: true }).click()
    const said = (await page.locator('.size-said').textContent()) ?? ''
    expect(said).toMatch(/^At 2 m .*come nearer or use a larger screen\.$/)
    expect((await kept()).distanceM).toBe(2)
    await page.getByRole('button', { name: 'Back' }).click()
    await stage.show(page, FIXTURES.near)
    await page.waitForTimeout(200)
    const figures = [
      ['the sentence is (\\d+)', '.guide-words'],
      ['the line about the adjuster (\\d+)', '.place .title'],
      ['the small line (\\d+)', '.fact[data-fact="plug"] b'],
    ] as const
    for (const [words, selector] of figures) {
      const told = Number(new RegExp(words).exec(said)?.[1])
      const is = arcMinutesOf((await inkPx(selector)) / (383 / 85.6), 2)
      expect(Math.abs(told - is), `${words}: told ${told}, is ${is}`).toBeLessThanOrEqual(0.8)
    }
    expect(await page.evaluate(() => getComputedStyle(document.documentElement).getPropertyValue('--mm'))).toBe(
      '4.474px',
    )
  })

  test('a screen that is turned is measured anew, and "Forget it" brings the usual back', async () => {
    await page.setViewportSize({ width: 844, height: 390 })
    await expect
      .poll(() => page.evaluate(() => getComputedStyle(document.documentElement).getPropertyValue('--digit')))
      .toBe(`${(18.4 * (383 / 85.6)).toFixed(3)}px`)
    await page.setViewportSize({ width: 1280, height: 800 })
    await stage.show(page, FIXTURES.idle)
    await open()
    await page.getByRole('button', { name: 'Forget it' }).click()
    expect((await kept()).pxPerMm).toBeNull()
    expect((await card()).width).toBe(324)
    expect(stage.complaints).toEqual([])
  })
})

describe('the words under the slot', () => {
  test.each([
    [1280, 800],
    [1024, 768],
    [768, 1024],
    [844, 390],
  ])('do not run into each other at %i x %i, and how far off it is is always there', async (width, height) => {
    const page = await stage.openPage({ width, height })
    const far: LiveFrame = FIXTURES.far
    await stage.show(page, { ...far, peg: far.peg && { ...far.peg, e: -19 } })
    const boxes = await page.locator('.gauge text').evaluateAll((texts) =>
      texts
        .filter((text) => text.textContent !== '')
        .map((text) => {
          const { left, right, top, bottom } = text.getBoundingClientRect()
          return { words: text.textContent, left, right, top, bottom }
        }),
    )
    expect(boxes.map(({ words }) => words).join(' ')).toContain('bands too low')
    for (const [index, one] of boxes.entries())
      for (const other of boxes.slice(index + 1)) {
        const apart = one.right <= other.left || other.right <= one.left
        const level = one.bottom > other.top && other.bottom > one.top
        expect(apart || !level, `${one.words} / ${other.words}`).toBe(true)
      }
    await page.close()
  })
})

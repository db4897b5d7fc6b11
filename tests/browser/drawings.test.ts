import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import type { PlaceOnBench, StepView } from '../../src/schema/messages/shown.ts'
import { placesIn, toolIn } from '../kit/job/places.ts'
import { CONTROL } from '../web/bench-places.ts'
import { step } from '../web/frame-parts.ts'
import { FIXTURES } from '../web/frames.ts'
import { WELCOME } from './page-kit.ts'
import { openStage, type Stage } from './stage.ts'

const SIZES = [
  { name: 'laptop', width: 1280, height: 800, cautions: 5 },
  { name: 'tablet', width: 1024, height: 768, cautions: 1 },
] as const
const PHONE = { width: 844, height: 390 }
const UPRIGHT = { width: 390, height: 844 }

/** 16 arc-minutes at 0.6 m are 2.8 mm, at 96 px an inch (NUREG-0700); a capital is 0.72 of the type. */
const LEAST_CAPITAL_PX = 2.79 * 3.7795
const CAPITAL = 0.72
/** 20 mm at 96 px an inch. */
const KNUCKLE_PX = 75.59

const DEVIATION = step({
  adjuster: 'PD',
  tool: toolIn('small blade'),
  tone: '1 kHz, 30 mV',
  reads: [{ quantity: 'FM deviation', instrument: 'modmeter' }],
  where: placesIn({ microphone: { holds: 'oscillator' } }),
})
const CROWDED = step({
  adjuster: 'WHIGH1',
  adjusterWhere: 'high power preset',
  tool: toolIn('hexagonal, plastic, two millimetres across'),
  reads: [
    { quantity: 'DC voltage', instrument: 'multimeter-at-the-left-1' },
    { quantity: 'RF power', instrument: 'wattmeter-with-long-name' },
    { quantity: 'SINAD', instrument: 'audio-analyser-number-03' },
  ],
  where: placesIn({
    prod: { on: 'board', words: 'the solder joint nearest to the output coil' },
    common: { on: 'strip', words: 'the bare strip that runs along the rear edge of the board' },
    side: 'component',
    set: 'on its back with the loudspeaker lead unplugged and the knob off',
    microphone: 'a plug with a resistor of 600 ohm between its first two pins',
  }),
})

let stage: Stage
let page: Page

beforeAll(async () => {
  stage = await openStage()
}, 60_000)
afterAll(() => stage.close())

const read = (one: StepView) => stage.show(page, { ...FIXTURES['read step'], step: one })

/** Boxes of all words of a drawing, with the height of their capitals as they stand on the screen, px. */
function wordsOf(selector: string) {
  return page.locator(selector).evaluate((svg, capital) => {
    if (!(svg instanceof SVGSVGElement)) throw new TypeError('no drawing')
    const { a = 0, b = 0 } = svg.getScreenCTM() ?? {}
    const scale = Math.hypot(a, b) // on a phone held upright it lies on its side
    return [...svg.querySelectorAll('text')].map((text) => {
      const { bottom, left, right, top } = text.getBoundingClientRect()
      const capitalPx = Number.parseFloat(getComputedStyle(text).fontSize) * scale * capital
      return { words: text.textContent, bottom, left, right, top, capitalPx }
    })
  }, CAPITAL)
}

/** The words that stand beside the drawing. */
const rows = () => page.locator('.sheet-rows > div:visible').allTextContents()

describe.each(SIZES)('the hook-up on a $name, with $cautions new cautions', ({ cautions, height, width }) => {
  const read = (one: StepView) =>
    stage.show(page, { ...FIXTURES['read step'], step: { ...one, cautions: one.cautions.slice(0, cautions) } })

  beforeAll(async () => {
    page = await stage.openPage({ width, height })
  })
  afterAll(() => page.close())

  test.each([
    ['a probed step', CONTROL],
    ['a keyed step with a tone', DEVIATION],
    ['the longest names that a bench file may have, and long places', CROWDED],
  ])('%s: words are read at 0.6 m, lie on the drawing and not on each other; Ready is in sight', async (_name, one) => {
    await read(one)
    const words = await wordsOf('.hook-up')
    expect(words.length).toBeGreaterThan(8)
    for (const [index, { bottom, capitalPx, left, right, top, words: text }] of words.entries()) {
      expect(capitalPx, text ?? '').toBeGreaterThanOrEqual(LEAST_CAPITAL_PX)
      expect(left, text ?? '').toBeGreaterThanOrEqual(0)
      expect(right, text ?? '').toBeLessThanOrEqual(width)
      for (const other of words.slice(index + 1)) {
        const across = Math.min(right, other.right) - Math.max(left, other.left)
        // lines of one sentence stand closer than their boxes are high
        const down = Math.min(bottom, other.bottom) - Math.max(top, other.top) - 5
        expect(Math.min(across, down), `"${text}" on "${other.words}"`).toBeLessThanOrEqual(1)
      }
    }
    const ready = await page.getByRole('button', { name: 'Ready' }).boundingBox()
    expect((ready?.y ?? height) + (ready?.height ?? 0)).toBeLessThanOrEqual(height)
    expect(stage.complaints).toEqual([])
  })

  test('names of instruments stay in their boxes, however long', async () => {
    await read(CROWDED)
    const outside = await page.locator('.hook-up').evaluate((svg) =>
      [...svg.querySelectorAll('rect')].flatMap((rect) => {
        const next = rect.nextElementSibling
        if (next?.tagName !== 'text') return []
        const [box, text] = [rect.getBoundingClientRect(), next.getBoundingClientRect()]
        return text.right > box.right || text.left < box.left ? [next.textContent] : []
      }),
    )
    expect(outside).toEqual([])
  })

  test('what the drawing says is not written a second time; what did not fit is', async () => {
    await read(CONTROL)
    expect((await rows()).join(' ')).not.toContain('earth strip ES')
    await read(CROWDED)
    expect((await rows()).join(' ')).toContain('the bare strip that runs along the rear edge')
  })

  test('used and unused differ in the weight of the line, in grey as well', async () => {
    await read(DEVIATION)
    const widths = await page.locator('.hook-up').evaluate((svg) => {
      const of = (selector: string) => {
        const part = svg.querySelector(selector)
        return part === null ? 0 : Number.parseFloat(getComputedStyle(part).strokeWidth)
      }
      return { used: of('.microphone rect.used'), pale: of('.prod rect.pale') }
    })
    expect(widths.used).toBeGreaterThanOrEqual(2 * widths.pale)
    expect(widths.pale).toBeGreaterThan(0)
  })
})

test('the drawing is one picture with a sentence for a screen reader', async () => {
  page = await stage.openPage(SIZES[0])
  await read(CONTROL)
  await page.getByRole('img', { name: 'volts: prod on T1, common on earth strip ES, solder side.' }).waitFor()
  await page.close()
})

test.each([
  ['a phone turned sideways', PHONE],
  ['a phone held upright', UPRIGHT],
  ['a tablet that five new cautions leave no room for it', SIZES[1]],
])('%s shows the words alone, every one of them', async (_name, size) => {
  page = await stage.openPage(size)
  await read(CONTROL)
  expect(await page.locator('.hook-up').isVisible()).toBe(false)
  const shown = await page.locator('.sheet-rows > div').allTextContents()
  for (const words of ['T1', 'earth strip ES', 'solder side', 'upright in the holder', "through the lid's hole"])
    expect(shown.join(' ')).toContain(words)
  expect(await page.locator('.sheet-rows dd').first().isVisible()).toBe(true)
  expect(await page.getByText('earth strip ES').last().isVisible()).toBe(true)
  expect(await page.getByRole('button', { name: 'Ready' }).isVisible()).toBe(true)
  await page.close()
})

test.each([
  ['a phone turned sideways', PHONE, []],
  ['a phone with new cautions', PHONE, ['No aerial: a dummy load.', 'The heatsink is hot.']],
  ['a phone held upright', UPRIGHT, []],
  ['a phone held upright with new cautions', UPRIGHT, ['No aerial: a dummy load.', 'The heatsink is hot.']],
  ['a tablet with five new cautions', SIZES[1], FIXTURES['read step'].step?.cautions ?? []],
])(
  '%s shows it drawn over the step after a touch on the words, legible, and Ready never goes past what it hides',
  async (_name, size, cautions) => {
    page = await stage.openPage(size)
    stage.service.asked.length = 0
    await read({ ...CONTROL, cautions })
    const door = page.getByRole('button', { name: 'Show it drawn' })
    const touched = (await door.boundingBox()) ?? { width: 0, height: 0 }
    expect(Math.min(touched.width, touched.height)).toBeGreaterThanOrEqual(KNUCKLE_PX)
    await door.click()
    const whole = page.locator('.hook-up-whole')
    for (const { capitalPx } of await wordsOf('.hook-up-whole svg')) expect(capitalPx).toBeGreaterThan(LEAST_CAPITAL_PX)
    const sheet = (await page.locator('.step-sheet').boundingBox()) ?? { width: 0, height: 0 }
    expect((await whole.boundingBox())?.width).toBeGreaterThanOrEqual(sheet.width - 1)
    expect((await whole.boundingBox())?.height).toBeGreaterThanOrEqual(sheet.height - 1)
    await page.getByRole('button', { name: 'Back to the words' }).click()
    expect(await whole.count()).toBe(0)
    await door.click()
    await page.getByRole('button', { name: 'Ready' }).click()
    if (cautions.length > 0) {
      expect(await whole.count()).toBe(0)
      expect(stage.service.asked).toEqual([])
    } else await expect.poll(() => stage.service.asked.map(({ kind }) => kind)).toEqual(['ready'])
    await page.close()
  },
)

test('words of a file are words on the page, whatever they look like', async () => {
  page = await stage.openPage(SIZES[0])
  const place = '<img src=x onerror="document.title=1">'
  await read({
    ...CONTROL,
    where: placesIn({ common: place, prod: '<b>T1</b>' }),
  })
  expect(await page.locator('.hook-up img, .hook-up b, .sheet-rows img').count()).toBe(0)
  expect(await page.locator('.hook-up').textContent()).toContain('<b>T1</b>')
  expect(await page.title()).toBe('Trimwright')
  await page.close()
})

describe('the bench on the first screen', () => {
  const places = (more: readonly PlaceOnBench[]): readonly PlaceOnBench[] => [
    ...WELCOME.places.filter((one) => !more.some(({ what }) => what === one.what)),
    ...more,
  ]
  const lacking = places([
    { what: 'RF power', needed: true, instrument: null, link: 'none', isolated: 'yes', lossDb: 0 },
    { what: 'FM deviation', needed: true, instrument: 'modmeter', link: 'down', isolated: 'yes', lossDb: 0 },
  ])

  beforeAll(async () => {
    page = await stage.openPage(SIZES[0])
    await stage.show(page, FIXTURES.idle)
  })
  afterAll(() => page.close())

  test('a line says who is there; a press, or a key, opens the drawing with every instrument at its lead', async () => {
    const line = page.locator('.bench-part summary')
    expect(await line.textContent()).toContain('6 instruments')
    expect(await page.locator('.bench-drawing').count()).toBe(0)
    await line.focus()
    await page.keyboard.press('Enter')
    await page.locator('.bench-drawing').waitFor()
    expect(await page.locator('.bench-drawing .seat').count()).toBe(6)
    expect(await page.locator('.bench-drawing').isVisible()).toBe(true)
    const [box] = [await line.boundingBox()]
    expect(box?.height).toBeGreaterThanOrEqual(75.5)
  })

  test('a link that goes shows within the open drawing, and what somebody types stays', async () => {
    await page.locator('.panel-form input[type=text], .panel-form .field input').first().fill('3.7 .. 3.8 W')
    await page.locator('.panel-form h1').first().click()
    stage.service.send({ ...WELCOME, places: lacking })
    await page.getByText('DOES NOT ANSWER', { exact: true }).waitFor()
    expect(await page.locator('.bench-drawing').isVisible()).toBe(true)
    expect(await page.locator('.bench-part summary').textContent()).toContain(
      'modmeter does not answer; nobody for RF power',
    )
    expect(await page.locator('.panel-form .field input').first().inputValue()).toBe('3.7 .. 3.8 W')
  })

  test('an empty place is dashed and says what to do', async () => {
    const seat = page.locator('.bench-drawing .seat').filter({ hasText: 'nobody measures' })
    const dashes = await seat.locator('rect').evaluate((rect) => getComputedStyle(rect).strokeDasharray)
    expect(dashes).not.toBe('none')
    expect((await seat.allTextContents()).join('').replaceAll(/\s+/g, '')).toContain('addaninstrumenttothebenchfile')
    expect(await seat.locator('path').count()).toBe(0)
    const words = await wordsOf('.bench-drawing')
    for (const { capitalPx } of words) expect(capitalPx).toBeGreaterThanOrEqual(LEAST_CAPITAL_PX)
    expect(stage.complaints).toEqual([])
  })
})

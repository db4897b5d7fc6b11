import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest'
import { z } from 'zod'
import { type LiveFrame, STATES } from '../../src/schema/messages/shown.ts'
import { frame, step } from '../web/frame-parts.ts'
import { FIXTURES } from '../web/frames.ts'
import { pixelsOf } from './pixels.ts'
import { openStage, type Stage } from './stage.ts'

vi.setConfig({ testTimeout: 60_000 })

/** axe-core (Deque, MPL-2.0), a general-purpose checker of the rules of WCAG 2.2. */
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']
const Found = z.object({
  violations: z.array(z.object({ id: z.string(), help: z.string(), nodes: z.array(z.object({ html: z.string() })) })),
  passes: z.array(z.object({ id: z.string() })),
})

let stage: Stage
let page: Page
/** An empty page, without the policy of ours, to look at pictures in. */
let table: Page

beforeAll(async () => {
  stage = await openStage()
  page = await stage.openPage({ width: 1280, height: 800 })
  table = (await page.context().browser()?.newPage()) ?? page
  // the page's own policy refuses scripts from elsewhere: the checker comes in as the debugger's
  await page.evaluate(AXE)
}, 60_000)
afterAll(() => stage.close())

/** What of the rules is broken, in words; and that rules were looked at at all. */
async function broken(on: Page): Promise<readonly string[]> {
  const said: unknown = await on.evaluate(
    `axe.run(document, { runOnly: { type: 'tag', values: ${JSON.stringify(TAGS)} }, resultTypes: ['violations', 'passes'] })`,
  )
  const { violations, passes } = Found.parse(said)
  expect(passes.length).toBeGreaterThan(5)
  return violations.map(({ id, help, nodes }) => `${id}: ${help}: ${nodes.map(({ html }) => html).join(' | ')}`)
}

/** Of a list in its full length: a button that is half scrolled away is as large as before. */
async function brokenInFull(): Promise<readonly string[]> {
  await page.setViewportSize({ width: 1280, height: 2400 })
  const found = await broken(page)
  await page.setViewportSize({ width: 1280, height: 800 })
  return found
}

describe('WCAG 2.2 AA, by axe-core', () => {
  test.each(STATES)('state %s', async (state) => {
    await stage.show(page, FIXTURES[state])
    expect(await broken(page)).toEqual([])
  })

  test('every state on a phone held upright', async () => {
    await page.setViewportSize({ width: 390, height: 844 })
    for (const state of STATES) {
      await stage.show(page, FIXTURES[state])
      expect(await broken(page), state).toEqual([])
    }
    await page.setViewportSize({ width: 1280, height: 800 })
  })

  test.each(['Start a job', 'Steps', 'Foot switch'] as const)('behind the button "%s"', async (name) => {
    await stage.show(page, name === 'Steps' ? frame({}) : FIXTURES.idle)
    await page.getByRole('button', { name }).first().click()
    expect(await brokenInFull()).toEqual([])
    await page.getByRole('button', { name: 'Back' }).first().click()
  })

  test('a capture that can be taken back, a mark to be explained, cautions seen and not', async () => {
    const mark = { number: 1, at: '2026-11-25T21:14:05.000Z', title: 'Transmit power', reading: '3.85 W', words: '' }
    await stage.show(page, {
      ...FIXTURES.captured,
      offers: ['take back', 'next', 'stop'],
      takeBackUntilMs: FIXTURES.captured.atMs + 5000,
      marks: [mark],
    })
    expect(await broken(page)).toEqual([])
    await page.getByRole('button', { name: 'Steps' }).click()
    expect(await brokenInFull()).toEqual([])
    await page.getByRole('button', { name: 'Back' }).first().click()
    await stage.show(page, { ...FIXTURES['read step'], step: step({ cautionsSeen: ['Local rules decide.'] }) })
    await page.getByText('cautions seen before: 1').click()
    expect(await broken(page)).toEqual([])
  })

  test('with the drawing of the bench and the trace of the last minutes opened', async () => {
    await stage.show(page, FIXTURES.idle)
    await page.locator('.bench-part summary').click()
    expect(await broken(page)).toEqual([])
    await page.locator('.bench-part summary').click()
    await stage.show(page, FIXTURES.steady)
    await page.getByRole('button', { name: 'Steps' }).click()
    await page.locator('.trace-part summary').click()
    await page.locator('.trace-sheet canvas').waitFor()
    expect(await broken(page)).toEqual([])
    await page.getByRole('button', { name: 'Back' }).first().click()
  })

  test('on the dark ground', async () => {
    await page.evaluate(() => {
      document.documentElement.dataset.ground = 'dark'
    })
    for (const state of ['read step', 'far', 'steady', 'stopped', 'finished'] as const) {
      await stage.show(page, FIXTURES[state])
      expect(await broken(page)).toEqual([])
    }
    await page.evaluate(() => {
      document.documentElement.dataset.ground = 'light'
    })
  })
})

describe('without colour', () => {
  const frames: Readonly<Record<'below' | 'above' | 'in', LiveFrame>> = {
    below: FIXTURES.near,
    above: FIXTURES.far,
    in: FIXTURES.steady,
  }

  /** Brightness of one line across the frame's edge, 8 px from the top, as 0 and 1. */
  const edge = async (): Promise<string> => {
    const png = await page.screenshot({ clip: { x: 200, y: 4, width: 240, height: 24 } })
    const { width, data } = await pixelsOf(table, png)
    const rows = [2, 8].map((y) => [...data.subarray(y * width * 4, (y + 1) * width * 4)])
    return rows
      .map((row) => {
        const grey = row.flatMap((_, at) =>
          at % 4 === 0 ? [0.2126 * (row[at] ?? 0) + 0.7152 * (row[at + 1] ?? 0) + 0.0722 * (row[at + 2] ?? 0)] : [],
        )
        const middle = (Math.min(...grey) + Math.max(...grey)) / 2
        return grey.map((one) => (Math.max(...grey) - Math.min(...grey) < 20 ? '.' : one > middle ? '1' : '0')).join('')
      })
      .join('/')
  }

  test.each(['achromatopsia', 'deuteranopia', 'protanopia', 'tritanopia'] as const)(
    'under %s the frame still tells below, above and in apart, by the lean of its hatching and by its lack',
    async (type) => {
      const session = await page.context().newCDPSession(page)
      await session.send('Emulation.setEmulatedVisionDeficiency', { type })
      const seen = new Map<string, string>()
      for (const [name, shown] of Object.entries(frames)) {
        await stage.show(page, shown)
        seen.set(name, await edge())
      }
      await session.send('Emulation.setEmulatedVisionDeficiency', { type: 'none' })
      await session.detach()
      expect(lean(seen.get('below') ?? '')).toBe('right')
      expect(lean(seen.get('above') ?? '')).toBe('left')
      expect(lean(seen.get('in') ?? '')).toBe('none')
    },
  )
})

/** Which way the stripes of two rows, 6 px apart, are shifted against each other: left or right as they run down. */
function lean(rows: string): 'left' | 'right' | 'none' {
  const [upper = '', lower = ''] = rows.split('/')
  if (!/01|10/.test(upper)) return 'none'
  const agree = (by: number) =>
    [...upper].filter((one, at) => at + by >= 0 && at + by < lower.length && lower[at + by] === one).length
  const [left, right] = [agree(-6), agree(6)]
  return left > right ? 'left' : 'right'
}

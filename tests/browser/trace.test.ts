import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import type { LiveEvent, LiveFrame } from '../../src/schema/messages/shown.ts'
import { readPageFiles } from '../../src/server/page-files.ts'
import { frame, keyed, RELEASED, reading } from '../web/frame-parts.ts'
import { TOKEN } from './page-kit.ts'
import { openStage, type Stage } from './stage.ts'

let stage: Stage
let page: Page
let asked: string[]

beforeAll(async () => {
  stage = await openStage()
  page = await stage.openPage({ width: 1280, height: 800 })
  asked = []
  page.on('request', (request) => asked.push(new URL(request.url()).pathname))
}, 60_000)
afterAll(() => stage.close())

/** s of the power step that are sent; the newest frame is made at `sentMs`. */
const SENT_S = 58
let sentMs = 0

/** A frame each 500 ms: 3.70 W, the key up from 35 to 25 s ago, then 3.90 W, and 10 s ago a capture. */
async function aMinute(): Promise<void> {
  sentMs = performance.now()
  const frames = Array.from({ length: SENT_S * 2 + 1 }, (_, n): LiveFrame => {
    const ago = SENT_S - n / 2
    const atMs = sentMs - ago * 1_000
    const up = ago < 35 && ago > 25
    const value = ago >= 35 ? 3.7 : 3.9
    const events: LiveEvent[] = ago <= 10 ? [{ seq: 1, what: 'captured', words: '' }] : []
    const arrived = reading({ value, digits: value.toFixed(2), arrivedMs: atMs, oldAfterMs: 600_000 })
    const key = up ? RELEASED : keyed(3)
    return frame({ seq: 1_000 + n, atMs, state: up ? 'key now' : 'in', key, reading: arrived, events })
  })
  for (const one of frames) stage.service.send(one)
  const last = frames.at(-1) ?? frame()
  await stage.show(page, { ...last, reading: reading({ value: 3.9, digits: '3.90', ageMs: 0 }) }, 600_000)
}

/** Rows from the top of the chart in which its ink stands, for each column of pixels of a stretch of the sent minute, s before its end. */
function columns(fromAgo: number, toAgo: number): Promise<readonly (readonly number[])[]> {
  const sinceS = (performance.now() - sentMs) / 1_000
  // the chart begins at the whole five seconds before its first point
  const wideS = Math.ceil((SENT_S + sinceS) / 5) * 5
  const stretch = { from: (fromAgo + sinceS) / wideS, to: (toAgo + sinceS) / wideS }
  return page.locator('.trace-sheet canvas').evaluate((canvas, { from, to }) => {
    if (!(canvas instanceof HTMLCanvasElement)) throw new TypeError('no chart')
    const over = document.querySelector('.u-over')?.getBoundingClientRect()
    const context = canvas.getContext('2d')
    if (over === undefined || context === null) throw new TypeError('no chart area')
    const box = canvas.getBoundingClientRect()
    const [left, right] = [over.right - over.width * from, over.right - over.width * to]
    const [x, y] = [Math.round(left - box.left), Math.round(over.top - box.top)]
    const [wide, high] = [Math.max(1, Math.round(right - left)), Math.round(over.height)]
    const { data } = context.getImageData(x, y, wide, high)
    const hex = getComputedStyle(document.documentElement).getPropertyValue('--ink').trim()
    const ink = [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16))
    return Array.from({ length: wide }, (_, column) =>
      Array.from({ length: high }, (_, row) => row).filter((row) => {
        const at = (row * wide + column) * 4
        const distance = ink.reduce((sum, one, part) => sum + Math.abs(one - (data[at + part] ?? 0)), 0)
        return (data[at + 3] ?? 0) > 160 && distance < 90
      }),
    )
  }, stretch)
}

/** Middle rows of the separate pieces of ink in a column. */
function pieces(rows: readonly number[]): readonly number[] {
  const found: number[][] = []
  for (const row of rows) {
    const last = found.at(-1)
    if (last !== undefined && row - (last.at(-1) ?? 0) <= 1) last.push(row)
    else found.push([row])
  }
  return found.map((piece) => ((piece[0] ?? 0) + (piece.at(-1) ?? 0)) / 2)
}

async function column(ago: number): Promise<readonly number[]> {
  return pieces((await columns(ago + 0.05, ago))[0] ?? [])
}

/** The row of a value of power, by the scale that shows 3.60 to 4.00 W with 8 % more on each side. */
async function rowOf(watts: number): Promise<number> {
  const high = await page.locator('.u-over').evaluate((over) => over.getBoundingClientRect().height)
  const [low, top] = [3.6 - 0.032, 4 + 0.032]
  return ((top - watts) / (top - low)) * high
}

describe('the last minutes in the list of steps', () => {
  test('are told in words without the chart, whose library is not fetched before it is wanted', async () => {
    await aMinute()
    expect(await page.locator('.trace-part').count()).toBe(0)
    await page.getByRole('button', { name: 'Steps' }).click()
    await expect
      .poll(() => page.locator('.trace-part summary').textContent())
      .toMatch(/3\.90 W now, between 3\.70 and 3\.90 in the last \d+ s; key down once/)
    expect(await page.locator('.trace-sheet canvas').count()).toBe(0)
    expect(asked.filter((path) => path.includes('trace'))).toEqual([])
  })

  test('open by the keyboard, and the library comes from the service itself', async () => {
    await page.locator('.trace-part summary').focus()
    await page.keyboard.press('Enter')
    await page.locator('.trace-sheet canvas').waitFor()
    await page.waitForTimeout(700)
    expect(asked.filter((path) => /trace-.*\.js$/.test(path)).length).toBe(1)
    expect(await page.getByRole('button', { name: 'STOP' }).isVisible()).toBe(true)
    expect(stage.complaints).toEqual([])
  })

  test.each([
    [50, 3.7],
    [40, 3.7],
    [20, 3.9],
    [5, 3.9],
  ])('%i s before the end the line stands at %f W', async (ago, watts) => {
    const found = await column(ago)
    const near = (row: number) => found.some((one) => Math.abs(one - row) <= 2.5)
    expect(near(await rowOf(watts))).toBe(true)
    expect(near(await rowOf(watts === 3.7 ? 3.9 : 3.7))).toBe(false)
  })

  test('while the key was up there is a gap', async () => {
    const found = await column(30)
    for (const watts of [3.7, 3.8, 3.9]) {
      const row = await rowOf(watts)
      expect(found.filter((one) => Math.abs(one - row) <= 3)).toEqual([])
    }
  })

  test('both edges of the band are there, dashed', async () => {
    const stretch = (await columns(9, 4)).map(pieces)
    for (const watts of [3.6, 4]) {
      const row = await rowOf(watts)
      const hits = stretch.map((found) => found.some((one) => Math.abs(one - row) <= 2.5))
      expect(hits).toContain(true)
      expect(hits).toContain(false)
    }
  })

  test('the captured value has a line from top to bottom, as nothing near it has', async () => {
    const longest = (of: readonly (readonly number[])[]) => Math.max(...of.map((rows) => rows.length))
    const high = await page.locator('.u-over').evaluate((over) => over.getBoundingClientRect().height)
    expect(longest(await columns(11.5, 8.5))).toBeGreaterThan(0.9 * high)
    expect(longest(await columns(18, 13))).toBeLessThan(0.3 * high)
  })

  test('on the dark ground it is drawn in the ink of that ground', async () => {
    await page.evaluate(() => {
      document.documentElement.dataset.ground = 'dark'
    })
    await page.waitForTimeout(900)
    const row = await rowOf(3.9)
    expect((await column(20)).some((one) => Math.abs(one - row) <= 2.5)).toBe(true)
    await page.evaluate(() => {
      document.documentElement.dataset.ground = 'light'
    })
  })

  test('the chart is gone with the list: nothing of it is there while something is turned', async () => {
    await page.getByRole('button', { name: 'Back to the gauge' }).click()
    await page.locator('.gauge').waitFor()
    expect(await page.locator('.trace-part, .u-wrap').count()).toBe(0)
  })
})

test('the page comes without the chart: its part is a file of its own, below 30 kB, and both stay far below 120 kB', async () => {
  const files = await readPageFiles(stage.dist, TOKEN)
  const scripts = [...files.entries()].filter(([path]) => path.endsWith('.js'))
  const traces = scripts.filter(([path]) => path.startsWith('/assets/trace-'))
  expect(traces.map(([, { type }]) => type)).toEqual(['text/javascript; charset=utf-8'])
  const index = String(files.get('/')?.bytes)
  expect(index).toContain(TOKEN)
  expect(index).not.toMatch(/trace-/)
  for (const [, { bytes }] of scripts) expect(String(bytes)).not.toContain(TOKEN)
  const gzipped = (of: readonly (readonly [string, { readonly bytes: Buffer }])[]) =>
    of.reduce((sum, [, { bytes }]) => sum + gzipSync(bytes).length, 0)
  expect(gzipped(traces)).toBeLessThan(30_000)
  const assets = await readdir(join(stage.dist, 'assets'))
  const all = await Promise.all(assets.map((name) => readFile(join(stage.dist, 'assets', name))))
  // with every sentence that may come in a frame: the whole dictionary
  expect(all.reduce((sum, bytes) => sum + gzipSync(bytes).length, 0)).toBeLessThan(105_000)
})

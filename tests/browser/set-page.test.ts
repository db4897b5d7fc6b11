import { type Browser, chromium, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest'
import { MENU } from '../../mocks/plant/menu.ts'
import { openSimulatedBench, type SimulatedBench } from '../../mocks/simulated-bench.ts'
import { realClock, sleep } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'
import { CHROMIUM, NO_CHROMIUM } from '../kit/program/chromium.ts'

vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 })
if (NO_CHROMIUM !== '') console.log(`skipped: ${NO_CHROMIUM}`)

/** The set's own page as hands have it: keyboard on a bench computer, fingers on a tablet. */
describe.skipIf(NO_CHROMIUM !== '')("the set's own page", () => {
  /** Ten times as fast for the set, so that its time-out is waited for in 1.5 s; the page and the hands at their own pace. */
  const clock = realClock({ times: 10, originMs: performance.timeOrigin })
  const life = realClock()
  const ending = new AbortController()
  const complaints: string[] = []
  let bench: SimulatedBench
  let browser: Browser
  let page: Page

  beforeAll(async () => {
    bench = await openSimulatedBench({
      clock,
      rng: seededRng(1),
      log: silentLog,
      links: 'memory',
      signal: ending.signal,
      seed: null,
      setPage: true,
    })
    browser = await chromium.launch(CHROMIUM)
    const context = await browser.newContext({ viewport: { width: 1280, height: 1100 }, hasTouch: true })
    page = await context.newPage()
    page.on('console', (message) => {
      if (message.type() === 'error') complaints.push(message.text())
    })
    page.on('pageerror', (error) => complaints.push(error.message))
    await page.goto(bench.setPageUrl ?? '')
    await page.waitForFunction(() => document.querySelectorAll('.adjuster').length === 8)
  })

  afterAll(async () => {
    await browser?.close()
    ending.abort(new Error('the test is over'))
    await bench?.close()
  })

  const until = async (what: string, holds: () => boolean | Promise<boolean>) => {
    for (const endMs = life.nowMs() + 10_000; ; ) {
      if (await holds()) return
      if (life.nowMs() > endMs) throw new Error(`not within 10 s: ${what}; ${complaints.join('; ')}`)
      await sleep(life, 30, ending.signal)
    }
  }
  const item = (name: string) => page.locator('#menu').getByLabel(name)
  const supplyOn = async () => {
    const supply = bench.net.connect('supply')
    await supply.write('VOLT 13.8;:CURR 2.5;:OUTP ON\n')
    await until('the display lit', async () => ((await page.locator('#display').textContent()) ?? '').trim() === '19')
  }

  test('the menu is there, marked SIMULATED, and dark without supply', async () => {
    expect(await page.locator('#menu legend').textContent()).toContain('SIMULATED')
    for (const name of Object.keys(MENU)) expect(await item(name).isDisabled()).toBe(true)
    expect(await page.locator('#menu').getByText('no supply, no menu').isVisible()).toBe(true)
  })

  test('with supply it shows what the set has and offers what the set offers', async () => {
    await supplyOn()
    for (const [name, values] of Object.entries(MENU)) {
      expect(await item(name).isEnabled()).toBe(true)
      expect(await item(name).inputValue()).toBe(bench.set.settings()[name])
      expect(await item(name).locator('option').allTextContents()).toEqual([...values])
    }
    expect(await page.locator('#menu').getByText('no supply, no menu').isVisible()).toBe(false)
  })

  test('an item is changed with the keyboard alone', async () => {
    await item('time-out timer').focus()
    await page.keyboard.press('ArrowUp')
    await until('the timer one step shorter', () => bench.set.settings()['time-out timer'] === '45 s')
    await page.keyboard.press('Tab')
    expect(await page.evaluate(() => document.activeElement?.getAttribute('name'))).toBe('brightness')
    await page.keyboard.press('ArrowDown')
    await until('brighter', () => bench.set.settings().brightness === '4')
    await until('the display brighter', async () =>
      page.locator('#display').evaluate((display) => getComputedStyle(display).opacity === '0.9'),
    )
  })

  test('fingers find every item at least 44 pixels high', async () => {
    for (const name of Object.keys(MENU)) expect((await item(name).boundingBox())?.height).toBeGreaterThanOrEqual(44)
    expect((await page.locator('#whistle').boundingBox())?.height).toBeGreaterThanOrEqual(44)
    await item('end-of-call tone').selectOption('on')
    await until('the tone on', () => bench.set.settings()['end-of-call tone'] === 'on')
  })

  test('what others change is shown', async () => {
    bench.set.setting('call channel', '31')
    await until('channel 31', async () => (await item('call channel').inputValue()) === '31')
  })

  test('a tap starts the whistling, another ends it', async () => {
    const whistle = page.locator('#whistle')
    await whistle.tap()
    await until('whistling', () => bench.set.view().whistling)
    await until('shown', async () => (await whistle.getAttribute('aria-pressed')) === 'true')
    await whistle.tap()
    await until('silence', () => !bench.set.view().whistling)
  })

  test('a change of the menu lets go of a key that was kept down', async () => {
    await page.locator('#latch').click()
    await until('transmitting', () => bench.set.view().onAir)
    await item('key click').selectOption('off')
    await until('key up', () => !bench.set.view().key)
    await until('the latch out', async () => (await page.locator('#latch').getAttribute('aria-pressed')) === 'false')
  })

  test('a set that timed out says so while the key is down', async () => {
    await item('time-out timer').selectOption('15 s')
    await until('15 s', () => bench.set.settings()['time-out timer'] === '15 s')
    await page.locator('#latch').click()
    await until('transmitting', async () => (await page.locator('#onair').textContent()) === 'transmitting')
    const keyedMs = clock.nowMs()
    await until('timed out', async () => (await page.locator('#onair').textContent()) === 'timed out: release the key')
    expect(clock.nowMs() - keyedMs).toBeGreaterThan(10_000)
    expect(bench.set.view()).toMatchObject({ key: true, onAir: false })
    await page.locator('#latch').click()
    await until('key up', () => !bench.set.view().key)
  })

  test('on a telephone nothing is wider than the screen', async () => {
    await page.setViewportSize({ width: 380, height: 800 })
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(380)
    await page.setViewportSize({ width: 1280, height: 1100 })
  })

  test('the browser had nothing to complain about', () => {
    expect(complaints).toEqual([])
  })
})

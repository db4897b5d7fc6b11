import type { Page } from 'playwright-core'
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest'
import { FIXTURES } from '../web/frames.ts'
import { openStage, type Stage } from './stage.ts'

const BIG = 'STOP was not delivered'
const BY_HAND = 'Switch the supply off by hand'

let stage: Stage
let page: Page

beforeAll(async () => {
  stage = await openStage()
}, 60_000)
afterAll(() => stage.close())

describe.each([
  ['laptop', { width: 1280, height: 800 }],
  ['phone', { width: 390, height: 844 }],
] as const)('STOP that does not come through, on a %s', (_, size) => {
  beforeAll(async () => {
    page = await stage.openPage(size)
  })
  afterAll(() => page.close())
  beforeEach(async () => {
    stage.service.answerWith(() => ({ ok: true, words: 'the supply was on, it is switched off' }))
    await stage.show(page, FIXTURES.idle)
    await stage.show(page, FIXTURES.steady)
    stage.service.asked.length = 0
  })

  const shown = () => page.getByText(BIG, { exact: true }).locator('visible=true').count()
  const stops = () => stage.service.asked.filter(({ kind }) => kind === 'stop').length
  const stop = () => page.getByRole('button', { name: /STOP/ }).first().click()
  const isLarge = async () => {
    const box = await page.getByText(BIG, { exact: true }).first().boundingBox()
    expect(box?.height ?? 0).toBeGreaterThan(28)
    expect(await page.getByText(BY_HAND, { exact: true }).first().isVisible()).toBe(true)
    const overflow = await page.evaluate(() => document.documentElement.scrollWidth > innerWidth)
    expect(overflow).toBe(false)
  }

  test('without a connection: said large, sent again on return, and what the service answers is shown', async () => {
    stage.service.drop()
    await page.locator('.notice', { hasText: 'no word from the bench computer' }).waitFor({ state: 'attached' })
    await stop()
    await page.getByText(BIG, { exact: true }).first().waitFor()
    await isLarge()
    stage.service.back()
    await expect.poll(stops, { timeout: 10_000 }).toBe(1)
    await page.getByText('STOP is delivered now: the supply was on, it is switched off').waitFor()
    await expect.poll(() => shown()).toBe(0)
  })

  test('the foot on pedal B is heard the same way', async () => {
    stage.service.drop()
    await page.locator('.notice', { hasText: 'no word from the bench computer' }).waitFor({ state: 'attached' })
    await page.keyboard.press('End')
    await page.getByText(BIG, { exact: true }).first().waitFor()
    stage.service.back()
    await expect.poll(stops, { timeout: 10_000 }).toBe(1)
    await expect.poll(() => shown()).toBe(0)
  })

  test('delivered at once, nothing of the kind is said; refused, it is', async () => {
    await stop()
    await expect.poll(stops).toBe(1)
    await page.waitForTimeout(1300)
    expect(await shown()).toBe(0)
    stage.service.answerWith(() => ({ ok: false, words: 'the keeper is gone' }))
    await stop()
    await page.getByText(BIG, { exact: true }).first().waitFor()
    await stage.show(page, { ...FIXTURES.steady, supply: { ...FIXTURES.steady.supply, output: 'off' } })
    await expect.poll(() => shown()).toBe(0)
  })
})

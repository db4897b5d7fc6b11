import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type Browser, chromium, type Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test, vi } from 'vitest'
import type { LiveEvent, LiveFrame, LiveState } from '../../src/schema/messages/shown.ts'
import { openServer, type Server } from '../../src/server/open-server.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { hourFrame } from '../figures/page-frames.ts'
import { type CuttableProxy, openCuttableProxy } from '../kit/links/cuttable-proxy.ts'
import { type FakeSource, fakeSource } from '../kit/links/fake-source.ts'
import { CHROMIUM, NO_CHROMIUM } from '../kit/program/chromium.ts'
import { FIXTURES } from '../web/frames.ts'
import { buildPage } from './page-kit.ts'

vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 })

const clock = realClock()
const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms))

/** Writes down the pitch of every note that the page begins, Hz; the four standing tones begin once with the sound itself. */
const NOTE_DOWN = `
  window.notes = []
  const start = OscillatorNode.prototype.start
  OscillatorNode.prototype.start = function (...when) {
    window.notes.push(this.frequency.value)
    return start.apply(this, when)
  }`
/** Writes down the number of each frame that was painted. */
const NOTE_PAINTS = `
  window.paints = []
  document.addEventListener('trimwright:painted', ({ detail }) => window.paints.push(detail.seq))`
/** Three seconds in which the page gets no time. */
const FREEZE = `
  const endMs = performance.now() + 3_000
  while (performance.now() < endMs);`
/** First notes of three cues, Hz. */
const CAPTURED = 659
const NEW_BEST = 1760
const PASSED_OVER = 660

/** Real pages in a browser, the real server, and a source whose frames the test makes. */
describe.skipIf(NO_CHROMIUM !== '')('pages that watch', () => {
  let dist: string
  let proxy: CuttableProxy
  let browser: Browser
  let source: FakeSource
  let server: Server

  beforeAll(async () => {
    dist = await mkdtemp(join(tmpdir(), 'watching-page-'))
    proxy = await openCuttableProxy()
    const throughIt = { server: proxy.server, bypass: '<-loopback>' }
    browser = await chromium.launch({ ...CHROMIUM, proxy: throughIt })
    await buildPage(dist)
  })
  afterAll(async () => {
    await browser?.close()
    await proxy?.close()
    await rm(dist, { recursive: true, force: true })
  })
  beforeEach(async () => {
    source = fakeSource(clock)
    server = await openServer({ source, port: 0, webRoot: dist, clock, log: silentLog })
  })
  afterEach(async () => {
    for (const context of browser.contexts()) await context.close()
    await server.close()
  })

  const open = async (): Promise<Page> => {
    const page = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage()
    await page.addInitScript(NOTE_DOWN)
    const before = server.clients()
    await page.goto(server.url)
    await expect.poll(() => server.clients()).toBe(before + 1)
    return page
  }
  const show = (state: LiveState, parts: Partial<LiveFrame> = {}, oldAfterMs = 60_000): LiveFrame => {
    const atMs = clock.nowMs()
    const fixture = { ...FIXTURES[state], ...parts }
    const reading = fixture.reading && { ...fixture.reading, arrivedMs: atMs, ageMs: 0, oldAfterMs }
    return source.emit({ ...fixture, seq: source.latest().seq + 1, atMs, reading })
  }
  const digits = (page: Page) => page.locator('.digits').textContent()
  const button = (page: Page, name: string) => page.getByRole('button', { name, exact: true })
  const heard = (page: Page, hz: number): Promise<number> =>
    page.evaluate(`window.notes.filter((note) => Math.round(note) === ${hz}).length`)

  test('four pages show the same; only the one that steers can capture; handing over takes the request of one and the word of the other', async () => {
    const pages = [await open(), await open(), await open(), await open()]
    const [first, second, third] = pages
    if (!first || !second || !third) throw new TypeError('four pages were opened')
    show('steady')
    for (const page of pages) await expect.poll(() => digits(page)).toBe('3.86')
    await button(first, 'Capture').waitFor()
    for (const page of pages.slice(1)) {
      expect(await button(page, 'Capture').count()).toBe(0)
      await button(page, 'Steer from here').waitFor()
    }

    await button(second, 'Steer from here').click()
    await second.getByText('asked; the other page has to agree').waitFor()
    await first.getByText('Another page wants to steer').waitFor()
    expect(await button(second, 'Capture').count()).toBe(0)
    expect(await button(first, 'Capture').count()).toBe(1)

    await button(first, 'Hand over').click()
    await button(second, 'Capture').waitFor()
    await button(first, 'Steer from here').waitFor()
    expect(await button(first, 'Capture').count()).toBe(0)

    // The page that steers goes: nobody steers, and who asks does at once.
    await second.close()
    await third.getByText('No page steers').first().waitFor()
    expect(source.presences.at(-1)).toMatch(/^absent: the page that steers is (hidden|gone)$/) // a browser hides a page that it closes
    await button(third, 'Steer from here').click()
    await button(third, 'Capture').click()
    await expect.poll(() => source.requests.map(({ kind }) => kind)).toEqual(['capture'])
    expect(source.presences.at(-1)).toBe('present: the page that steers is here')
  })

  test('a page that watches sets its own ground, sound and size, asks nothing of the service, and what is urgent comes back over it', async () => {
    const pages = [await open(), await open()]
    const [, second] = pages
    if (!second) throw new TypeError('two pages were opened')
    show('steady')
    await button(second, 'This screen').click()
    await second.getByText('Dark ground').click()
    await expect.poll(() => second.locator('html').getAttribute('data-ground')).toBe('dark')
    expect(await button(second, 'Foot switch').count()).toBe(0)
    expect(await button(second, 'STOP supply off').isVisible()).toBe(true)
    await button(second, 'Fit to this screen').click()
    await second.getByText('Lay a bank card flat').waitFor()
    show('release key')
    await second.getByText('RELEASE').first().waitFor()
    expect(await second.getByText('Lay a bank card flat').count()).toBe(0)
    expect(source.requests).toEqual([])
  })

  test('a page whose connection breaks in the middle of a capture comes back, hears what it missed, and nothing twice', async () => {
    const page = await open()
    await page.mouse.click(2, 2) // sound starts with a touch
    const best: LiveEvent = { seq: 7, what: 'new best', words: '' }
    show('steady')
    show('steady', { events: [best] })
    await expect.poll(() => heard(page, NEW_BEST)).toBe(1)

    let answer = (_: { ok: boolean; words: string }) => {}
    source.answerWith(
      new Promise((resolve) => {
        answer = resolve
      }),
    )
    show('steady', { events: [best] }) // a reading turns old in 0.9 s, and then nothing is captured
    await page.getByRole('button', { name: 'Capture' }).waitFor()
    await page.keyboard.press('PageDown')
    await expect.poll(() => source.requests, { timeout: 5_000 }).toMatchObject([{ kind: 'capture', by: 'key' }])
    proxy.cut()
    await page.locator('.guide').getByText('Do not turn', { exact: true }).waitFor()
    await expect.poll(() => server.clients()).toBe(0)
    const captured: LiveEvent = { seq: 8, what: 'captured', words: '3.85 W' }
    answer({ ok: true, words: '' })
    show('captured', { events: [best, captured] })
    show('captured', { events: [best, captured, { seq: 9, what: 'passed over', words: '' }] })
    await pause(500)
    expect(await heard(page, CAPTURED)).toBe(0)

    proxy.mend()
    await expect.poll(() => heard(page, CAPTURED), { timeout: 10_000 }).toBe(1)
    expect(await heard(page, PASSED_OVER)).toBe(1)
    await expect.poll(() => page.getByText('captured', { exact: false }).count()).toBeGreaterThan(0)
    show('captured', { events: [best, captured, { seq: 9, what: 'passed over', words: '' }] })
    await pause(300)
    expect([await heard(page, NEW_BEST), await heard(page, CAPTURED), await heard(page, PASSED_OVER)]).toEqual([
      1, 1, 1,
    ])
    expect(source.requests).toHaveLength(1)
    expect(source.presences.slice(-2)).toEqual([
      'absent: the page that steers is gone',
      'present: the page that steers is here',
    ])
  })

  test('the events of a new watch are heard, though it counts them from 1 again', async () => {
    const page = await open()
    await page.mouse.click(2, 2)
    show('steady', { events: [] })
    show('steady', { events: [{ seq: 31, what: 'new best', words: '' }] })
    await expect.poll(() => heard(page, NEW_BEST)).toBe(1)
    show('steady', { events: [] })
    show('steady', { events: [{ seq: 1, what: 'new best', words: '' }] })
    await expect.poll(() => heard(page, NEW_BEST)).toBe(2)
  })

  test('a page that can do nothing for three seconds shows the newest frame next, and has heard every event', async () => {
    const page = await open()
    await page.mouse.click(2, 2)
    show('steady')
    await expect.poll(() => digits(page)).toBe('3.86')
    await page.evaluate(NOTE_PAINTS)
    const frozen = page.evaluate(FREEZE)
    const events: LiveEvent[] = []
    for (let count = 0; count < 60; count += 1) {
      if (count % 10 === 0) events.push({ seq: 1 + count / 10, what: 'new best', words: '' })
      show('steady', { events, because: 'x'.repeat(20_000) }) // more than is sent ahead of a page
      await pause(50)
    }
    await frozen
    const { seq } = show('steady', { events })
    await expect.poll(() => page.evaluate('window.paints.at(-1)'), { timeout: 2_000 }).toBe(seq)
    const paints: number[] = await page.evaluate('window.paints')
    expect(paints.length).toBeLessThan(10)
    expect(await heard(page, NEW_BEST)).toBe(events.length)
  })

  test('two minutes of work, frame by frame, leave no more nodes and listeners in the page than one', async () => {
    const page = await open()
    await page.evaluate(NOTE_PAINTS)
    const session = await page.context().newCDPSession(page)
    const minute = async () => {
      for (let index = 0; index < 1200; index += 1) {
        const { seq } = source.emit(hourFrame(index, source.latest().seq + 1, clock.nowMs()))
        if (index % 20 !== 19) continue
        await expect.poll(() => page.evaluate('window.paints.at(-1)'), { interval: 5, timeout: 5_000 }).toBe(seq)
      }
      await session.send('HeapProfiler.collectGarbage')
      const { nodes, jsEventListeners } = await session.send('Memory.getDOMCounters')
      return { nodes, jsEventListeners }
    }
    const first = await minute()
    const second = await minute()
    expect(second.nodes).toBeLessThanOrEqual(first.nodes + 20) // a handful more or less is being thrown away
    expect(second.jsEventListeners).toBeLessThanOrEqual(first.jsEventListeners)
  })

  test('a reading of 1.5 s is current, one of more than 2 s looks old, though the service is there', async () => {
    const page = await open()
    const { atMs } = show('in', {}, 2_000)
    await expect.poll(() => page.getAttribute('body', 'data-hatch')).toBe('in')
    const lookedOldMs = page
      .waitForFunction(() => document.body.dataset.hatch === 'old')
      .then(() => clock.nowMs() - atMs)
    expect(await page.locator('.digits.struck').count()).toBe(0)
    expect(await lookedOldMs).toBeGreaterThan(1_990)
    expect(await lookedOldMs).toBeLessThan(2_900) // five ticks of the page's clock and a busy machine
    expect(await page.locator('.digits.struck').count()).toBe(1)
    expect(server.clients()).toBe(1)
  })
})

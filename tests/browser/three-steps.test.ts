import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest'
import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { NO_CHROMIUM } from '../kit/program/chromium.ts'
import { openTwoPages, type TwoPages } from './two-pages.ts'

vi.setConfig({ testTimeout: 120_000, hookTimeout: 60_000 })
if (NO_CHROMIUM !== '') console.log(`skipped: ${NO_CHROMIUM}`)

/** The gauge page in one tab and the set's page in another, as a person has them; a third client only looks at the frames. */
describe.skipIf(NO_CHROMIUM !== '')('a person with the two pages', () => {
  let folder: string
  let pages: TwoPages
  let gauge: Page
  let set: Page

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'trimwright-pages-'))
    pages = await openTwoPages(['--data', folder, '--procedures', 'tests/kit/three-steps.yaml'])
    gauge = pages.gauge
    set = pages.set
  })
  afterAll(async () => {
    await pages?.close()
    rmSync(folder, { recursive: true, force: true })
  })

  const until = async (what: string, holds: (now: LiveFrame) => boolean, seconds = 40): Promise<LiveFrame> => {
    const endMs = performance.now() + seconds * 1000
    for (;;) {
      const frame = pages.frame()
      if (frame && holds(frame)) return frame
      if (performance.now() > endMs)
        throw new Error(
          `not within ${seconds} s: ${what}; it is ${frame?.state}: ${sentence(frame?.guide.words ?? '')} ${sentence(frame?.because ?? '')}`,
        )
      pages.here()
      await new Promise((resolve) => setTimeout(resolve, 100))
    }
  }
  /** The foot switch, as a foot presses it: once the card is there to be read, and for as long as a foot takes. */
  const pedal = async () => {
    await gauge.getByRole('button', { name: 'Ready' }).waitFor()
    await gauge.keyboard.press('PageDown', { delay: 120 })
  }
  /** Reads the card to its end, and says that the load is on where it is asked. */
  const begin = async (asksForLoad = false) => {
    for (let at = 0; at < 5 && pages.frame()?.state === 'read step'; at++) {
      await pedal()
      await new Promise((resolve) => setTimeout(resolve, 700))
    }
    if (!asksForLoad) return
    const asked = await until('the load asked for', (one) => one.state === 'action')
    expect(sentence(asked.guide.words)).toMatch(/^Load and attenuator on the aerial socket/)
    await gauge.getByRole('button', { name: 'Done' }).waitFor()
    await gauge.keyboard.press('PageDown', { delay: 120 })
  }
  const press = (page: Page, name: RegExp | string) => page.getByRole('button', { name }).first().click()
  const choose = (group: string, label: string) => set.locator(`#${group}`).getByLabel(label).check()

  const asksForTheKey = (one: LiveFrame) => one.state === 'release key' || one.state === 'key now'
  const kept = (one: LiveFrame, step: string) => one.captured.some((captured) => captured.step === step)

  /** Changes the key and waits until the service has seen it. */
  const latch = async (now: LiveFrame) => {
    await set.locator('#latch').click()
    await until('the key seen', (one) => one.state !== now.state)
  }

  /** Presses the channel button by what the display shows: the next press waits until the set has answered the one before. */
  const setChannel = async (channel: string) => {
    const display = set.locator('#display')
    for (let presses = 0; presses <= 40; presses++) {
      const shown = (await display.textContent())?.trim() ?? ''
      if (shown === channel) return
      await set.locator('#up').click()
      await display.filter({ hasNotText: new RegExp(`^\\s*${shown}\\s*$`) }).waitFor()
    }
    throw new Error(`the display never showed ${channel}`)
  }

  /** Turns an adjuster by its arrow keys the way that makes e smaller, small steps near the middle, hands off inside. */
  const turnUntilCaptured = async (adjuster: string, step: string) => {
    const knob = set.getByRole('slider', { name: new RegExp(`^${adjuster}`) })
    let sense = 1
    let before: number | null = null
    for (let moves = 0; moves < 90; moves++) {
      const now = await until(
        'a reading that counts',
        (one) => kept(one, step) || asksForTheKey(one) || (one.peg !== null && one.state !== 'hold-off'),
      )
      if (kept(now, step)) return
      if (now.state === 'wrong channel') throw new Error(`${adjuster} is turned for nothing: ${now.because}`)
      if (asksForTheKey(now)) {
        // a slow machine turns slowly: the person goes by the page, and keys again after the rest
        await latch(now)
        before = null
        continue
      }
      const e = now.peg?.e ?? 0
      if (now.guide.hands === 'off') {
        await knob.press('Escape')
        before = null
        await new Promise((resolve) => setTimeout(resolve, 700))
        continue
      }
      if (before !== null && Math.abs(e) > Math.abs(before) + 0.05) sense = -sense
      before = e
      const key = sense * Math.sign(-e) > 0 ? 'ArrowRight' : 'ArrowLeft'
      await knob.focus()
      await knob.press(Math.abs(e) > 0.8 ? `Shift+${key}` : key)
      await new Promise((resolve) => setTimeout(resolve, 700))
    }
    throw new Error(`${adjuster} was turned 90 times and nothing was captured: ${pages.frame()?.guide.words}`)
  }

  test('watches the power while it comes and goes with the key, the supply switched on from the first screen', async () => {
    await press(gauge, 'Change')
    await press(gauge, 'Supply on')
    expect(await gauge.getByText('never an aerial', { exact: false }).isVisible()).toBe(true)
    await press(gauge, 'The load is on: supply on')
    await until('the supply on', (one) => one.supply.output === 'on' && (one.supply.terminalVolts ?? 0) > 13.7)
    await gauge.getByLabel(/power/i).first().check()
    await gauge.getByRole('textbox').first().fill('2.0 .. 3.4 W')
    await press(gauge, 'Watch')
    await until('the power meter', (one) => one.mode === 'watch' && one.reading?.quantity === 'RF power')
    await set.locator('#latch').click()
    const keyed = await until('power', (one) => (one.reading?.value ?? 0) > 2)
    expect(keyed.slot).toMatchObject({
      kind: 'band',
      lowLabel: expect.stringContaining('2.0'),
      highLabel: expect.stringContaining('3.4'),
    })
    await set.locator('#latch').click()
    await until('no power', (one) => (one.reading?.value ?? 1) < 0.1)
  })

  test('does three steps by one pedal and the set: VK in receive, PW at 15.6 V keyed, and a check at 13.8 V', async () => {
    await press(gauge, 'Change')
    await press(gauge, 'Start a job')
    await gauge.getByLabel('Three rows').check()
    await press(gauge, 'Begin')
    await until('the first card', (one) => one.mode === 'job' && one.state === 'read step')

    await choose('prod', 'test point T1')
    await choose('common', 'earth strip ES')
    await setChannel('20')
    await pedal()
    await turnUntilCaptured('VK', 'control-voltage')

    await until('the second card', (one) => one.step?.id === 'power' && one.state === 'read step')
    await begin(true)
    const raised = await until('key now', (one) => one.state === 'key now')
    expect(raised.supply.terminalVolts).toBeGreaterThan(15.4)
    await latch(raised)
    await turnUntilCaptured('PW', 'power')
    await until('key up asked for', (one) => one.state === 'release key' || one.state === 'captured')
    await set.locator('#latch').click()

    await until('the third card', (one) => one.step?.id === 'power-normal' && one.state === 'read step')
    expect(pages.frame()?.supply.terminalVolts).toBeLessThan(14)
    await begin()
    await until('key now', (one) => one.state === 'key now')
    await set.locator('#latch').click()
    await until('the check captured', (one) => kept(one, 'power-normal'))
    await set.locator('#latch').click()
    const done = await until('the end', (one) => one.state === 'finished')
    expect(done.steps.map((step) => step.state)).toEqual(['done', 'done', 'done'])
  })

  test('reloaded in mid-job the page goes on where the job stands', async () => {
    await press(gauge, /Steps/)
    await press(gauge, 'Open again')
    await until('a step open again', (one) => one.state === 'read step')
    await gauge.reload()
    await gauge.getByRole('button', { name: 'Ready' }).waitFor()
    expect(pages.frame()?.captured.length).toBeGreaterThanOrEqual(3)
  })
})

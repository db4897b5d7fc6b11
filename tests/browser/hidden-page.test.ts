import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest'
import { worded } from '../../src/words/sentence/sentence.ts'
import { NO_CHROMIUM } from '../kit/program/chromium.ts'
import { openTwoPages, type TwoPages } from './two-pages.ts'

vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 })

/** A page that another tab covers, or a screen that goes dark, as the page is told of it. */
const turn = (visibility: 'hidden' | 'visible') => `
  Object.defineProperty(document, 'visibilityState', { value: '${visibility}', configurable: true })
  document.dispatchEvent(new Event('visibilitychange'))`
const WHY = 'the page that steers is hidden. The supply went back to normal'

describe.skipIf(NO_CHROMIUM !== '')('the page that steers is hidden, on the running bench', () => {
  let folder: string
  let pages: TwoPages
  let gauge: Page
  let set: Page

  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'trimwright-hidden-'))
    const rows = await readFile(join(import.meta.dirname, '..', 'kit', 'three-steps.yaml'), 'utf8')
    const [head = '', , raised = '', normal = ''] = rows.split(/^(?= {2}- id: )/m)
    const procedure = join(folder, 'normal-and-raised.yaml')
    await writeFile(procedure, head + normal.trimEnd().concat('\n') + raised)
    pages = await openTwoPages(['--data', folder, '--procedures', procedure])
    gauge = pages.gauge
    set = pages.set
  })
  afterAll(async () => {
    await pages?.close()
    await rm(folder, { recursive: true, force: true })
  })

  const now = () => worded(pages.frame())
  const press = (name: string) => gauge.getByRole('button', { name }).first().click()
  const reaches = (wanted: Record<string, unknown>, seconds = 20) =>
    expect.poll(now, { timeout: seconds * 1000, interval: 50 }).toMatchObject(wanted)
  /** Reads the card to its end, and says that the load is on where it is asked. */
  const begin = async () => {
    for (let at = 0; at < 5 && now()?.state === 'read step'; at++) {
      await press('Ready')
      await new Promise((resolve) => setTimeout(resolve, 700))
    }
    if (now()?.state === 'action') await press('Done')
  }
  const plugAtNormal = async () => {
    await expect.poll(() => now()?.supply.terminalVolts, { timeout: 5_000 }).toBeLessThan(14)
    expect(now()?.supply.output).toBe('on')
  }

  test('in receive at the normal voltage it changes nothing', async () => {
    await press('Change')
    await press('Start a job')
    await gauge.getByLabel('Three rows').check()
    await press('Begin')
    await reaches({ state: 'read step', step: { id: 'power-normal' } })
    await begin()
    await reaches({ state: 'key now' })
    await gauge.evaluate(turn('hidden'))
    const { seq } = now() ?? { seq: 0 }
    await expect.poll(() => (now()?.seq ?? 0) - seq, { timeout: 5_000 }).toBeGreaterThan(5)
    expect(now()).toMatchObject({ state: 'key now', supply: { output: 'on' } })
    await gauge.evaluate(turn('visible'))
  })

  test('above the normal voltage: the supply goes back to normal and the page says why, when it is seen again', async () => {
    await press('Steps')
    await gauge.locator('li', { hasText: 'extreme' }).getByRole('button', { name: 'Open' }).click()
    await reaches({ state: 'read step', step: { id: 'power' } })
    await begin()
    await reaches({ state: 'key now' })
    expect(now()?.supply.terminalVolts).toBeGreaterThan(15.4)
    await gauge.evaluate(turn('hidden'))
    await reaches({ state: 'paused', because: WHY })
    await plugAtNormal()
    await gauge.evaluate(turn('visible'))
    await gauge.getByText(WHY).first().waitFor()
  })

  test('keyed: the same, at once, with the key still down', async () => {
    await press('Go on')
    await reaches({ state: 'read step' })
    await begin()
    await reaches({ state: 'key now' })
    await set.locator('#latch').click()
    await reaches({ key: { keyed: true } })
    await gauge.evaluate(turn('hidden'))
    await reaches({ state: 'paused', because: WHY, key: { keyed: true } })
    await plugAtNormal()
    expect(now()?.key.keyed).toBe(true)
    await set.locator('#latch').click()
  })
})

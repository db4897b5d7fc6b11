import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type Browser, chromium, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest'
import type { LiveFrame } from '../../src/schema/live-frame.ts'
import { CHROMIUM, NO_CHROMIUM } from '../kit/chromium.ts'
import { joinLive, type LiveClient } from '../kit/live-client.ts'
import { type ServiceProcess, startService } from '../kit/service.ts'

vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 })

/** A page that another tab covers, or a screen that goes dark, as the page is told of it. */
const turn = (visibility: 'hidden' | 'visible') => `
  Object.defineProperty(document, 'visibilityState', { value: '${visibility}', configurable: true })
  document.dispatchEvent(new Event('visibilitychange'))`
const WHY = 'the page that steers is hidden. The supply went back to normal'

describe.skipIf(NO_CHROMIUM !== '')('the page that steers is hidden, on the running bench', () => {
  let folder: string
  let service: ServiceProcess
  let browser: Browser
  let gauge: Page
  let set: Page
  let watcher: LiveClient
  let frame: LiveFrame | null = null

  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'trimwright-hidden-'))
    const rows = await readFile(join(import.meta.dirname, '..', 'kit', 'three-steps.yaml'), 'utf8')
    const [head = '', , raised = '', normal = ''] = rows.split(/^(?= {2}- id: )/m)
    const procedure = join(folder, 'normal-and-raised.yaml')
    await writeFile(procedure, head + normal.trimEnd().concat('\n') + raised)
    service = await startService(['--data', folder, '--procedures', procedure])
    browser = await chromium.launch(CHROMIUM)
    gauge = await browser.newPage({ viewport: { width: 1280, height: 800 } })
    await gauge.goto(service.url)
    await gauge.getByRole('button', { name: 'Change' }).waitFor()
    set = await browser.newPage({ viewport: { width: 1280, height: 1100 } })
    await set.goto(service.setPage)
    watcher = await joinLive(service)
    watcher.socket.on('message', (data) => {
      const message = JSON.parse(String(data))
      if (message.kind === 'frame') frame = message
    })
  })
  afterAll(async () => {
    watcher?.close()
    await browser?.close()
    await service?.close()
    await rm(folder, { recursive: true, force: true })
  })

  const now = () => frame // read anew each time
  const press = (name: string) => gauge.getByRole('button', { name }).first().click()
  const reaches = (wanted: Record<string, unknown>, seconds = 20) =>
    expect.poll(now, { timeout: seconds * 1000, interval: 50 }).toMatchObject(wanted)
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
    await press('Ready')
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
    await press('Ready')
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
    await press('Ready')
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

import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { buildPage, type FakeService, openBrowser, openService } from './page-kit.ts'

/** The built page, a stand-in service and a browser, for one test file. */
export interface Stage {
  readonly service: FakeService
  /** Folder of the built page. */
  readonly dist: string
  /** What browsers have complained about: errors on the console, among them whatever the policy refused, and exceptions. */
  readonly complaints: string[]
  /** `query`: what stands behind the address, `?language=pseudo`. */
  openPage(size: { readonly width: number; readonly height: number }, query?: string): Promise<Page>
  /**
   * Shows a frame and waits until the page says that it is painted. On a busy machine a test may take longer than a
   * reading lasts, so readings last a minute unless a test is about their age.
   */
  show(page: Page, shown: LiveFrame, lastsMs?: number): Promise<void>
  close(): Promise<void>
}

export async function openStage(): Promise<Stage> {
  const dist = await mkdtemp(join(tmpdir(), 'gauge-page-'))
  await buildPage(dist)
  const browser = await openBrowser()
  const service = await openService(dist)
  const complaints: string[] = []
  let seq = 0
  return {
    service,
    dist,
    complaints,
    async openPage(size, query = '') {
      const page = await browser.newPage({ viewport: { width: size.width, height: size.height } })
      page.on('console', (message) => {
        if (message.type() === 'error') complaints.push(message.text())
      })
      page.on('pageerror', (error) => complaints.push(error.message))
      await page.goto(`${service.url}${query}`)
      await page.waitForSelector('.panel-form .choice')
      return page
    },
    async show(page, shown, lastsMs = 60_000) {
      seq += 1
      const painted = page.evaluate(
        (wanted) =>
          new Promise<void>((resolve) =>
            document.addEventListener('trimwright:painted', (event) => {
              if (event instanceof CustomEvent && event.detail.seq === wanted) resolve()
            }),
          ),
        seq,
      )
      // The listener stands before the frame leaves.
      await page.evaluate(() => true)
      service.show({ ...shown, reading: shown.reading && { ...shown.reading, oldAfterMs: lastsMs } }, seq)
      await painted
    },
    async close() {
      await browser.close()
      await service.close()
      await rm(dist, { recursive: true, force: true })
    },
  }
}

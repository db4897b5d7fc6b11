import { type Browser, chromium, type Page } from 'playwright-core'
import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { joinLive } from '../kit/links/live-client.ts'
import { CHROMIUM } from '../kit/program/chromium.ts'
import { startService } from '../kit/program/service.ts'

/** The running bench as a person has it: the gauge page, which steers, and the set's page. */
export interface TwoPages {
  readonly gauge: Page
  readonly set: Page
  /** The newest frame, seen by a third client that only looks on; null before the first. */
  frame(): LiveFrame | null
  /** That client says that it is there. */
  here(): void
  close(): Promise<void>
}

/** Starts the service with `words` behind `serve` and opens both pages in one browser. */
export async function openTwoPages(words: readonly string[]): Promise<TwoPages> {
  const service = await startService(words)
  let browser: Browser | null = null
  try {
    browser = await chromium.launch(CHROMIUM)
    const gauge = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage()
    await gauge.goto(service.url)
    await gauge.getByRole('button', { name: 'Change' }).waitFor()
    const set = await (await browser.newContext({ viewport: { width: 1280, height: 1100 } })).newPage()
    await set.goto(service.setPage)
    const watcher = await joinLive(service)
    let frame: LiveFrame | null = null
    watcher.socket.on('message', (data) => {
      const message = JSON.parse(String(data))
      if (message.kind === 'frame') frame = message
    })
    const opened = browser
    return {
      gauge,
      set,
      frame: () => frame,
      here: () => watcher.say({ kind: 'here', visible: true }),
      close: async () => {
        watcher.close()
        await opened.close()
        await service.close()
      },
    }
  } catch (error) {
    await browser?.close()
    await service.close()
    throw error
  }
}

import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { chromium, type Page } from 'playwright-core'
import { openServer, type Server } from '../../src/server/open-server.ts'
import { type Clock, realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { buildPage } from '../browser/page-kit.ts'
import { type FakeSource, fakeSource } from '../kit/links/fake-source.ts'
import { CHROMIUM } from '../kit/program/chromium.ts'

/** The built page behind the real server, whose frames a figure makes. */
export interface PageHall {
  readonly source: FakeSource
  readonly server: Server
  /** Folder of the built page. */
  readonly dist: string
  /** A browser with a profile of its own that has never been here, started with `more` arguments, and a page of it; the page is not yet at our address. */
  withPage<T>(measure: (page: Page) => Promise<T>, more?: readonly string[]): Promise<T>
  close(): Promise<void>
}

/** Builds the page and serves it. `clock` is that of the frames. */
export async function openPageHall(clock: Clock): Promise<PageHall> {
  const dist = await mkdtemp(join(tmpdir(), 'trimwright-figure-page-'))
  await buildPage(dist)
  const source = fakeSource(clock)
  const server = await openServer({ source, port: 0, webRoot: dist, clock, pageClock: realClock(), log: silentLog })
  return {
    source,
    server,
    dist,
    withPage: async (measure, more = []) => {
      const browser = await chromium.launch({ ...CHROMIUM, args: [...CHROMIUM.args, ...more] })
      try {
        return await measure(await browser.newPage({ viewport: { width: 1280, height: 800 } }))
      } finally {
        await browser.close()
      }
    },
    close: async () => {
      await server.close()
      await rm(dist, { recursive: true, force: true })
    },
  }
}

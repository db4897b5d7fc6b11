import { afterEach, beforeEach, expect, test } from 'vitest'
import type { ToPage } from '../../src/schema/messages/live-frame.ts'
import { openServer, type Server } from '../../src/server/open-server.ts'
import { silentLog } from '../../src/system/log.ts'
import { type VirtualClock, virtualClock } from '../../src/system/virtual-clock.ts'
import { fakeSource } from '../kit/links/fake-source.ts'
import { joinLive } from '../kit/links/live-client.ts'
import { pageFolder } from '../kit/program/page-folder.ts'

type Welcome = Extract<ToPage, { kind: 'welcome' }>

let clock: VirtualClock
let server: Server
let now: Welcome

const withLink = (link: 'up' | 'down'): Welcome['places'] => [
  { what: 'RF power', needed: true, instrument: 'power', link, isolated: 'yes', lossDb: 0 },
]

beforeEach(async () => {
  clock = virtualClock()
  const source = fakeSource(clock)
  now = source.welcome()
  server = await openServer({
    source: { ...source, welcome: () => now },
    port: 0,
    webRoot: await pageFolder(),
    clock,
    log: silentLog,
  })
})
afterEach(() => clock.runUntil(server.close()))

test('what a page was told of the bench is told anew within a second of a change, to every page, once', async () => {
  const clients = [await joinLive(server), await joinLive(server)]
  for (const client of clients) expect(await client.take('welcome')).toMatchObject({ places: [] })
  await clock.advance(3_000)
  now = { ...now, places: withLink('down') }
  await clock.advance(1_000)
  for (const client of clients) expect(await client.take('welcome')).toMatchObject({ places: withLink('down') })
  await clock.advance(5_000)
  now = { ...now, places: withLink('up') }
  await clock.advance(1_000)
  for (const client of clients) {
    expect(await client.take('welcome')).toMatchObject({ places: withLink('up') })
    expect(client.waiting.filter(({ kind }) => kind === 'welcome')).toEqual([])
  }
})

test('a page that comes later is told the newest, and those of before hear of it too', async () => {
  const first = await joinLive(server)
  await first.take('welcome')
  now = { ...now, places: withLink('down') }
  const second = await joinLive(server)
  expect(await second.take('welcome')).toMatchObject({ places: withLink('down') })
  await clock.advance(1_000)
  expect(await first.take('welcome')).toMatchObject({ places: withLink('down') })
})

import { randomBytes } from 'node:crypto'
import type { LiveSource } from '../alignment/live-source.ts'
import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import { LIVE_PATH, protocolFor } from './guard.ts'
import { openHttp } from './http.ts'
import { openLive } from './live.ts'
import { readPageFiles } from './page-files.ts'

export interface ServerOptions {
  readonly source: LiveSource
  /** This machine only. */
  readonly host?: '127.0.0.1' | '::1'
  /** 0 takes a free one. */
  readonly port: number
  /** The folder of the built page. */
  readonly webRoot: string
  /** The clock of the frames. */
  readonly clock: Clock
  /** The clock of the people at the pages, where `clock` runs faster than they do. Default: `clock`. */
  readonly pageClock?: Clock
  readonly log: Log
  /** Further host names, without port, under which this machine may be asked for. */
  readonly names?: readonly string[]
}

export interface Server {
  /** What a person opens, for example "http://127.0.0.1:8137/". */
  readonly url: string
  /** Random per start; a live socket needs it as sub-protocol `trimwright.TOKEN`. */
  readonly token: string
  readonly socketUrl: string
  /** How many pages are connected. */
  clients(): number
  /** Ends within about 300 ms of the page clock, whatever the pages do. Idempotent; logs, never throws. */
  close(): Promise<void>
  [Symbol.asyncDispose](): Promise<void>
}

/** Serves the page and its live frames to this machine. Throws SERVER_PORT_TAKEN, SERVER_PAGE_MISSING. */
export async function openServer(options: ServerOptions): Promise<Server> {
  const { source, host = '127.0.0.1', clock, pageClock = clock, log, names = [] } = options
  const token = randomBytes(24).toString('base64url')
  const files = await readPageFiles(options.webRoot, token)
  const live = openLive({ source, protocol: protocolFor(token), serviceClock: clock, clock: pageClock, log })
  const http = await openHttp({ host, port: options.port, names, files, token, live, log }) // closes `live` when it fails
  const address = `${host === '::1' ? '[::1]' : host}:${http.port}`
  log.info({ address }, 'page served')
  return {
    url: `http://${address}/`,
    token,
    socketUrl: `ws://${address}${LIVE_PATH}`,
    clients: live.clients,
    close: http.close,
    [Symbol.asyncDispose]: http.close,
  }
}

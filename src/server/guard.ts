import { timingSafeEqual } from 'node:crypto'

/** Where the live socket is. */
export const LIVE_PATH = '/live'

/** What a caller must know and say to be let in. */
export interface Doors {
  /** Host names with port, lower case, as they stand in the Host header. */
  readonly hosts: readonly string[]
  readonly token: string
}

/** What a caller who wants the live socket said about itself. */
export interface Caller {
  readonly host: string | undefined
  readonly origin: string | undefined
  readonly path: string | undefined
  /** The Sec-WebSocket-Protocol header as it came. */
  readonly protocols: string | undefined
}

/** The host names this machine answers to on `port`; browsers leave the port out when it is 80. */
export function allowedHosts(port: number, names: readonly string[]): string[] {
  return ['127.0.0.1', 'localhost', '[::1]', ...names.map((name) => name.toLowerCase())].flatMap((name) =>
    port === 80 ? [name, `${name}:80`] : [`${name}:${port}`],
  )
}

/** The sub-protocol by which a page shows that it was served by this very start of the service. */
export function protocolFor(token: string): string {
  return `trimwright.${token}`
}

/** Why a request under this Host header is turned away, or null. An outside name that points to this machine ends here. */
export function hostRefusal(host: string | undefined, hosts: readonly string[]): string | null {
  if (host === undefined) return 'no host name was asked for'
  if (hosts.includes(host.toLowerCase())) return null
  return `the host name ${shown(host)} was asked for; only ${hosts.join(', ')} are answered`
}

/** Why a caller may not have the live socket, or null. Browsers let any site open one, so every part is checked. */
export function upgradeRefusal(caller: Caller, doors: Doors): string | null {
  return (
    hostRefusal(caller.host, doors.hosts) ??
    pathRefusal(caller.path) ??
    originRefusal(caller.origin, doors.hosts) ??
    tokenRefusal(caller.protocols, doors.token)
  )
}

function pathRefusal(path: string | undefined): string | null {
  return path === LIVE_PATH ? null : `there is no live socket at ${shown(path ?? '')}, only at ${LIVE_PATH}`
}

function originRefusal(origin: string | undefined, hosts: readonly string[]): string | null {
  if (origin === undefined) return 'it does not say which page it comes from'
  if (hosts.some((host) => origin === `http://${host}`)) return null
  return `it comes from the page ${shown(origin)}, not from ours`
}

function tokenRefusal(protocols: string | undefined, token: string): string | null {
  const offered = (protocols ?? '').split(',').map((protocol) => protocol.trim())
  if (offered.some((protocol) => same(protocol, protocolFor(token)))) return null
  return 'it does not have the token of this start, so the page is from an earlier one or not ours'
}

/** Takes as long for a near miss as for a far one. */
function same(offered: string, wanted: string): boolean {
  const [left, right] = [Buffer.from(offered), Buffer.from(wanted)]
  return left.length === right.length && timingSafeEqual(left, right)
}

/** What a stranger sent goes into log and reply shortened and without control characters. */
function shown(text: string): string {
  const plain = JSON.stringify(text).slice(1, -1)
  return plain.length > 80 ? `${plain.slice(0, 80)}...` : plain || '""'
}

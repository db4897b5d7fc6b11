import type { Coming } from '../../course/read-course.ts'
import type { Difference } from '../../course/rerun-side.ts'
import type { CameLine, CourseHead, DidLine } from '../../schema/course/course-line.ts'

/** Who is behind the numbers of a course, as far as it has been read. */
export interface Names {
  readonly ports: ReadonlyMap<number, string>
  readonly asked: ReadonlyMap<number, string>
}

/** What comes is read once for its names: a port is named by its address and, where the head says it, by its instrument. */
export function namesIn(head: CourseHead, comings: readonly Coming[]): Names {
  const ports = new Map<number, string>()
  const asked = new Map<number, string>()
  const instrumentAt = new Map(Object.entries(head.addresses).map(([name, address]) => [plainAddress(address), name]))
  const listened = new Map<number, string>()
  let newest = ''
  for (const { came, did } of comings) {
    if (came?.kind === 'done' && ports.has(came.id)) newest = ports.get(came.id) ?? ''
    for (const line of did) {
      if (line.kind === 'open') {
        const instrument = instrumentAt.get(line.address)
        newest = instrument === undefined ? line.address : `${instrument} at ${line.address}`
        ports.set(line.id, newest)
        asked.set(line.id, `open ${newest}`)
      } else if (line.kind === 'listen')
        listened.set(line.id, line.what === 'bytes' || line.what === 'gone' ? `${newest}: ${line.what}` : line.what)
      else if (line.kind === 'ask') asked.set(line.id, line.what)
      else if (line.kind === 'shut') asked.set(line.id, `shut ${ports.get(line.port) ?? line.port}`)
      else if (line.kind === 'send' && line.id !== undefined)
        asked.set(line.id, `send ${JSON.stringify(line.text)} to ${ports.get(line.port) ?? line.port}`)
    }
  }
  for (const [id, what] of listened) asked.set(id, what)
  return { ports, asked }
}

/** Without baud rate and the like. */
function plainAddress(address: string): string {
  return address.replace(/\?.*$/, '')
}

/** Something that came, a line of text. */
export function cameWords(came: CameLine, { asked }: Names): string {
  switch (came.kind) {
    case 'woke':
      return `sleeper ${came.id} wakes`
    case 'done':
      return `${asked.get(came.id) ?? came.id}: done${came.value == null ? '' : ` ${JSON.stringify(came.value)}`}`
    case 'failed':
      return `${asked.get(came.id) ?? came.id}: failed ${JSON.stringify(came.why)}`
    case 'heard':
      return `${asked.get(came.id) ?? came.id} ${JSON.stringify(came.value)}`
    case 'request':
      return `the page asks ${JSON.stringify(came.message)}`
    case 'page':
      return `the page: ${came.why}`
    default:
      return came satisfies never
  }
}

/** Something that was done. */
export function didWords(did: DidLine, { ports, asked }: Names): string {
  switch (did.kind) {
    case 'open':
      return `open ${ports.get(did.id) ?? did.address}`
    case 'send':
      return `to ${ports.get(did.port) ?? did.port} ${JSON.stringify(did.text)}`
    case 'shut':
      return `shut ${ports.get(did.port) ?? did.port}`
    case 'listen':
      return `listen to ${asked.get(did.id) ?? did.what}`
    case 'ask':
      return `${did.what}${did.about == null ? '' : ` ${JSON.stringify(did.about)}`}`
    case 'see':
      return `${did.what} is ${JSON.stringify(did.value)}`
    case 'answer':
      return `the page is answered ${did.ok ? 'yes' : 'no'}: ${did.words}`
    case 'frame':
      return `frame ${did.seq}: ${did.step} ${did.state} (${did.frame})`
    default:
      return did satisfies never
  }
}

/** What was expected and what it is. */
export function differenceWords({ then, now }: Difference, names: Names): string {
  if (!now) return then ? `missing: ${didWords(then, names)}` : ''
  return then ? `${didWords(now, names)}; then it was: ${didWords(then, names)}` : `new: ${didWords(now, names)}`
}

/** Seconds from the start of the course. */
export function secondsAt(atMs: number, head: CourseHead): string {
  return `${((atMs - head.atMs) / 1000).toFixed(3).padStart(10)} s`
}

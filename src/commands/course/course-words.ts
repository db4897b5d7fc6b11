import type { Coming } from '../../course/read-course.ts'
import type { Difference } from '../../course/rerun-side.ts'
import type { CameLine, CourseHead, DidLine } from '../../schema/course/course-line.ts'
import { type Said, said, type Words } from '../../words/said/said.ts'

/** Who is behind the numbers of a course, as far as it has been read. */
export interface Names {
  readonly ports: ReadonlyMap<number, Words>
  readonly asked: ReadonlyMap<number, Words>
}

/** What comes is read once for its names: a port is named by its address and, where the head says it, by its instrument. */
export function namesIn(head: CourseHead, comings: readonly Coming[]): Names {
  const ports = new Map<number, Words>()
  const asked = new Map<number, Words>()
  const instrumentAt = new Map(Object.entries(head.addresses).map(([name, address]) => [plainAddress(address), name]))
  const listened = new Map<number, Words>()
  let newest: Words = ''
  for (const { came, did } of comings) {
    if (came?.kind === 'done' && ports.has(came.id)) newest = ports.get(came.id) ?? ''
    for (const line of did) {
      if (line.kind === 'open') {
        const instrument = instrumentAt.get(line.address)
        newest = instrument === undefined ? line.address : said('course.port-at', { instrument, address: line.address })
        ports.set(line.id, newest)
        asked.set(line.id, said('course.did-open', { port: newest }))
      } else if (line.kind === 'listen')
        listened.set(
          line.id,
          ofPort(line.what) ? said('course.news-of-port', { port: newest, news: line.what }) : line.what,
        )
      else if (line.kind === 'ask') asked.set(line.id, line.what)
      else if (line.kind === 'shut')
        asked.set(line.id, said('course.did-shut', { port: ports.get(line.port) ?? line.port }))
      else if (line.kind === 'send' && line.id !== undefined)
        asked.set(
          line.id,
          said('course.did-send-asked', { text: JSON.stringify(line.text), port: ports.get(line.port) ?? line.port }),
        )
    }
  }
  for (const [id, what] of listened) asked.set(id, what)
  return { ports, asked }
}

const ofPort = (what: string) => what === 'bytes' || what === 'gone'

/** Without baud rate and the like. */
function plainAddress(address: string): string {
  return address.replace(/\?.*$/, '')
}

/** Something that came, a line of text. */
export function cameWords(came: CameLine, { asked }: Names): Said {
  const what = 'id' in came ? (asked.get(came.id) ?? came.id) : ''
  switch (came.kind) {
    case 'woke':
      return said('course.came-woke', { id: came.id })
    case 'done':
      return came.value == null
        ? said('course.came-done', { what })
        : said('course.came-done-value', { what, value: JSON.stringify(came.value) })
    case 'failed':
      return said('course.came-failed', { what, why: JSON.stringify(came.why) })
    case 'heard':
      return said('course.did-ask-about', { what, about: JSON.stringify(came.value) })
    case 'request':
      return said('course.came-request', { request: JSON.stringify(came.message) })
    case 'page':
      return said('course.came-page', { why: came.why })
    default:
      return came satisfies never
  }
}

/** Something that was done. */
export function didWords(did: DidLine, { ports, asked }: Names): Words {
  switch (did.kind) {
    case 'open':
      return said('course.did-open', { port: ports.get(did.id) ?? did.address })
    case 'send':
      return said('course.did-send', { port: ports.get(did.port) ?? did.port, text: JSON.stringify(did.text) })
    case 'shut':
      return said('course.did-shut', { port: ports.get(did.port) ?? did.port })
    case 'listen':
      return said('course.did-listen', { what: asked.get(did.id) ?? did.what })
    case 'ask':
      return did.about == null
        ? did.what
        : said('course.did-ask-about', { what: did.what, about: JSON.stringify(did.about) })
    case 'see':
      return said('course.did-see', { what: did.what, value: JSON.stringify(did.value) })
    case 'answer':
      return said(did.ok ? 'course.did-answer-yes' : 'course.did-answer-no', { words: did.words })
    case 'frame':
      return said('course.did-frame', { seq: did.seq, step: did.step, state: did.state, hash: did.frame })
    default:
      return did satisfies never
  }
}

/** What was expected and what it is. */
export function differenceWords({ then, now }: Difference, names: Names): Words {
  if (!now) return then ? said('course.missing', { what: didWords(then, names) }) : ''
  const what = didWords(now, names)
  return then ? said('course.different', { now: what, was: didWords(then, names) }) : said('course.new', { what })
}

/** Seconds from the start of the course. */
export function secondsAt(atMs: number, head: CourseHead): string {
  return `${((atMs - head.atMs) / 1000).toFixed(3).padStart(10)} s`
}

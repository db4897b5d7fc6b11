import { happenedOf } from '../fault/bench-error.ts'
import { readText, readWords } from '../schema/course/course-value.ts'
import type { Clock } from '../system/clock.ts'
import type { BytePort } from '../transport/port/byte-port.ts'
import { portGone } from '../transport/port/port-events.ts'
import type { Through } from '../transport/port/port-needs.ts'
import { type Form, NOTHING, plain, type Side } from './side.ts'

const BYTES: Form<Buffer> = {
  write: (bytes) => bytes.toString('latin1'),
  read: (written) => Buffer.from(readText(written), 'latin1'),
}
/** An older course holds a text. */
const GONE: Form<Error> = {
  write: happenedOf,
  read: (written) => {
    const why = readWords(written)
    return typeof why === 'string' ? new Error(why) : portGone('port', why)
  },
}
const ADDRESS = plain(readText)

/** Every port that a link opens, through the door. The ports themselves live on the clock outside. */
export function portsThrough(side: Side, outside: Clock): Through {
  return (needs, address, open) => {
    const id = side.number()
    side.did({ kind: 'open', id, address })
    let port: BytePort | null = null
    const opened: Form<BytePort> = {
      write: ({ address: at }) => at,
      read: (written) => portOf(side, id, ADDRESS.read(written), null),
    }
    return side.settle(
      id,
      opened,
      async () => {
        port = await open({ ...needs, clock: outside })
        return portOf(side, id, port.address, port)
      },
      { signal: needs.signal },
    )
  }
}

/** `real`: null where there is none, since everything comes from what was written down. */
function portOf(side: Side, id: number, address: string, real: BytePort | null): BytePort {
  let closing: Promise<void> | undefined
  const there = () => {
    if (!real) throw new TypeError('nothing is sent to a port that is not there')
    return real
  }
  return {
    address,
    write: (text) => side.send(id, text, () => there().write(text)),
    onBytes: (to) =>
      void side.listen(
        'bytes',
        BYTES,
        forEver((tell) => there().onBytes(tell)),
        to,
      ),
    onGone: (to) =>
      void side.listen(
        'gone',
        GONE,
        forEver((tell) => there().onGone(tell)),
        to,
      ),
    close: () => {
      if (!closing) {
        const shut = side.number()
        side.did({ kind: 'shut', port: id, id: shut })
        closing = side.settle(shut, NOTHING, () => there().close())
      }
      return closing
    },
  }
}

/** A port is listened to until its end. */
function forEver<T>(begin: (tell: (news: T) => void) => void): (tell: (news: T) => void) => () => void {
  return (tell) => {
    begin(tell)
    return () => {}
  }
}

import { WebSocket } from 'ws'
import { turned } from '../../../mocks/plant/adjusters.ts'
import type { SetView, SimulatedSet } from '../../../mocks/plant/simulated-set.ts'
import type { ToSetPage } from '../../../mocks/set-page/set-server.ts'

/** The simulated set under somebody's hands, over the socket of its own page: what is done goes out at once, what it shows comes in. */
export interface SetOverSocket {
  readonly set: SimulatedSet
  /** What the set's page refused, in its words. */
  readonly refused: string[]
  /** Resolves when all that was said so far has been heard and what was answered to it has come, or the socket is closed. */
  arrived(): Promise<void>
  close(): void
}

/** Opens the socket of the set's page at `url` (http://HOST:PORT/set) and waits for its first view. */
export async function setOverSocket(url: string): Promise<SetOverSocket> {
  const { host, origin } = new URL(url)
  const socket = new WebSocket(`ws://${host}/set/live`, { origin })
  const refused: string[] = []
  let view: SetView | null = null
  const say = (message: object) => socket.send(JSON.stringify(message))
  const first = new Promise<void>((resolve, reject) => {
    socket.on('message', (data) => {
      const message: ToSetPage = JSON.parse(String(data))
      if (message.kind === 'refused') refused.push(message.words)
      else {
        view = message.view
        resolve()
      }
    })
    socket.once('error', reject)
  })
  await first
  const now = (): SetView => {
    if (!view) throw new TypeError('the set has not shown itself yet')
    return view
  }
  const set: SimulatedSet = {
    turn(adjuster, by) {
      const before = now().positions[adjuster]
      const after = turned(adjuster, before, by)
      // the next turn may come before the set has shown this one
      view = { ...now(), positions: { ...now().positions, [adjuster]: after } }
      say({ kind: 'turn', adjuster, by })
      return after - before
    },
    key: (down) => say({ kind: 'key', down }),
    channel: (channel) => say({ kind: 'channel', channel }),
    mode: (mode) => say({ kind: 'mode', mode }),
    prod: (place) => say({ kind: 'prod', place }),
    common: (place) => say({ kind: 'common', place }),
    microphone: (what) => say({ kind: 'microphone', what }),
    whistle: (on) => say({ kind: 'whistle', on }),
    load: (on) => say({ kind: 'load', on }),
    cover: (on) => say({ kind: 'cover', on }),
    hand: (adjuster) => say({ kind: 'hand', adjuster }),
    powerOnBand: (band) => say({ kind: 'band', band }),
    settings: () => now().settings,
    setting: (name, value) => say({ kind: 'setting', name, value }),
    glance: now,
    view: now,
  }
  const arrived = () =>
    new Promise<void>((resolve) => {
      if (socket.readyState !== WebSocket.OPEN) return resolve()
      const heard = () => {
        socket.off('pong', heard).off('close', heard)
        resolve()
      }
      socket.once('pong', heard).once('close', heard)
      socket.ping()
    })
  return { set, refused, arrived, close: () => socket.close() }
}

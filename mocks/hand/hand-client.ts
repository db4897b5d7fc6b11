import { WebSocket } from 'ws'
import type { LiveFrame, ToPage } from '../../src/schema/messages/shown.ts'
import { type Clock, sleep } from '../../src/system/clock.ts'
import type { Log } from '../../src/system/log.ts'
import type { Rng } from '../../src/system/rng.ts'
import { worded } from '../../src/words/sentence/sentence.ts'
import type { Displays } from '../instruments/displays.ts'
import type { SimulatedSet } from '../plant/simulated-set.ts'
import { createHand } from './hand.ts'

export interface HandClientSetting {
  readonly set: SimulatedSet
  /** Meters without a socket, as the hand can read them. */
  readonly displays?: Displays
  readonly knowsItIsWarm?: boolean
  readonly clock: Clock
  readonly rng: Rng
  readonly log: Log
  /** The service's live socket, ws://HOST:PORT/live, and the token of its start. */
  readonly url: string
  readonly token: string
  readonly signal: AbortSignal
}

/**
 * Lets the simulated hand follow a service as a page that steers: same socket, same frames, same requests. While the
 * socket is gone the hand is away from the set and the key is up; it is tried again until `signal` ends it.
 */
export async function runHandClient(setting: HandClientSetting): Promise<void> {
  const { set, displays, clock, rng, log, signal } = setting
  let socket: WebSocket | null = null
  const hand = createHand({
    set,
    clock,
    rng,
    signal,
    request: (message) => say(socket, message),
    ...(displays ? { displays } : {}),
    ...(setting.knowsItIsWarm ? { knowsItIsWarm: true } : {}),
  })
  for (;;) {
    const opened = dial(setting)
    socket = opened
    const closed = new AbortController()
    opened.on('message', (data) => {
      const message = worded(messageOf(data.toString()))
      if (message?.kind === 'frame') hand.onFrame(message)
      if (message?.kind === 'role' && message.steering !== 'you' && !message.asked)
        say(opened, { kind: 'steer', id: `hand-steers-${clock.nowMs()}` })
      if (message?.kind === 'answer') hand.onAnswer(message)
      if (message?.kind === 'answer' && !message.ok) log.info({ id: message.id }, `the service says: ${message.words}`)
    })
    opened.on('error', (error) => log.info({ words: error.message }, 'the hand does not reach the service'))
    opened.on('close', () => closed.abort(new Error('socket closed')))
    const hangUp = () => opened.terminate()
    signal.addEventListener('abort', hangUp, { once: true })
    try {
      await beHere(opened, clock, closed.signal)
    } catch (reason) {
      // The socket's end is what is waited for; anything else is a mistake.
      if (!closed.signal.aborted) throw reason
    } finally {
      signal.removeEventListener('abort', hangUp)
    }
    socket = null
    hand.onDark()
    await sleep(clock, AGAIN_MS, signal)
  }
}

function dial({ url, token }: HandClientSetting): WebSocket {
  const { host } = new URL(url)
  return new WebSocket(url, `trimwright.${token}`, { origin: `http://${host}`, maxPayload: LONGEST_MESSAGE })
}

/** Says that somebody is looking, once a second, as a visible page does. */
async function beHere(socket: WebSocket, clock: Clock, signal: AbortSignal): Promise<never> {
  for (;;) {
    say(socket, { kind: 'here', visible: true })
    await sleep(clock, HERE_MS, signal)
  }
}

function say(socket: WebSocket | null, message: object): void {
  if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message))
}

/** A message of the service; only its kind is checked, the rest comes from the program that this one belongs to. */
function messageOf(text: string): ToPage | LiveFrame | null {
  const message: unknown = JSON.parse(text)
  return isMessage(message) ? message : null
}

function isMessage(value: unknown): value is ToPage {
  return typeof value === 'object' && value !== null && 'kind' in value && typeof value.kind === 'string'
}

/** Bench time: often enough for a service that looks for it every 5 s, seldom enough at ten times life. */
const HERE_MS = 3000
const AGAIN_MS = 2000
const LONGEST_MESSAGE = 1024 * 1024

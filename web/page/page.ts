import type { FromPage, LiveFrame, LiveState, ToPage } from '../../src/schema/messages/shown.ts'
import { button } from '../draw/dom.ts'
import { openPicture } from '../draw/draw.ts'
import { readOn } from '../draw/draw-cautions.ts'
import { putSizes } from '../draw/put-sizes.ts'
import { keepAwake } from '../hands/awake.ts'
import { openHands } from '../hands/hands.ts'
import { type HeldDigits, holdDigits } from '../measure/hold-digits.ts'
import { type ServiceClock, serviceNow, setClock } from '../measure/service-clock.ts'
import { typeSizes } from '../measure/type-sizes.ts'
import { openPanels } from '../screens/panels.ts'
import { pedalScreen } from '../screens/pedal-screen.ts'
import { settingsRow } from '../screens/settings-row.ts'
import { sizeScreen } from '../screens/size-screen.ts'
import type { Welcome } from '../screens/watch-form.ts'
import { loadSettings, type Settings, saveSettings } from '../settings/settings.ts'
import { openSoundDesk } from '../sound/sound-desk.ts'
import { openHistory } from '../view/history.ts'
import { type Spoken, speak } from '../view/status.ts'
import { type ButtonRequest, type PageFacts, STEERING, type View, viewOf } from '../view/view.ts'
import { numberOf } from '../view/view-number.ts'
import { openLive, type Wish } from '../wire/live.ts'
import { type OwedStop, owedStop, type StopNews } from '../wire/stop-delivery.ts'
import { KEEP_COURSE, NO_SERVICE, RELOAD, SETTINGS, STOP_TOLD, stopDeliveredWords } from '../words/words.ts'
import { PEDAL } from '../words/words-of-hands.ts'
import { SIZE } from '../words/words-of-size.ts'
import { openNews } from './news.ts'

/** How often the page looks at its clock: ages grow and sound falls silent though no frame comes. */
const TICK_MS = 100

/** States that no form or list may hide. */
const URGENT: readonly LiveState[] = ['key now', 'release key', 'stopped']

/** Requests after which a list or form stays where it is. */
const STAYS_AS_IT_IS: readonly FromPage['kind'][] = [
  'stop',
  'supply on',
  'note setting',
  'mark',
  'explain',
  'keep course',
]

/** Wires service, picture, sound and keys together; what is shown and heard is decided in the pure files. */
export function startPage(root: HTMLElement, token: string): void {
  let frame: LiveFrame | null = null
  let welcome: Welcome | null = null
  let facts: PageFacts = { ...STEERING, connected: false, steering: 'nobody' }
  let clock: ServiceClock | null = null
  let held: HeldDigits | null = null
  let spoken: Spoken = { said: '', saidAtMs: Number.NEGATIVE_INFINITY }
  let view: View | null = null
  let settings = loadSettings()
  let awake = true
  const history = openHistory()
  /** The request that, once done, brings the gauge back. */
  let awaited: string | null = null
  /** The request whose answer belongs to the field of a typed reading. */
  let typed: string | null = null

  /** What is kept, and where, is shown. */
  let kept: string | null = null

  let owed: OwedStop | null = null
  /** The STOP that was asked for once more: what the service answers to it is shown. */
  let onceMore: string | null = null
  const stopNews = (told: StopNews) => {
    const before = owed
    owed = owedStop(owed, told)
    if (owed === before) return
    facts = { ...facts, stopOwed: owed?.late === true }
    if (facts.stopOwed && before?.late !== true) panels.open('auto')
    painter.queue()
  }

  const nowMs = () => serviceNow(clock, performance.now())
  const ask = (wish: Wish) => {
    const id = live.ask(wish)
    if (wish.kind === 'stop') {
      onceMore = owed?.late === true ? id : null
      stopNews({ kind: 'asked', id, atMs: performance.now() })
    }
    if (id === null && wish.kind !== 'stop') news.refuse(NO_SERVICE)
    // with a frame the whole screen says it
    else if (id === null && frame === null) news.refuse(STOP_TOLD)
    else if (wish.kind === 'type in') typed = id
    else if (wish.kind === 'keep course') kept = id
    else if (id !== null && !STAYS_AS_IT_IS.includes(wish.kind)) awaited = id
  }
  /** The main button, by hand or foot: cautions that are still below the edge come first. */
  const press = (request: ButtonRequest, by: 'click' | 'key') => {
    if (request !== 'ready' || !readOn(root)) ask(wishOf(request, by))
  }
  const picture = openPicture(root, {
    ask: (request) => press(request, 'click'),
    stop: () => ask({ kind: 'stop' }),
    openAside: () => panels.open(view?.aside || 'watch'),
    typeIn: (quantity, text, sure) => ask({ kind: 'type in', quantity, text, ...(sure ? { sure } : {}) }),
    note: (setting) => ask({ kind: 'note setting', ...setting }),
  })
  const painter = openPainter(() => paint())
  const desk = openSoundDesk(painter.queue)
  const news = openNews(picture.news, desk, painter.queue)
  const panels = openPanels(picture.panel, {
    ask,
    changed: painter.queue,
    history: (atMs) => history.view(atMs),
    settings: () =>
      settingsRow(settings, awake, keep, [
        ...(facts.steering === 'you'
          ? [
              button('quiet', PEDAL.open, () => panels.open('pedals')),
              button('quiet', KEEP_COURSE, () => ask({ kind: 'keep course' })),
            ]
          : []),
        button('quiet', SIZE.open, () => panels.open('size')),
      ]),
    size: (back) => sizeScreen({ size: settings, change: (size) => keep({ ...settings, ...size }), back }),
    pedals: (back) => pedalScreen({ plan: settings.pedals, change: (pedals) => keep({ ...settings, pedals }), back }),
  })
  const keep = (to: Settings) => {
    settings = to
    saveSettings(to)
    dress()
  }
  const hands = openHands(picture.hands, picture.lines, {
    now: () => ({
      frame,
      main: view?.main?.request ?? null,
      steers: facts.steering === 'you',
      covered: panels.covers,
      atMs: nowMs(),
    }),
    plan: () => settings.pedals,
    ask,
    press: (request) => press(request, 'key'),
    changed: painter.queue,
  })
  const dress = () => {
    document.documentElement.dataset.ground = settings.ground
    fitToScreen()
    painter.queue()
  }
  const fitToScreen = () => {
    const { pxPerMm, distanceM } = settings
    const sizes = typeSizes({ width: innerWidth, height: innerHeight, pxPerMm, distanceM })
    putSizes(document.documentElement, sizes)
    facts = { ...facts, pxPerMm: sizes.mm }
    picture.restyle()
  }
  addEventListener('resize', fitToScreen)

  const paint = (): number | null => {
    if (frame !== null) {
      held = holdDigits(held, numberOf(frame).text, nowMs())
      facts = { ...facts, gaugePx: picture.gaugePx(), held, zoomBefore: view?.gauge?.zoom ?? 0 }
      view = viewOf(frame, nowMs(), facts)
      picture.draw(view)
    }
    const steers = facts.steering === 'you'
    panels.paint({ frame, welcome, steers, nowMs: nowMs(), idle: view === null || view.screen === 'idle' })
    const refused = news.paint({ frame, steers, level: settings.level })
    const told = hands.paint()
    spoken = speak(spoken, refused || told || (view?.status ?? ''), performance.now())
    if (picture.status.textContent !== spoken.said) picture.status.textContent = spoken.said
    return frame?.seq ?? null
  }

  const takeFrame = (next: LiveFrame) => {
    clock = setClock(clock, next.atMs, performance.now())
    const urgent = URGENT.includes(next.state) && next.state !== frame?.state
    if (urgent || (frame !== null && next.mode !== frame.mode)) panels.open('auto')
    const toldSeq = frame?.events.at(-1)?.seq ?? Number.POSITIVE_INFINITY // what stood there before this page came is no news
    const time = next.events.findLast(({ what, seq }) => what === 'clock' && seq > toldSeq)
    if (time) news.refuse(time.words)
    frame = next
    stopNews({ kind: 'frame', off: next.supply.output === 'off' && next.state !== 'supply moving' })
    history.add(next)
    desk.hear(next, nowMs(), settings.level)
  }
  const take = (message: ToPage) => {
    switch (message.kind) {
      case 'frame':
        takeFrame(message)
        break
      case 'beat':
        clock = setClock(clock, message.atMs, performance.now())
        break
      case 'welcome':
        welcome = message
        facts = { ...facts, places: message.places }
        break
      case 'role':
        facts = { ...facts, steering: message.steering, asked: message.asked }
        break
      case 'answer':
        if (message.id === onceMore && message.ok) news.refuse(stopDeliveredWords(message.words))
        stopNews({ kind: 'answered', id: message.id, ok: message.ok })
        if (message.id === kept && message.ok) news.refuse(message.words)
        if (message.id === typed) picture.typed(message)
        else if (!message.ok) news.refuse(message.words)
        else if (message.id === awaited) panels.open('auto')
        break
      default:
        message satisfies never
    }
    painter.queue()
  }

  const live = openLive(token, {
    onMessage: take,
    onConnected(connected) {
      facts = { ...facts, connected }
      if (!connected) stopNews({ kind: 'connection lost' })
      else if (owed !== null) ask({ kind: 'stop' }) // it was meant, and still is
      painter.queue()
    },
    onNewer: () => news.refuse(RELOAD),
  })

  const stayAwake = keepAwake((now) => {
    awake = now
    const note = picture.panel.querySelector('.may-sleep')
    if (note !== null) note.textContent = now ? '' : SETTINGS.maySleep
  })
  for (const event of ['pointerdown', 'keydown'])
    document.addEventListener(event, () => {
      desk.touch()
      stayAwake()
    })
  setInterval(() => {
    if (frame !== null) desk.hear(frame, nowMs(), settings.level)
    stopNews({ kind: 'time', atMs: performance.now() })
    painter.queue()
  }, TICK_MS)
  dress()
}

function wishOf(request: ButtonRequest, by: Extract<FromPage, { kind: 'capture' }>['by']): Wish {
  return request === 'capture' ? { kind: request, by } : { kind: request }
}

/**
 * Paints at most once a screen frame, and then says which frame of the service stands on the screen: the event
 * `trimwright:painted` with its `seq`, for whoever measures the way from a reading to the peg.
 */
function openPainter(paint: () => number | null) {
  const after = new MessageChannel()
  let queued = false
  let paintedSeq: number | null = null
  after.port1.onmessage = ({ data }) =>
    document.dispatchEvent(new CustomEvent('trimwright:painted', { detail: { seq: data } }))
  return {
    queue() {
      if (queued) return
      queued = true
      requestAnimationFrame(() => {
        queued = false
        const seq = paint()
        if (seq === null || seq === paintedSeq) return
        paintedSeq = seq
        after.port2.postMessage(seq)
      })
    },
  }
}

import type { FromPage, ToPage } from '../../src/schema/messages/live-frame.ts'
import { button } from '../draw/dom.ts'
import { openPicture } from '../draw/draw.ts'
import { readOn } from '../draw/draw-cautions.ts'
import { openHands } from '../hands/hands.ts'
import { openPanels, type PanelEnds, type Panels } from '../screens/panels.ts'
import { pedalScreen } from '../screens/pedal-screen.ts'
import { settingsRow } from '../screens/settings-row.ts'
import { sizeScreen } from '../screens/size-screen.ts'
import { openSoundDesk, type SoundDesk } from '../sound/sound-desk.ts'
import type { ButtonRequest } from '../view/view.ts'
import { openLive, type Wish } from '../wire/live.ts'
import { KEEP_COURSE, RELOAD } from '../words/words.ts'
import { PEDAL } from '../words/words-of-hands.ts'
import { SIZE } from '../words/words-of-size.ts'
import { type Device, openDevice } from './device.ts'
import { clockNews, Known, wantsTheGauge } from './known.ts'
import { type News, openNews } from './news.ts'
import { openPainter } from './painter.ts'
import { Requests } from './requests.ts'
import { Shown } from './shown.ts'

/** How often the page looks at its clock: ages grow and sound falls silent though no frame comes. */
const TICK_MS = 100

/** Wires service, picture, sound and keys together; what is shown and heard is decided in the pure files. */
export function startPage(root: HTMLElement, token: string): void {
  const known = new Known()
  const painter = openPainter(() => shown.paint())
  const ask = (wish: Wish) => requests.ask(wish)
  /** The main button, by hand or foot: cautions that are still below the edge come first. */
  const press = (request: ButtonRequest, by: 'click' | 'key') => {
    if (request !== 'ready' || !readOn(root)) ask(wishOf(request, by))
  }
  const picture = openPicture(root, {
    ask: (request) => press(request, 'click'),
    stop: () => ask({ kind: 'stop' }),
    openAside: () => panels.open(shown.view?.aside || 'watch'),
    typeIn: (quantity, text, sure) => ask({ kind: 'type in', quantity, text, ...(sure ? { sure } : {}) }),
    note: (setting) => ask({ kind: 'note setting', ...setting }),
  })
  const desk = openSoundDesk(painter.queue)
  const news = openNews(picture.news, desk, painter.queue)
  const device = openDevice(picture.panel, { restyle: picture.restyle, changed: painter.queue })
  const requests = new Requests({
    send: (wish) => live.ask(wish),
    hasFrame: () => known.frame !== null,
    tell: news.refuse,
    typed: picture.typed,
    toGauge: () => panels.open('auto'),
    changed: painter.queue,
  })
  const panels: Panels = openPanels(picture.panel, {
    ask,
    changed: painter.queue,
    history: (atMs) => known.history.view(atMs),
    ...deviceScreens(device, known, { ask, open: (panel) => panels.open(panel) }),
  })
  const hands = openHands(picture.hands, picture.lines, {
    now: () => ({
      frame: known.frame,
      main: shown.view?.main?.request ?? null,
      steers: known.steers,
      covered: panels.covers,
      atMs: known.nowMs(),
    }),
    plan: () => device.settings.pedals,
    ask,
    press: (request) => press(request, 'key'),
    changed: painter.queue,
  })
  const shown: Shown = new Shown({ known, requests, device, picture, panels, news, hands })
  const live = openLive(token, {
    onMessage(message) {
      take(message, { known, requests, panels, news, desk, device })
      painter.queue()
    },
    onConnected(connected) {
      known.connected(connected)
      requests.connected(connected)
      painter.queue()
    },
    onNewer: () => news.refuse(RELOAD),
  })
  for (const event of ['pointerdown', 'keydown'])
    document.addEventListener(event, () => {
      desk.touch()
      device.touch()
    })
  setInterval(() => {
    if (known.frame !== null) desk.hear(known.frame, known.nowMs(), device.settings.level)
    requests.tick()
    painter.queue()
  }, TICK_MS)
}

/** The screens about this device: its settings with the doors to the others, its size, its pedals. */
function deviceScreens(
  device: Device,
  known: Known,
  { ask, open }: Pick<PanelEnds, 'ask'> & Pick<Panels, 'open'>,
): Pick<PanelEnds, 'settings' | 'size' | 'pedals'> {
  return {
    settings: () =>
      settingsRow(device.settings, device.awake, device.change, [
        ...(known.steers
          ? [
              button('quiet', PEDAL.open, () => open('pedals')),
              button('quiet', KEEP_COURSE, () => ask({ kind: 'keep course' })),
            ]
          : []),
        button('quiet', SIZE.open, () => open('size')),
      ]),
    size: (back) => sizeScreen({ size: device.settings, change: device.change, back }),
    pedals: (back) =>
      pedalScreen({ plan: device.settings.pedals, change: (pedals) => device.change({ pedals }), back }),
  }
}

/** What a message is heard by. */
interface Ears {
  readonly known: Known
  readonly requests: Requests
  readonly panels: Panels
  readonly news: News
  readonly desk: SoundDesk
  readonly device: Device
}

function take(message: ToPage, { known, requests, panels, news, desk, device }: Ears): void {
  const before = known.frame
  known.take(message)
  if (message.kind === 'answer') requests.answered(message)
  if (message.kind !== 'frame') return
  if (wantsTheGauge(before, message)) panels.open('auto')
  const time = clockNews(before, message)
  if (time !== null) news.refuse(time)
  requests.see(message)
  desk.hear(message, known.nowMs(), device.settings.level)
}

function wishOf(request: ButtonRequest, by: Extract<FromPage, { kind: 'capture' }>['by']): Wish {
  return request === 'capture' ? { kind: request, by } : { kind: request }
}

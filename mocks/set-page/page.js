// The hands' side of the simulated set: sends what is done, draws what the set says it looks like now. It knows no meter.

import { makeMenu } from './menu.js'

const DRAWN = 'http://www.w3.org/2000/svg'

/** How far one step of the arrow keys or one notch of the wheel turns, degrees. */
const STEP_DEGREES = 3
const FAR_DEGREES = 15
/** The tool leaves by itself when the keyboard or the wheel has been still for so long, ms. */
const TOOL_STAYS_MS = 1500

const ADJUSTERS = [
  { name: 'VK', what: 'oscillator coil, slug', feel: 'coil' },
  { name: 'RT', what: 'reference trimmer', feel: 'trimmer' },
  { name: 'DK', what: 'exciter coil, slug', feel: 'coil' },
  { name: 'OK', what: 'output coil, slug', feel: 'coil' },
  { name: 'PW', what: 'power preset', feel: 'preset' },
  { name: 'PC', what: 'AM carrier preset', feel: 'preset' },
  { name: 'PM', what: 'AM depth preset', feel: 'preset' },
  { name: 'PD', what: 'deviation preset', feel: 'preset' },
]

const CHOICES = {
  mode: { field: 'mode', of: { FM: 'FM', AM: 'AM' } },
  prod: { field: 'place', of: { off: 'not on anything', plug: 'supply plug', T1: 'test point T1' } },
  common: { field: 'place', of: { off: 'not on anything', strip: 'earth strip ES', case: 'case' } },
  microphone: {
    field: 'what',
    of: { nothing: 'nothing in it', oscillator: 'oscillator lead', own: 'its own microphone' },
  },
}

/** How bright the display is by its setting; 1 stays readable. */
const DIM = { 1: 0.6, 2: 0.7, 3: 0.8, 4: 0.9, 5: 1 }

const at = (id) => document.getElementById(id)

let socket = null
let view = null

function connect() {
  socket = new WebSocket(`ws://${location.host}/set/live`)
  socket.addEventListener('open', () => {
    at('link').hidden = true
  })
  socket.addEventListener('message', (event) => {
    const message = JSON.parse(event.data)
    if (message.kind !== 'view') return
    view = message.view
    drawDisplays(message.displays)
    draw()
  })
  socket.addEventListener('close', () => {
    at('link').hidden = false
    setTimeout(connect, 1000)
  })
}

function say(message) {
  if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message))
}

// Adjusters

const knobs = new Map()

function element(name, attributes, parent) {
  const made = document.createElementNS(DRAWN, name)
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value)
  parent.append(made)
  return made
}

function span(className, text, parent) {
  const made = document.createElement('span')
  made.className = className
  made.textContent = text
  parent.append(made)
  return made
}

/** A slug with a slot in its can, a trimmer's half plate, or a preset with its two stops: 100 units across, middle at 0. */
function drawing(feel, svg) {
  if (feel === 'coil') {
    element('rect', { x: -44, y: -44, width: 88, height: 88, rx: 8, class: 'body can' }, svg)
    const moving = element('g', {}, svg)
    element('polygon', { points: '-26,0 -13,-23 13,-23 26,0 13,23 -13,23', class: 'core' }, moving)
    element('line', { x1: 0, y1: -20, x2: 0, y2: 20, class: 'slot' }, moving)
    element('circle', { cx: 0, cy: -13, r: 3.5, class: 'mark' }, moving)
    return moving
  }
  if (feel === 'trimmer') {
    element('circle', { r: 42, class: 'body' }, svg)
    const moving = element('g', {}, svg)
    element('path', { d: 'M0,-38 A38,38 0 0 1 0,38 Z', class: 'plate' }, moving)
    element('line', { x1: 0, y1: -34, x2: 0, y2: 34, class: 'slot dark' }, moving)
    return moving
  }
  element('path', { d: 'M-31.8,31.8 A45,45 0 1 1 31.8,31.8', class: 'track' }, svg)
  const moving = element('g', {}, svg)
  element('circle', { r: 34, class: 'body' }, moving)
  element('line', { x1: 0, y1: -32, x2: 0, y2: 20, class: 'slot dark' }, moving)
  return moving
}

/** What the adjuster's position is as an angle of the tool, degrees clockwise from the top. */
function angleOf(feel, position) {
  return feel === 'preset' ? -135 + 270 * position : 360 * position
}

function makeAdjuster({ name, what, feel }) {
  const holder = document.createElement('div')
  holder.className = 'adjuster'
  const svg = element(
    'svg',
    { viewBox: '-50 -50 100 100', tabindex: '0', role: 'slider', 'aria-label': `${name}, ${what}` },
    holder,
  )
  svg.setAttribute('aria-valuemin', '0')
  svg.setAttribute('aria-valuemax', '12')
  const moving = drawing(feel, svg)
  span('label', name, holder)
  span('what', what, holder)
  const tool = span('tool', '', holder)
  at('adjusters').append(holder)

  let leaves = 0
  let inside = false
  const turnDegrees = (degrees) => say({ kind: 'turn', adjuster: name, by: degrees / (feel === 'preset' ? 270 : 360) })
  const toolIn = () => {
    clearTimeout(leaves)
    inside = true
    say({ kind: 'hand', adjuster: name })
  }
  const toolOut = () => {
    clearTimeout(leaves)
    if (inside) say({ kind: 'hand', adjuster: null })
    inside = false
  }
  const nudge = (degrees) => {
    toolIn()
    turnDegrees(degrees)
    leaves = setTimeout(toolOut, TOOL_STAYS_MS)
  }

  let last = null
  const bearing = (event) => {
    const box = svg.getBoundingClientRect()
    const across = event.clientX - (box.left + box.width / 2)
    const down = event.clientY - (box.top + box.height / 2)
    return (Math.atan2(across, -down) * 180) / Math.PI
  }
  svg.addEventListener('pointerdown', (event) => {
    svg.setPointerCapture(event.pointerId)
    last = bearing(event)
    toolIn()
  })
  svg.addEventListener('pointermove', (event) => {
    if (last === null) return
    const now = bearing(event)
    const moved = ((now - last + 540) % 360) - 180
    last = now
    if (moved !== 0) turnDegrees(moved)
  })
  const lift = () => {
    if (last === null) return
    last = null
    toolOut()
  }
  svg.addEventListener('pointerup', lift)
  svg.addEventListener('pointercancel', lift)
  svg.addEventListener(
    'wheel',
    (event) => {
      event.preventDefault()
      const way = event.deltaY < 0 || event.deltaX > 0 ? 1 : -1
      nudge(way * (event.shiftKey ? FAR_DEGREES : STEP_DEGREES))
    },
    { passive: false },
  )
  svg.addEventListener('keydown', (event) => {
    const ways = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }
    const way = ways[event.key]
    if (event.key === 'Escape') toolOut()
    if (way === undefined) return
    event.preventDefault()
    nudge(way * (event.shiftKey ? FAR_DEGREES : event.altKey ? 1 : STEP_DEGREES))
  })
  svg.addEventListener('blur', toolOut)
  knobs.set(name, { feel, holder, svg, moving, tool })
}

function drawAdjuster(name, { feel, holder, svg, moving, tool }) {
  const angle = angleOf(feel, view.positions[name])
  const inside = view.hand === name
  moving.setAttribute('transform', `rotate(${angle})`)
  holder.classList.toggle('is-in', inside)
  tool.textContent = inside ? 'tool in' : ''
  const hour = ((((angle / 30) % 12) + 12) % 12).toFixed(1)
  svg.setAttribute('aria-valuenow', hour)
  svg.setAttribute('aria-valuetext', `slot at ${hour === '0.0' ? '12.0' : hour} o'clock${inside ? ', tool in' : ''}`)
}

// Everything else

function makeChoices(kind, { field, of }) {
  for (const [value, words] of Object.entries(of)) {
    const label = document.createElement('label')
    const input = document.createElement('input')
    input.type = 'radio'
    input.name = kind
    input.value = value
    input.addEventListener('change', () => say({ kind, [field]: value }))
    label.append(input, ` ${words}`)
    at(kind).append(label)
  }
}

function draw() {
  for (const [name, knob] of knobs) drawAdjuster(name, knob)
  at('display').textContent = view.display === '' ? '\u00a0' : view.display
  at('display').style.opacity = DIM[view.settings.brightness] ?? 1
  at('onair').textContent = view.onAir ? 'transmitting' : view.timedOut ? 'timed out: release the key' : ''
  at('key').classList.toggle('is-down', view.key)
  at('latch').setAttribute('aria-pressed', String(view.key && latched))
  at('whistle').setAttribute('aria-pressed', String(view.whistling))
  at('load').checked = view.load
  at('cover').checked = view.cover
  for (const kind of Object.keys(CHOICES))
    for (const input of at(kind).querySelectorAll('input')) input.checked = input.value === view[kind]
  if (document.activeElement !== at('band')) at('band').value = view.band
  drawMenu(view)
}

/** What a person reads off the meters without a socket; the numbers are replaced, not the rows, so that nothing jumps. */
function drawDisplays(displays) {
  const shown = at('shown')
  const entries = Object.entries(displays)
  at('displays').hidden = entries.length === 0
  if (shown.childElementCount !== 2 * entries.length)
    shown.replaceChildren(
      ...entries.flatMap(([quantity]) => {
        const name = document.createElement('dt')
        name.textContent = quantity
        return [name, document.createElement('dd')]
      }),
    )
  const values = shown.querySelectorAll('dd')
  for (const [index, [, text]] of entries.entries()) values[index].textContent = text
}

let latched = false
let pressing = false

function press() {
  latched = false
  pressing = true
  say({ kind: 'key', down: true })
}

function release() {
  if (pressing) say({ kind: 'key', down: false })
  pressing = false
}

at('key').addEventListener('pointerdown', (event) => {
  event.currentTarget.setPointerCapture(event.pointerId)
  press()
})
for (const over of ['pointerup', 'pointercancel', 'blur', 'keyup']) at('key').addEventListener(over, release)
at('key').addEventListener('keydown', (event) => {
  if (event.key !== ' ' && event.key !== 'Enter') return
  event.preventDefault()
  if (!event.repeat) press()
})
at('latch').addEventListener('click', () => {
  latched = !(view?.key && latched)
  say({ kind: 'key', down: latched })
})
at('whistle').addEventListener('click', () => say({ kind: 'whistle', on: !view?.whistling }))
at('down').addEventListener(
  'click',
  () => view && view.channel > 1 && say({ kind: 'channel', channel: view.channel - 1 }),
)
at('up').addEventListener('click', () => view && say({ kind: 'channel', channel: view.channel + 1 }))
at('load').addEventListener('change', () => say({ kind: 'load', on: at('load').checked }))
at('cover').addEventListener('change', () => say({ kind: 'cover', on: at('cover').checked }))
at('switch').addEventListener('click', () => {
  latched = false
  say({ kind: 'band', band: at('band').value })
})

const drawMenu = makeMenu(at('menu'), (name, value) => {
  // The set is switched off for it, and forgets its key.
  latched = false
  say({ kind: 'setting', name, value })
})
for (const adjuster of ADJUSTERS) makeAdjuster(adjuster)
for (const [kind, choice] of Object.entries(CHOICES)) makeChoices(kind, choice)
connect()

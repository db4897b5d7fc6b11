import { broken, lettersIn, TYPE } from '../measure/letters.ts'
import { type AtLead, type HookUp, ROOM } from '../view/hook-up.ts'
import { commonWords, HOOK_UP, HOOK_UP_SAID, padWords, prodWords } from '../words/words-of-drawings.ts'
import { atMost, box, clipped, type Drawing, dot, group, LEADING, line, type Shape, written } from './shape.ts'

const WIDTH = 680
const HEIGHT = 434
/** The set's case, its board seen on edge, its faces and the plug. */
const CASE = { left: 218, right: 456, top: 124, foot: 350 } as const
const BOARD = { left: 328, right: 346, top: 152, foot: 312 } as const
const ADJUSTER_Y = 244
const SOCKET_Y = 302
const PLUG = { x: CASE.right, y: 330 } as const

/** The hook-up of a step as shapes: the set's board on edge in the middle, what is turned at its left, what is clipped on at its right. */
export function hookUpDrawing(hookUp: HookUp): Drawing {
  const mirrored = hookUp.side === 'component'
  return {
    width: WIDTH,
    height: HEIGHT,
    alternative: inWords(hookUp),
    shapes: [
      group('set', setShapes(hookUp)),
      group('aerial', aerialShapes(hookUp)),
      group('tool', toolShapes(hookUp)),
      group('prod', prodShapes(hookUp, mirrored)),
      group('microphone', microphoneShapes(hookUp)),
      group('supply', supplyShapes(hookUp)),
      group(
        'speaker',
        hookUp.speaker.flatMap((one, at) => speakerShapes(one, at)),
      ),
    ],
  }
}

function setShapes({ adjuster, side, floating, set, prod }: HookUp): readonly Shape[] {
  const { left, right, foot } = CASE
  const earth = floating
    ? [
        box('solid', { x: left, y: foot - 32, width: right - left, height: 32 }, 0),
        ...written([HOOK_UP.notToEarth], (left + right) / 2, foot - 9, { weight: 'reversed', anchor: 'middle' }),
      ]
    : []
  const strip = prod.strip || floating
  return [
    line('plain', caseOutline(adjuster !== '')),
    ...earth,
    box('solid', { x: BOARD.left, y: BOARD.top, width: BOARD.right - BOARD.left, height: BOARD.foot - BOARD.top }, 2),
    ...(strip ? stripShapes(prod) : []),
    ...faceShapes(side),
    ...written(atMost(broken(set, ROOM.set.letters), ROOM.set.lines), (left + right) / 2, foot + 24, {
      anchor: 'middle',
    }),
  ]
}

/** With a hole in the lid where a tool goes through. */
function caseOutline(open: boolean): string {
  const { left, right, top, foot } = CASE
  const hole = open ? `M${left} ${ADJUSTER_Y + 16}h-8M${left} ${ADJUSTER_Y - 16}h-8` : ''
  return `M${left} ${ADJUSTER_Y - (open ? 16 : 0)}V${top}H${right}V${foot}H${left}V${ADJUSTER_Y + (open ? 16 : 0)}${hole}`
}

/** The board's own common: a bare strip along its rear edge. */
function stripShapes({ strip, stripName }: HookUp['prod']): readonly Shape[] {
  const bar = { x: BOARD.left - 16, y: BOARD.top - 12, width: 50, height: 12 }
  if (!strip) return [box('pale', bar, 2)]
  return [box('used', bar, 2), ...written([stripName], bar.x - 6, BOARD.top + 4, { weight: 'bold', anchor: 'end' })]
}

/** Cans and coils stand on the component side, solder shows as rounded joints on the other. */
function faceShapes(side: HookUp['side']): readonly Shape[] {
  const cans = [174, 278].map((y) => box('pale', { x: BOARD.left - 26, y, width: 26, height: 26 }, 3))
  const joints = [170, 226, 252, 278, 302].map((y) => line('pale', `M${BOARD.right} ${y - 7}a9 7 0 0 1 0 14`))
  if (side === '') return [...cans, ...joints]
  const words = side === 'solder' ? HOOK_UP.solderSide : HOOK_UP.componentSide
  const x = side === 'solder' ? BOARD.right + 14 : BOARD.left - 32
  const anchor = side === 'solder' ? 'start' : 'end'
  return [...cans, ...joints, ...written(words.split(' '), x, 270, { anchor })]
}

/** Handle, shaft through the lid, and what it turns; pulled out where nothing is turned. */
function toolShapes({ adjuster, blade: flat, tool }: HookUp): readonly Shape[] {
  const used = adjuster !== ''
  const look = used ? 'used' : 'pale'
  const tip = used ? BOARD.left - 30 : CASE.left - 26
  const handle = { x: 8, y: ADJUSTER_Y - 13, width: 96, height: 26 }
  const blade = flat ? `M${tip} ${ADJUSTER_Y - 7}v14h8v-14z` : `M${tip} ${ADJUSTER_Y - 6}h8l4 6l-4 6h-8z`
  const lines = used ? atMost(broken(tool, ROOM.tool.letters), ROOM.tool.lines) : [HOOK_UP.noTool]
  const head = used
    ? [
        box('used', { x: BOARD.left - 18, y: ADJUSTER_Y - 18, width: 18, height: 36 }, 3),
        line('used', `M${BOARD.left - 9} ${ADJUSTER_Y - 9}v18`),
        ...written([adjuster], BOARD.left - 32, ADJUSTER_Y - 14, { weight: 'bold', anchor: 'end', size: 28 }),
      ]
    : []
  return [
    box(look, handle, 12),
    line(look, `M104 ${ADJUSTER_Y}H${tip}`),
    line(look, blade),
    ...head,
    ...written(lines, 8, ADJUSTER_Y + 38, { weight: used ? 'normal' : 'pale' }),
  ]
}

function prodShapes({ prod }: HookUp, mirrored: boolean): readonly Shape[] {
  const { meter, place, common, strip } = prod
  if (meter === null && place === '') return []
  const at = { x: mirrored ? 4 : 476, y: 116, width: 200, height: 58 }
  const near = mirrored ? at.x + at.width : at.x
  const shown = meterBox(meter ?? { name: null, what: '', used: true }, at)
  if (place === '') return [...shown, line('pale', `M${near} 158${mirrored ? 'h14' : 'h-14'}v14`)]
  const prodLines = atMost(broken(prodWords(place), ROOM.prod.letters), ROOM.prod.lines)
  const commonLines = common === '' ? [] : atMost(broken(commonWords(common), ROOM.common.letters), ROOM.common.lines)
  // at the left the tool has the room under the meter
  const foot = mirrored ? { x: 490, y: 146 } : { x: at.x + 14, y: at.y + at.height + 28 }
  return [
    ...shown,
    ...(prod.at === 'plug' ? prodAtPlug() : prodAtBoard(prod, mirrored)),
    ...(common === '' ? [] : commonLead(strip, mirrored)),
    ...written(prodLines, foot.x, foot.y, { weight: 'bold' }),
    ...written(commonLines, foot.x, foot.y + prodLines.length * LEADING),
  ]
}

/** Prod with its point on the board, lead to the foot of the meter; where only words say its place, the point is on nothing. */
function prodAtBoard({ at, place }: HookUp['prod'], mirrored: boolean): readonly Shape[] {
  const face = mirrored ? BOARD.left : BOARD.right
  const out = mirrored ? -1 : 1
  const y = 200
  const onBoard = at === 'board'
  const name =
    onBoard && place.length <= 4
      ? written([place], face + out * 12, y - 14, { weight: 'bold', anchor: mirrored ? 'end' : 'start' })
      : []
  const handle = face + out * 54
  return [
    ...(onBoard ? [dot('solid', face + out * 4, y, 5)] : []),
    line('used', `M${face + out * (onBoard ? 8 : 30)} ${y}L${handle} ${y - 4}v8z`),
    box('used', { x: mirrored ? handle - 50 : handle, y: y - 8, width: 50, height: 16 }, 8),
    line('used', `M${handle + out * 50} ${y}H${face + out * 118}V160H${mirrored ? 204 : 476}`),
    ...name,
  ]
}

/** Prod from above on the plug of the set. */
function prodAtPlug(): readonly Shape[] {
  const x = PLUG.x + 12
  return [
    line('used', `M${x} ${PLUG.y - 6}l-4 -34h8z`),
    box('used', { x: x - 7, y: PLUG.y - 84, width: 14, height: 44 }, 7),
    line('used', `M${x} ${PLUG.y - 84}V160H476`),
  ]
}

/** A clip on the strip, or on a place of its own, and its lead to the head of the meter. */
function commonLead(strip: boolean, mirrored: boolean): readonly Shape[] {
  const y = BOARD.top - 6
  const grip = strip ? (mirrored ? BOARD.left - 16 : BOARD.right + 16) : mirrored ? BOARD.left - 60 : BOARD.right + 60
  const out = mirrored ? -1 : 1
  const jaws = `M${grip} ${y - 6}l${out * 22} 4v8l${-out * 22} 4`
  return [line('used', jaws), line('used', `M${grip + out * 22} ${y}H${mirrored ? 204 : 476}`)]
}

/** Meters in a row, the load under them, one lead to the socket. */
function aerialShapes({ aerial }: HookUp): readonly Shape[] {
  const { used, lossDb, meters } = aerial
  const shown = meters.slice(0, 3)
  const width = shown.length > 2 ? 200 : 250
  const left = (WIDTH - shown.length * (width + 16) + 16) / 2
  const load = { x: 196, y: 74, width: 284, height: 32 }
  const look = used ? 'used' : 'pale'
  const middle = load.x + load.width / 2
  return [
    ...shown.flatMap((one, at) => {
      const place = { x: left + at * (width + 16), y: 2, width, height: 54 }
      const foot = place.x + place.width / 2
      return [...meterBox(one, place), line(one.used ? 'used' : 'pale', `M${foot} 56V65H${middle}V74`)]
    }),
    box(look, load, 3),
    line(look, `M${load.x - 8} 80v20m-8 -20v20M${load.x + load.width + 8} 80v20m8 -20v20`),
    ...written([padWords(lossDb)], middle, load.y + 24, { weight: used ? 'bold' : 'pale', anchor: 'middle' }),
    line(look, `M${middle} ${load.y + load.height}V${CASE.top - 8}`),
    box(look, { x: middle - 12, y: CASE.top - 10, width: 24, height: 20 }, 3),
  ]
}

/** The socket at the left of the set: an oscillator's lead, the set's own microphone, a short, or nothing. */
function microphoneShapes({ microphone }: HookUp): readonly Shape[] {
  const { holds, oscillator, words } = microphone
  const at = { x: 4, y: 340, width: 156, height: 36 }
  const socket = holds === 'untouched' ? 'pale' : 'used'
  const from = holds === 'oscillator' ? 'used' : 'pale'
  const own = holds === 'own' ? 'used' : 'pale'
  const told = words === '' ? (holds === 'oscillator' ? HOOK_UP.oscillatorIn : HOOK_UP.socketUntouched) : words
  const name = oscillator ?? HOOK_UP.nobody
  return [
    ...(oscillator === null && from === 'pale' ? [] : [box(oscillator === null ? 'empty' : from, at)]),
    ...(oscillator === null && from === 'pale'
      ? []
      : written([clipped(name, lettersIn(148, { weight: 'bold' }))], 11, 366, {
          weight: from === 'used' ? 'bold' : 'pale',
        })),
    line(from, from === 'used' ? `M80 340V332H200V${SOCKET_Y}H206` : ''),
    box(own, { x: 170, y: 336, width: 30, height: 44 }, 12),
    line(own, 'M177 347h16m-16 8h16m-16 8h16'),
    line(own, own === 'used' ? `M185 336V${SOCKET_Y}H206` : ''),
    dot(socket, CASE.left, SOCKET_Y, 11),
    ...(holds === 'shorted' ? [line('used', `M${CASE.left - 4} ${SOCKET_Y - 10}h-24v20h24`)] : []),
    ...(holds === 'other' ? [line('used', `M${CASE.left - 12} ${SOCKET_Y}h-30`)] : []),
    ...written(atMost(broken(told, ROOM.microphone.letters), ROOM.microphone.lines), 4, 428, {
      weight: holds === 'untouched' ? 'pale' : 'normal',
    }),
  ]
}

function supplyShapes({ supply }: HookUp): readonly Shape[] {
  const at = { x: 500, y: 350, width: 176, height: 58 }
  const look = supply.used ? 'used' : 'plain'
  return [
    ...meterBox(
      { ...supply, what: supply.used ? supply.what : supply.name === HOOK_UP.supply ? '' : HOOK_UP.supply },
      at,
      look,
    ),
    line(look, `M${PLUG.x + 12} ${PLUG.y}H484V380H500`),
    box('plain', { x: PLUG.x - 8, y: PLUG.y - 10, width: 20, height: 20 }, 2),
  ]
}

function speakerShapes(one: AtLead, at: number): readonly Shape[] {
  if (at > 0) return []
  return [
    ...meterBox(one, { x: 500, y: 286, width: 176, height: 54 }),
    line('used', `M${CASE.right} 304H500`),
    line('used', `M${CASE.right - 16} 294v20l-14 -6v-8z`),
  ]
}

/** Type that a line is still read in, and no larger than its room. */
const LEAST_TYPE = 16
function sizeFor(text: string, width: number): number {
  const share = lettersIn(width) / Math.max(1, text.length)
  return share >= 1 ? TYPE : Math.max(LEAST_TYPE, TYPE * share)
}

/** A box with the name of the instrument over what it measures; dashed where nobody is there. */
function meterBox(
  one: AtLead,
  at: { x: number; y: number; width: number; height: number },
  usual?: 'used' | 'plain',
): readonly Shape[] {
  const look = one.name === null ? 'empty' : (usual ?? (one.used ? 'used' : 'pale'))
  const weight = look === 'pale' ? 'pale' : 'bold'
  const name = clipped(one.name ?? HOOK_UP.nobody, lettersIn(at.width - 16, { weight }))
  const size = sizeFor(one.what, at.width - 16)
  const what = clipped(one.what, lettersIn(at.width - 16, { size }))
  return [
    box(look, at),
    ...written([name], at.x + 9, at.y + (what === '' ? at.height / 2 + 8 : 24), { weight }),
    ...written([what], at.x + 9, at.y + 48, { weight: look === 'pale' ? 'pale' : 'normal', size }),
  ]
}

/** The drawing in sentences. */
function inWords({ adjuster, aerial, floating, microphone, prod, set, side, supply, tool }: HookUp): string {
  const face = side === 'solder' ? HOOK_UP.solderSide : side === 'component' ? HOOK_UP.componentSide : ''
  const meters = aerial.meters
    .filter(({ used }) => used)
    .map(({ name, what }) => HOOK_UP_SAID.read(name ?? HOOK_UP.nobody, what))
  const inSocket = microphone.words || (microphone.holds === 'oscillator' ? HOOK_UP.oscillatorIn : '')
  const said = HOOK_UP_SAID
  return [
    set === '' ? '' : said.set(set),
    prod.place === '' ? '' : said.meter(prod.meter?.name ?? HOOK_UP.nobody, prod.place, prod.common, face),
    adjuster === '' ? '' : said.tool(adjuster, tool),
    aerial.used ? said.aerial(padWords(aerial.lossDb), meters) : '',
    inSocket === '' ? '' : said.microphone(inSocket),
    supply.used ? said.supply(supply.name ?? HOOK_UP.nobody, supply.what) : '',
    floating ? said.notToEarth : '',
  ]
    .filter((sentence) => sentence !== '')
    .join(' ')
}

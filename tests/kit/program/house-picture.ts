/** Draws the house anew from the table of arrows: `node --import tsx tests/kit/program/house-picture.ts` writes web/handbook/house.svg. */
import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { ARROWS } from '../../rules/arrows.ts'

const WIDE = 172
const HEAD = 24
const LINE = 14
const GAP_X = 22
const GAP_Y = 56
const EDGE = 16
/** Sub-rooms stand in two columns above this many. */
const ONE_COLUMN = 5

interface House {
  readonly name: string
  readonly rooms: readonly string[]
  /** The other houses it imports, and whether types only. */
  readonly to: ReadonlyMap<string, boolean>
}

interface Placed extends House {
  readonly x: number
  readonly y: number
  readonly height: number
}

const houseOf = (room: string) => room.split('/')[0] ?? room

function houses(): readonly House[] {
  const names = [...new Set(Object.keys(ARROWS).map(houseOf))]
  return names.map((name) => {
    const own = Object.keys(ARROWS).filter((room) => houseOf(room) === name)
    const to = new Map<string, boolean>()
    for (const arrow of own.flatMap((room) => ARROWS[room]?.rooms ?? [])) {
      const other = houseOf(arrow.replace(/^t:/, ''))
      if (other !== name) to.set(other, (to.get(other) ?? true) && arrow.startsWith('t:'))
    }
    return { name, rooms: own.filter((room) => room !== name).map((room) => room.slice(name.length + 1)), to }
  })
}

/** How many houses stand below it, one on another. */
function floorOf(name: string, all: readonly House[]): number {
  const below = all.find((house) => house.name === name)?.to.keys() ?? []
  return Math.max(-1, ...[...below].map((other) => floorOf(other, all))) + 1
}

function heightOf({ rooms }: House): number {
  const lines = rooms.length > ONE_COLUMN ? Math.ceil(rooms.length / 2) : rooms.length
  return HEAD + lines * LINE + 8
}

function placed(all: readonly House[]): readonly Placed[] {
  const floors: House[][] = []
  for (const house of all) {
    const floor = floorOf(house.name, all)
    floors[floor] = [...(floors[floor] ?? []), house]
  }
  const most = Math.max(...floors.map((floor) => floor.length))
  let y = EDGE
  return floors.toReversed().flatMap((floor) => {
    const tall = Math.max(...floor.map(heightOf))
    const left = EDGE + ((most - floor.length) * (WIDE + GAP_X)) / 2
    const here = floor.map((house, at) => ({ ...house, x: left + at * (WIDE + GAP_X), y, height: heightOf(house) }))
    y += tall + GAP_Y
    return here
  })
}

function boxOf({ name, rooms, x, y, height }: Placed): string {
  const columns = rooms.length > ONE_COLUMN ? 2 : 1
  const each = Math.ceil(rooms.length / columns)
  const lines = rooms.map((room, at) => {
    const left = x + 8 + Math.floor(at / each) * (WIDE / 2)
    return `<text class="room" x="${left}" y="${y + HEAD + 10 + (at % each) * LINE}">${room}</text>`
  })
  return [
    `<rect x="${x}" y="${y}" width="${WIDE}" height="${height}" rx="6"/>`,
    `<text class="house" x="${x + 8}" y="${y + 17}">${name}</text>`,
    ...lines,
  ].join('\n')
}

/** Whether one house reaches another by way of a third: that arrow is not drawn. */
function goesWithout(from: House, name: string, all: readonly House[]): boolean {
  const reaches = (by: string): boolean => {
    const to = all.find((house) => house.name === by)?.to
    return to !== undefined && (to.has(name) || [...to.keys()].some(reaches))
  }
  return [...from.to.keys()].some((other) => other !== name && reaches(other))
}

/** From the foot of a house to the head of one below; between houses of far floors it bends, so that arrows can be told apart. */
function arrowOf(from: Placed, to: Placed, typesOnly: boolean, at: number): string {
  const x1 = from.x + WIDE / 2 + (at % 2 === 0 ? 1 : -1) * ((at * 11) % 60)
  const y1 = from.y + from.height
  const x2 = to.x + WIDE / 2 + ((from.x - to.x) / (WIDE + GAP_X)) * 14 + (at % 3) * 8
  const y2 = to.y - 2
  const bend = (y2 - y1) / 2
  const path = `M${x1} ${y1} C${x1} ${y1 + bend} ${x2} ${y2 - bend} ${x2} ${y2}`
  return `<path class="${typesOnly ? 'types' : 'values'}" marker-end="url(#head)" d="${path}"><title>${from.name} imports ${typesOnly ? 'types of ' : ''}${to.name}</title></path>`
}

/** The whole picture: houses on floors, each importing only from floors below; dashed: types only. What a house reaches by way of another is not drawn. */
export function housePicture(): string {
  const all = placed(houses())
  const arrows = all.flatMap((from) =>
    [...from.to].flatMap(([name, typesOnly], at) => {
      const to = all.find((house) => house.name === name)
      return to && !goesWithout(from, name, all) ? [arrowOf(from, to, typesOnly, at)] : []
    }),
  )
  const width = Math.max(...all.map(({ x }) => x)) + WIDE + EDGE
  const height = Math.max(...all.map((one) => one.y + one.height)) + EDGE
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img">
<title>The house: what imports what, downward only; dashed are types only; what a house has by way of another is not drawn</title>
<style>
svg { background: #f4f1ea }
rect { fill: #fff; stroke: #15181c; stroke-width: 1.5 }
text { font-family: system-ui, sans-serif; fill: #15181c }
.house { font-size: 14px; font-weight: 600 }
.room { font-size: 11px; fill: #4b5057 }
path { fill: none; stroke: #0b5cad; stroke-width: 1.1; opacity: 0.55 }
.types { stroke: #4b5057; stroke-dasharray: 4 3 }
marker path { fill: #15181c; stroke: none; opacity: 1 }
</style>
<defs><marker id="head" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="6" markerHeight="6" orient="auto"><path d="M0 0 8 4 0 8z"/></marker></defs>
${arrows.join('\n')}
${all.map(boxOf).join('\n')}
</svg>
`
}

if (import.meta.filename === process.argv[1])
  writeFileSync(join(import.meta.dirname, '..', '..', '..', 'web', 'handbook', 'house.svg'), housePicture())

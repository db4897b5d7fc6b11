import { mkdir, writeFile } from 'node:fs/promises'
import { join } from 'node:path'

/** One thing drawn in a plot. */
export interface Series {
  readonly name: string
  readonly points: readonly (readonly [x: number, y: number])[]
  readonly as: 'line' | 'dots' | 'dashes' | 'rings'
  readonly colour: string
}

/** A moment or a place worth a line of its own, with its word. */
export interface Mark {
  readonly x: number
  readonly word: string
  readonly colour: string
}

/** A band across the plot, from one y to another, over some of x. */
export interface Strip {
  readonly x: readonly [number, number]
  readonly y: readonly [number, number]
  readonly colour: string
}

export interface Plot {
  readonly title: string
  /** What it says, in a sentence under the title. */
  readonly says: string
  readonly xLabel: string
  readonly yLabel: string
  readonly series: readonly Series[]
  readonly marks?: readonly Mark[]
  readonly strips?: readonly Strip[]
}

export const INK = '#22303c'
export const GREY = '#8a97a3'
export const BLUE = '#1f5fa8'
export const ORANGE = '#c4560c'
export const GREEN = '#2c7a3f'

const WIDTH = 640
const HEIGHT = 360
const LEFT = 58
const RIGHT = 14
const TOP = 62
const BOTTOM = 62
const TICKS = 6

/** A plot as SVG text: scales that end at round numbers, a legend below, no script and no font of its own. */
export function svgOf(plot: Plot): string {
  const { series, marks = [], strips = [] } = plot
  const all = series.flatMap(({ points }) => points)
  const xs = [...all.map(([x]) => x), ...marks.map(({ x }) => x)]
  const ys = [...all.map(([, y]) => y), ...strips.flatMap(({ y }) => y)]
  const x = scaleOf(xs, LEFT, WIDTH - RIGHT)
  const y = scaleOf(ys, HEIGHT - BOTTOM, TOP)
  const parts = [
    `<text x="${LEFT}" y="20" font-size="15" font-weight="bold">${escaped(plot.title)}</text>`,
    `<text x="${LEFT}" y="38" font-size="11" fill="${GREY}">${escaped(plot.says)}</text>`,
    ...strips.map(
      ({ x: [x0, x1], y: [y0, y1], colour }) =>
        `<rect x="${at(x.to(x0))}" y="${at(y.to(y1))}" width="${at(x.to(x1) - x.to(x0))}" height="${at(y.to(y0) - y.to(y1))}" fill="${colour}" opacity="0.18"/>`,
    ),
    ...x.ticks.map(
      (tick) =>
        `<line x1="${at(x.to(tick))}" y1="${TOP}" x2="${at(x.to(tick))}" y2="${HEIGHT - BOTTOM}" stroke="#e3e8ec"/><text x="${at(x.to(tick))}" y="${HEIGHT - BOTTOM + 15}" text-anchor="middle">${numeral(tick)}</text>`,
    ),
    ...y.ticks.map(
      (tick) =>
        `<line x1="${LEFT}" y1="${at(y.to(tick))}" x2="${WIDTH - RIGHT}" y2="${at(y.to(tick))}" stroke="#e3e8ec"/><text x="${LEFT - 6}" y="${at(y.to(tick) + 4)}" text-anchor="end">${numeral(tick)}</text>`,
    ),
    ...series.map((one) => drawn(one, x.to, y.to)),
    ...marks.flatMap(({ x: mark, word, colour }, index) => {
      const side = x.to(mark) > WIDTH - 150 ? -1 : 1
      return [
        `<line x1="${at(x.to(mark))}" y1="${TOP}" x2="${at(x.to(mark))}" y2="${HEIGHT - BOTTOM}" stroke="${colour}" stroke-width="1.5" stroke-dasharray="4 3"/>`,
        `<text x="${at(x.to(mark) + 4 * side)}" y="${TOP + 11 + 13 * (index % 4)}" text-anchor="${side < 0 ? 'end' : 'start'}" fill="${colour}" stroke="#ffffff" stroke-width="3" paint-order="stroke">${escaped(word)}</text>`,
      ]
    }),
    `<text x="${at((LEFT + WIDTH - RIGHT) / 2)}" y="${HEIGHT - BOTTOM + 31}" text-anchor="middle">${escaped(plot.xLabel)}</text>`,
    `<text transform="translate(14 ${at((TOP + HEIGHT - BOTTOM) / 2)}) rotate(-90)" text-anchor="middle">${escaped(plot.yLabel)}</text>`,
    ...legend(series),
  ]
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" width="${WIDTH}" height="${HEIGHT}" font-family="sans-serif" font-size="11" fill="${INK}">\n<rect width="${WIDTH}" height="${HEIGHT}" fill="#ffffff"/>\n${parts.join('\n')}\n</svg>\n`
}

/** Writes plots as NAME.svg into a folder, which is made where there is none. */
export async function writePlots(folder: string, plots: Readonly<Record<string, Plot>>): Promise<void> {
  await mkdir(folder, { recursive: true })
  for (const [name, plot] of Object.entries(plots)) await writeFile(join(folder, `${name}.svg`), svgOf(plot))
}

interface Scale {
  readonly to: (value: number) => number
  readonly ticks: readonly number[]
}

function scaleOf(values: readonly number[], from: number, to: number): Scale {
  const finite = values.filter(Number.isFinite)
  const least = finite.reduce((low, value) => Math.min(low, value), Number.POSITIVE_INFINITY)
  const most = finite.reduce((high, value) => Math.max(high, value), Number.NEGATIVE_INFINITY)
  const [low, high] = least < most ? [least, most] : [least - 1, least + 1]
  const step = roundStep((high - low) / TICKS)
  const first = Math.floor(low / step + 1e-9)
  const last = Math.ceil(high / step - 1e-9)
  const ticks = Array.from({ length: last - first + 1 }, (_, index) => (first + index) * step)
  return { to: (value) => from + ((to - from) * (value / step - first)) / (last - first), ticks }
}

/** 1, 2 or 5 times a power of ten, not below. */
function roundStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least))
  return ([1, 2, 5].find((one) => one * power >= least * (1 - 1e-9)) ?? 10) * power
}

function drawn({ as, points, colour }: Series, x: Scale['to'], y: Scale['to']): string {
  if (as === 'line' || as === 'dashes') {
    const path = points.map(([px, py]) => `${at(x(px))},${at(y(py))}`).join(' ')
    const dashes = as === 'dashes' ? ' stroke-dasharray="6 4"' : ''
    return `<polyline points="${path}" fill="none" stroke="${colour}" stroke-width="1.8"${dashes}/>`
  }
  const look = as === 'rings' ? `r="5" fill="none" stroke="${colour}" stroke-width="2.2"` : `r="1.8" fill="${colour}"`
  return points.map(([px, py]) => `<circle cx="${at(x(px))}" cy="${at(y(py))}" ${look}/>`).join('')
}

function legend(series: readonly Series[]): string[] {
  let left = LEFT
  return series
    .filter(({ name }) => name !== '')
    .map(({ name, as, colour }) => {
      const sign = drawn(
        {
          name,
          as,
          colour,
          points:
            as === 'line' || as === 'dashes'
              ? [
                  [left, HEIGHT - 13],
                  [left + 22, HEIGHT - 13],
                ]
              : [[left + 11, HEIGHT - 13]],
        },
        (px) => px,
        (py) => py,
      )
      const words = `<text x="${left + 28}" y="${HEIGHT - 9}">${escaped(name)}</text>`
      left += 44 + 6 * name.length
      return sign + words
    })
}

const at = (place: number) => place.toFixed(1)
const numeral = (value: number) => `${Number(value.toPrecision(6))}`

function escaped(words: string): string {
  return words.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;')
}

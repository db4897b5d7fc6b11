import { PEN, type Pen, TYPE } from '../measure/letters.ts'
import { makeSvg } from './dom.ts'

/** A piece of a drawing as plain data. What a file or a person wrote is only ever `text`, never markup or an attribute. */
export interface Shape {
  readonly tag: 'g' | 'path' | 'rect' | 'circle' | 'text'
  readonly attributes: Readonly<Record<string, string | number>>
  readonly text: string
  readonly inside: readonly Shape[]
}

/** A whole drawing: its size in its own units, its shapes, and the same in a sentence or two for who cannot see it. */
export interface Drawing {
  readonly width: number
  readonly height: number
  readonly shapes: readonly Shape[]
  readonly alternative: string
}

/**
 * How a part is drawn, told apart by line and shape alone: used is heavy, plain is there but nothing to look after now,
 * pale is not used, empty is dashed, solid is filled.
 */
export type Look = 'used' | 'plain' | 'pale' | 'empty' | 'solid'

export interface Box {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

const shape = (
  tag: Shape['tag'],
  attributes: Shape['attributes'],
  text = '',
  inside: readonly Shape[] = [],
): Shape => ({
  tag,
  attributes,
  text,
  inside,
})

export function line(look: Look, d: string): Shape {
  return shape('path', { class: look, d })
}

export function box(look: Look, { x, y, width, height }: Box, radius = 6): Shape {
  return shape('rect', { class: look, x, y, width, height, rx: radius })
}

export function dot(look: Look, cx: number, cy: number, r: number): Shape {
  return shape('circle', { class: look, cx, cy, r })
}

/** Shapes that belong together, under a name by which style and tests find them. */
export function group(name: string, inside: readonly Shape[]): Shape {
  return shape('g', { class: name }, '', inside)
}

export const LEADING = 24

/** Lines of words, the first with its foot at `y`. */
export function written(lines: readonly string[], x: number, y: number, pen: Partial<Pen> = {}): readonly Shape[] {
  const { weight, anchor, size } = { ...PEN, ...pen }
  const attributes = { class: `words ${weight}`, 'text-anchor': anchor, 'font-size': size }
  return lines.flatMap((text, at) =>
    text === '' ? [] : [shape('text', { ...attributes, x, y: y + at * LEADING * (size / TYPE) }, text)],
  )
}

/** At most so many lines; what had to be left out shows as an ellipsis. */
export function atMost(lines: readonly string[], most: number): readonly string[] {
  if (lines.length <= most) return lines
  const last = lines[most - 1] ?? ''
  return [...lines.slice(0, most - 1), `${last.slice(0, Math.max(1, last.length - 1))}…`]
}

/** One line, cut where it is too long. */
export function clipped(text: string, letters: number): string {
  return text.length <= letters ? text : `${text.slice(0, Math.max(1, letters - 1))}…`
}

/** Puts a drawing into the page, in the place of the one before. */
export function putDrawing(svg: SVGSVGElement, drawing: Drawing): void {
  svg.setAttribute('viewBox', `0 0 ${drawing.width} ${drawing.height}`)
  svg.setAttribute('role', 'img')
  svg.setAttribute('aria-label', drawing.alternative)
  svg.replaceChildren(...drawing.shapes.map(elementOf))
}

function elementOf({ tag, attributes, text, inside }: Shape): SVGElement {
  const element = makeSvg(tag, attributes, ...inside.map(elementOf))
  if (text !== '') element.textContent = text
  return element
}

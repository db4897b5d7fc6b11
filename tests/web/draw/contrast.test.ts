import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'

/** Relative luminance and contrast as in WCAG 2.2; the three vectors below are from its worked examples (COMPUTED). */
function luminance(hex: string): number {
  const channel = (at: number) => {
    const share = Number.parseInt(hex.slice(at, at + 2), 16) / 255
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4
  }
  return 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
}

function contrast(a: string, b: string): number {
  const [dark, light] = [luminance(a), luminance(b)].sort((one, other) => one - other)
  return ((light ?? 0) + 0.05) / ((dark ?? 0) + 0.05)
}

const FOLDER = new URL('../../../web/style/', import.meta.url)
const STYLE = readdirSync(FOLDER)
  .map((file) => readFileSync(new URL(file, FOLDER), 'utf8'))
  .join('\n')

function colours(selector: string): Record<string, string> {
  const start = STYLE.indexOf(`${selector} {`)
  const block = STYLE.slice(start, STYLE.indexOf('}', start))
  return Object.fromEntries([...block.matchAll(/--(\w+): (#[0-9a-f]{6});/g)].map(([, name, hex]) => [name, hex]))
}

const GROUNDS = [
  ['light', colours(':root')],
  ['dark', colours(':root[data-ground="dark"]')],
] as const

test.each([
  ['#000000', '#ffffff', 21],
  ['#767676', '#ffffff', 4.5422],
  ['#123456', '#abcdef', 7.6973],
])('%s on %s has %f to 1', (a, b, ratio) => {
  expect(contrast(a, b)).toBeCloseTo(ratio, 3)
})

describe.each(GROUNDS)('%s ground', (_name, colour) => {
  const on = (name: string) => contrast(colour[name] ?? '#000000', colour.ground ?? '#000000')

  test('numbers and slot edges have at least 7 to 1, greyed digits too', () => {
    expect(on('ink')).toBeGreaterThanOrEqual(7)
    expect(on('mute')).toBeGreaterThanOrEqual(7)
  })

  test('the two hatches have at least 4.5 to 1', () => {
    expect(on('low')).toBeGreaterThanOrEqual(4.5)
    expect(on('high')).toBeGreaterThanOrEqual(4.5)
  })
})

test('there is no red and no green in the page', () => {
  const hues = [...STYLE.matchAll(/#[0-9a-f]{6}\b/g)].map(([hex]) => hueOf(hex)).filter((hue) => hue !== null)
  const redOrGreen = hues.filter((hue) => hue < 20 || hue > 340 || (hue > 75 && hue < 165))
  expect(redOrGreen).toEqual([])
  expect(hues.length).toBeGreaterThan(4)
})

/** Degrees, or null for a grey. */
function hueOf(hex: string): number | null {
  const [red = 0, green = 0, blue = 0] = [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16))
  const most = Math.max(red, green, blue)
  const range = most - Math.min(red, green, blue)
  if (range < 24) return null
  const sector =
    most === red ? (green - blue) / range : most === green ? 2 + (blue - red) / range : 4 + (red - green) / range
  return (sector * 60 + 360) % 360
}

import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { type Plot, svgOf, writePlots } from './plots.ts'
import { settlePlots } from './settle-plots.ts'

const plot: Plot = {
  title: 'volts < 2 & rising',
  says: 'a line and its end',
  xLabel: 's',
  yLabel: 'V',
  series: [
    {
      name: 'true',
      as: 'line',
      colour: '#000000',
      points: [
        [0, -3],
        [40, 1.7],
      ],
    },
    { name: 'captured', as: 'rings', colour: '#2c7a3f', points: [[22, 0.4]] },
  ],
  marks: [{ x: 22, word: 'settled', colour: '#2c7a3f' }],
  strips: [{ x: [22, 27], y: [0, 1], colour: '#2c7a3f' }],
}

test('words are escaped, and every point lies inside the frame', () => {
  const svg = svgOf(plot)
  expect(svg).toContain('volts &lt; 2 &amp; rising')
  const places = [...svg.matchAll(/c[xy]?="?([\d.-]+)"|points="([^"]+)"/g)]
    .flatMap((one) => (one[1] ?? one[2] ?? '').split(/[ ,]/))
    .map(Number)
  expect(places.length).toBeGreaterThan(6)
  for (const place of places) {
    expect(place).toBeGreaterThanOrEqual(0)
    expect(place).toBeLessThanOrEqual(640)
  }
})

test('scales end at round numbers: 0 to 40 s in tens, -3 to 2 V in ones', () => {
  const numerals = [...svgOf(plot).matchAll(/text-anchor="(middle|end)">(-?[\d.]+)</g)].map((one) => Number(one[2]))
  expect(numerals).toEqual([0, 10, 20, 30, 40, -3, -2, -1, 0, 1, 2])
})

test('one plot for each of seven families, eleven disturbances and the warm-up, written as SVG', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'trimwright-plots-'))
  try {
    await writePlots(join(folder, 'made'), settlePlots())
    const files = await readdir(join(folder, 'made'))
    expect(files).toHaveLength(19)
    const step = await readFile(join(folder, 'made', 'settle-step.svg'), 'utf8')
    expect(step).toMatch(/settled at [\d.]+ s/)
    expect(step).not.toContain('NaN')
  } finally {
    await rm(folder, { recursive: true })
  }
})

import { describe, expect, test } from 'vitest'
import { benchDrawing, benchSummary, seatsOf } from '../../../web/draw/bench-drawing.ts'
import type { Drawing, Shape } from '../../../web/draw/shape.ts'
import { place } from '../bench-places.ts'

const PLACES = [
  place('DC current', 'supply'),
  place('RF power', null),
  place('frequency', 'testset'),
  place('FM deviation', 'testset'),
  place('DC voltage', 'volts', { isolated: 'unknown' }),
  place('tone', 'oscillator', { link: 'down' }),
  place('SINAD', 'audio', { needed: false, link: 'typed' }),
]

const all = (shapes: readonly Shape[]): readonly Shape[] => shapes.flatMap((one) => [one, ...all(one.inside)])

/** The words of each seat, and the look of its box. */
function seats(drawing: Drawing): readonly { readonly look: unknown; readonly words: string }[] {
  return drawing.shapes
    .filter(({ attributes }) => attributes.class === 'seat')
    .map(({ inside }) => ({
      look: inside[0]?.attributes.class,
      words: inside.flatMap(({ tag, text }) => (tag === 'text' ? [text] : [])).join(' '),
    }))
}

describe('the seats of a bench', () => {
  test('an instrument with two functions has one seat; a missing one has an empty one', () => {
    expect(seatsOf(PLACES).map(({ name, lead, link }) => [name, lead, link])).toEqual([
      ['supply', 'plug', 'up'],
      ['testset', 'aerial', 'up'],
      ['volts', 'board', 'up'],
      ['oscillator', 'microphone', 'down'],
      ['audio', 'speaker', 'typed'],
      [null, 'aerial', 'none'],
    ])
  })

  test('each says what it is there for and how it is reached, by line and by words', () => {
    expect(seats(benchDrawing(PLACES))).toEqual([
      { look: 'used', words: 'aerial testset Frequency, FM deviation answers' },
      { look: 'empty', words: 'aerial nobody measures RF power yet: add an instrument to the bench file' },
      { look: 'used', words: 'plug supply DC current answers' },
      { look: 'used', words: 'test point volts DC voltage answers input isolated from its link? not known' },
      { look: 'plain', words: 'microphone oscillator tone for the microphone DOES NOT ANSWER' },
      { look: 'pale', words: 'speaker audio SINAD read by a person, typed no sheet asks for it' },
    ])
  })

  test('no lead goes to an empty place; one goes to every other', () => {
    const drawing = benchDrawing(PLACES)
    const leads = drawing.shapes
      .filter(({ attributes }) => attributes.class === 'seat')
      .map(({ inside }) =>
        inside.some(({ tag, attributes }) => tag === 'path' && /^M\d+ [\d.]+H\d+$/.test(String(attributes.d))),
      )
    expect(leads).toEqual([true, false, true, true, true, true])
  })

  test('a thing that nobody needs and nobody has leaves no place', () => {
    expect(seatsOf([place('SINAD', null, { needed: false })])).toEqual([])
  })
})

test('the line about the bench names what does not answer and what nobody is there for', () => {
  expect(benchSummary(PLACES)).toBe('5 instruments; oscillator does not answer; nobody for RF power')
  expect(benchSummary([place('RF power', 'power')])).toBe('1 instrument')
  expect(benchSummary([place('frequency', null), place('tone', null)])).toBe(
    '0 instruments; nobody for frequency, tone for the microphone',
  )
})

test('the same in sentences', () => {
  expect(benchDrawing([place('RF power', 'power'), place('frequency', null)]).alternative).toBe(
    'power: RF power; answers. nobody measures frequency yet: add an instrument to the bench file.',
  )
})

test('seats do not lie on each other, and the drawing is as high as the longer side', () => {
  const many = (['RF power', 'frequency', 'FM deviation', 'AM depth'] as const).map((what, n) =>
    place(what, `meter-${n}`),
  )
  const drawing = benchDrawing([...many, place('DC voltage', 'volts')])
  const boxes = drawing.shapes
    .filter(({ attributes }) => attributes.class === 'seat')
    .map(({ inside }) => inside[0]?.attributes)
    .filter((box) => Number(box?.x) < 400)
    .map((box) => ({ from: Number(box?.y), to: Number(box?.y) + Number(box?.height) }))
  expect(boxes.length).toBe(4)
  for (const [index, one] of boxes.entries()) expect(one.from).toBeGreaterThan(boxes[index - 1]?.to ?? 0)
  expect(drawing.height).toBeGreaterThanOrEqual(boxes.at(-1)?.to ?? Number.POSITIVE_INFINITY)
})

test('a name of a bench file is text, never an attribute, however it is written', () => {
  const evil = '"><img src=x onerror=alert(1)>'
  const shapes = all(benchDrawing([place('RF power', evil)]).shapes)
  const attributes = shapes.flatMap((one) => Object.values(one.attributes).map(String))
  expect(attributes.filter((value) => /[<>"&]/.test(value))).toEqual([])
  expect(shapes.some(({ text }) => text.includes('<img'))).toBe(true)
})

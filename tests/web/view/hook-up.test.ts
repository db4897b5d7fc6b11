import { expect, test } from 'vitest'
import type { StepView } from '../../../src/schema/messages/shown.ts'
import { hookUpDrawing } from '../../../web/draw/hook-up-shapes.ts'
import { atMost, type Drawing, type Shape } from '../../../web/draw/shape.ts'
import { broken, lettersIn } from '../../../web/measure/letters.ts'
import { hookUpOf } from '../../../web/view/hook-up.ts'
import { placesIn, toolIn } from '../../kit/job/places.ts'
import { CONTROL, place } from '../bench-places.ts'
import { step } from '../frame-parts.ts'

const BENCH = [
  place('DC current', 'supply'),
  place('RF power', 'power', { lossDb: 30.2 }),
  place('frequency', 'counter'),
  place('FM deviation', 'modmeter'),
  place('DC voltage', 'volts'),
  place('tone', 'oscillator'),
]

function hookUp(of: StepView, places = BENCH) {
  const found = hookUpOf(of, places)
  if (found === null) throw new TypeError('the step is not hooked up')
  return found
}

const all = (shapes: readonly Shape[]): readonly Shape[] => shapes.flatMap((one) => [one, ...all(one.inside)])
const wordsIn = (drawing: Drawing) => all(drawing.shapes).flatMap(({ text }) => (text === '' ? [] : [text]))

/** The looks of the parts of one named group, in order. */
function looksIn(drawing: Drawing, name: string): readonly unknown[] {
  const found = drawing.shapes.find(({ attributes }) => attributes.class === name)
  return (found?.inside ?? []).flatMap(({ attributes, tag }) => (tag === 'text' ? [] : [attributes.class]))
}

test('a control voltage: prod on the named point with the meter that reads it, common on the strip, tool through the lid', () => {
  const found = hookUp(CONTROL)
  expect(found.prod).toEqual({
    meter: { name: 'volts', what: 'DC voltage', used: true },
    place: 'T1',
    at: 'board',
    common: 'earth strip ES',
    strip: true,
    stripName: 'ES',
  })
  expect(found).toMatchObject({
    side: 'solder',
    blade: false,
    floating: true,
    tool: "non-metal, through the lid's hole",
  })
  expect(found.aerial).toMatchObject({ used: false, lossDb: 30.2 })
  expect(found.aerial.meters.map(({ name, used }) => [name, used])).toEqual([
    ['power', false],
    ['counter', false],
    ['modmeter', false],
  ])
  expect(found.microphone).toMatchObject({ holds: 'untouched', oscillator: 'oscillator' })
  expect([...found.said].sort()).toEqual(['common', 'prod', 'set', 'side', 'tool'])
})

test('what the step does not use is drawn pale, what it uses is heavy, and both are the same shapes', () => {
  const probed = hookUpDrawing(hookUp(CONTROL))
  const keyed = hookUpDrawing(
    hookUp(step({ reads: [{ quantity: 'RF power', instrument: 'power' }], where: [], tone: '' })),
  )
  expect(new Set(looksIn(probed, 'aerial'))).toEqual(new Set(['pale']))
  expect(looksIn(probed, 'prod')).toContain('used')
  expect(looksIn(probed, 'prod')).not.toContain('pale')
  expect(new Set(looksIn(keyed, 'prod'))).toEqual(new Set(['pale']))
  expect(looksIn(keyed, 'aerial').filter((look) => look === 'used').length).toBeGreaterThanOrEqual(5)
  expect(looksIn(keyed, 'aerial').length).toBe(looksIn(probed, 'aerial').length)
  expect(wordsIn(keyed)).toEqual(expect.arrayContaining(['load + pad 30.2 dB', 'power', 'RF power', 'PW']))
})

test('NOT TO EARTH stands on the case of a set that floats, and on no other', () => {
  const floating = hookUpDrawing(hookUp(CONTROL))
  const earthed = hookUpDrawing(hookUp({ ...CONTROL, floating: false }))
  expect(wordsIn(floating)).toContain('NOT TO EARTH')
  expect(wordsIn(earthed)).not.toContain('NOT TO EARTH')
  expect(floating.alternative).toContain('The case is not to be joined to earth.')
  expect(earthed.alternative).not.toContain('earth.')
})

test.each([
  ['oscillator lead off', 'empty'],
  ['oscillator in, microphone unplugged', 'oscillator'],
  ["the set's own", 'own'],
  ["the set's own microphone, oscillator out", 'other'],
  ["unplug the set's own, oscillator in", 'other'],
  ['oscillator shorted', 'shorted'],
  ['unplugged', 'empty'],
  ['a plug with 600 ohm', 'other'],
  ['Unplug the oscillator', 'other'],
] as const)('in the microphone socket "%s" is drawn as: %s', (place, holds) => {
  const found = hookUp(step({ where: placesIn({ microphone: place }) }))
  expect(found.microphone).toMatchObject({ holds, words: place })
  expect(wordsIn(hookUpDrawing(found))).toContain(place)
})

test('a tone with no word about the socket comes from the oscillator', () => {
  expect(hookUp(step({ where: [], tone: '1 kHz, 30 mV' })).microphone.holds).toBe('oscillator')
  expect(hookUp(step({ where: [], tone: '' })).microphone.holds).toBe('untouched')
})

test('each filling of the socket is another picture', () => {
  const places = ['oscillator lead off', 'oscillator in', "the set's own", 'oscillator shorted', 'a plug']
  const pictures = places.map((place) => {
    const drawing = hookUpDrawing(hookUp(step({ where: placesIn({ microphone: place }) })))
    const part = drawing.shapes.find(({ attributes }) => attributes.class === 'microphone')
    return JSON.stringify(part?.inside.filter(({ tag }) => tag !== 'text'))
  })
  expect(new Set(pictures).size).toBe(places.length)
})

test('the plug of the set is probed at the plug, not on the board', () => {
  expect(hookUp({ ...CONTROL, where: placesIn({ prod: { on: 'plug' } }) }).prod).toMatchObject({
    at: 'plug',
    place: 'plug',
  })
  expect(hookUp({ ...CONTROL, where: placesIn({ prod: 'supply terminals' }) }).prod.at).toBe('plug')
})

test('on the component side the meter stands at the other hand', () => {
  const across = (side: string) => {
    const drawing = hookUpDrawing(hookUp({ ...CONTROL, where: placesIn({ prod: 'T1', side }) }))
    const part = drawing.shapes.find(({ attributes }) => attributes.class === 'prod')
    return Number(part?.inside.find(({ text }) => text === 'volts')?.attributes.x)
  }
  expect(across('solder side')).toBeGreaterThan(340)
  expect(across('component side')).toBeLessThan(340)
  expect(across('component')).toBeLessThan(340)
})

test('one box with several functions is drawn once, and says what this step reads with it', () => {
  const box = [place('RF power', 'testset'), place('frequency', 'testset'), place('FM deviation', 'testset')]
  const reads = [{ quantity: 'RF power', instrument: 'testset' } as const]
  expect(hookUp(step({ reads }), box).aerial.meters).toEqual([{ name: 'testset', what: 'RF power', used: true }])
  expect(hookUp(step({ reads: [] }), box).aerial.meters).toEqual([
    { name: 'testset', what: 'RF power, Frequency, FM deviation', used: false },
  ])
})

test('where nobody measures what the step reads, the place is dashed and says nobody', () => {
  const reads = [{ quantity: 'AM depth', instrument: null } as const]
  const found = hookUp(step({ reads, where: [] }), [place('AM depth', null)])
  expect(found.aerial.meters).toEqual([{ name: null, what: 'AM depth', used: true }])
  const drawing = hookUpDrawing(found)
  expect(looksIn(drawing, 'aerial')).toContain('empty')
  expect(wordsIn(drawing)).toContain('nobody')
})

test('a step with nothing to hook up has no drawing', () => {
  expect(hookUpOf(step({ reads: [], where: [] }), BENCH)).toBeNull()
})

test('words that do not fit whole are shortened in the drawing and stay in the rows beside it', () => {
  const place = 'the bare strip that runs along the rear edge of the board, left of the output coil'
  const found = hookUp({ ...CONTROL, where: placesIn({ prod: 'T1', common: place }) })
  expect(found.said).toContain('prod')
  expect(found.cut).toEqual(['common'])
  expect(wordsIn(hookUpDrawing(found)).some((words) => words.endsWith('…'))).toBe(true)
})

test('names and places are text wherever they go: no attribute and no markup is made of them', () => {
  const evil = '"><script>alert(1)</script>&'
  const places = BENCH.map((one) => ({ ...one, instrument: one.instrument === null ? null : evil }))
  const where = placesIn({ prod: evil, common: evil, side: evil, set: evil, tool: evil, microphone: evil })
  const named = step({ adjuster: evil, tool: toolIn(evil), where, reads: [{ quantity: 'RF power', instrument: evil }] })
  const shapes = all(hookUpDrawing(hookUp(named, places)).shapes)
  const attributes = shapes.flatMap((one) => Object.values(one.attributes).map(String))
  expect(attributes.filter((value) => /[<>"&]/.test(value))).toEqual([])
  expect(shapes.map(({ text }) => text).join('')).toContain('<script>')
})

test('the drawing is told in sentences too', () => {
  expect(hookUpDrawing(hookUp(CONTROL)).alternative).toBe(
    "Set: upright in the holder. volts: prod on T1, common on earth strip ES, solder side. Tool at VK: non-metal, through the lid's hole. The case is not to be joined to earth.",
  )
})

test('no shape of any of these leaves the drawing', () => {
  for (const one of [CONTROL, step({}), step({ adjuster: '', where: placesIn({ prod: 'plug' }) })]) {
    const { height, shapes, width } = hookUpDrawing(hookUp(one))
    for (const { attributes } of all(shapes)) {
      const { x = 0, y = 0, width: wide = 0, height: high = 0 } = attributes
      expect(Number(x)).toBeGreaterThanOrEqual(0)
      expect(Number(x) + Number(wide)).toBeLessThanOrEqual(width)
      expect(Number(y) + Number(high)).toBeLessThanOrEqual(height)
    }
  }
})

test.each([
  ['through the lid', 9, ['through', 'the lid']],
  ['test-set-at-the-left', 9, ['test-set-', 'at-the-', 'left']],
  ['abcdefghijkl', 5, ['abcde', 'fghij', 'kl']],
  ['', 5, []],
])('"%s" in lines of %i letters', (text, letters, lines) => {
  expect(broken(text, letters)).toEqual(lines)
})

test('what is left out of too many lines shows as an ellipsis, and bold type has fewer letters', () => {
  expect(atMost(['one', 'two', 'three'], 2)).toEqual(['one', 'tw…'])
  expect(lettersIn(300, { weight: 'bold' })).toBeLessThan(lettersIn(300))
})

test('"unsoldered side" is not the solder side: no side is drawn, and the words stay in the rows beside it', () => {
  const found = hookUp({ ...CONTROL, where: placesIn({ prod: 'T1', side: 'unsoldered side' }) })
  expect(found.side).toBe('')
  expect(found.said).toEqual(['prod', 'tool'])
  expect(wordsIn(hookUpDrawing(found)).join(' ')).not.toContain('solder')
})

test('a prod that is placed in words only touches nothing in the drawing; on the board its point does', () => {
  const dots = (prod: unknown) => {
    const drawing = hookUpDrawing(hookUp({ ...CONTROL, where: placesIn({ prod }) }))
    const part = drawing.shapes.find(({ attributes }) => attributes.class === 'prod')
    return part?.inside.filter(({ tag }) => tag === 'circle').length
  }
  expect(dots('T1')).toBe(1)
  expect(dots({ on: 'board', words: 'the can nearest to the plug' })).toBe(1)
  expect(dots('not at the plug')).toBe(0)
})

test.each([
  ['small blade', undefined, true],
  [{ kind: 'non-metal blade' }, undefined, true],
  ['no blade, a hexagon', undefined, false],
  ['non-metal', { kind: 'ceramic blade' }, true],
  ['small blade', "through the lid's hole", true],
  ['small blade', { kind: 'hexagon' }, false],
])('the tool %o, in the step %o, is drawn as a blade: %s', (own, inStep, blade) => {
  const where = placesIn(inStep === undefined ? {} : { tool: inStep })
  expect(hookUp(step({ tool: toolIn(own), where })).blade).toBe(blade)
})

test('a tool that the step names again is said once, and one that it adds to is said with it', () => {
  const told = (tool: unknown) => hookUp({ ...CONTROL, where: placesIn({ tool }) }).tool
  expect(told('non-metal')).toBe('non-metal')
  expect(told({ kind: 'non-metal' })).toBe('non-metal')
  expect(told("through the lid's hole")).toBe("non-metal, through the lid's hole")
})

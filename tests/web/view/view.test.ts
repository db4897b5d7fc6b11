import { describe, expect, test } from 'vitest'
import { type LiveState, STATES } from '../../../src/schema/messages/shown.ts'
import { type Hatch, type PageFacts, type Screen, STEERING, viewOf } from '../../../web/view/view.ts'
import { placesIn } from '../../kit/job/places.ts'
import { captured, frame, keyed, MADE_MS, PEAK_SLOT, peak, reading, step, supply } from '../frame-parts.ts'
import { FIXTURES, WATCHING } from '../frames.ts'

const NOW_MS = MADE_MS + 50

const of = (state: LiveState, page?: Partial<PageFacts>) => viewOf(FIXTURES[state], NOW_MS, { ...STEERING, ...page })

describe('a picture for each state', () => {
  test.each(STATES)('%s', (state) => {
    expect(viewOf(FIXTURES[state], NOW_MS)).toMatchSnapshot()
  })

  test('just watching a carrier', () => {
    expect(viewOf(WATCHING, NOW_MS)).toMatchSnapshot()
  })
})

const SHOWN: readonly [LiveState, Screen, Hatch, string, string][] = [
  ['idle', 'idle', 'none', '', ''],
  ['read step', 'step', 'none', 'Ready', ''],
  ['supply moving', 'call', 'none', '', '14.21 V'],
  ['action', 'call', 'none', 'Done', 'PW fully open'],
  ['key now', 'call', 'none', '', 'KEY NOW'],
  ['release key', 'call', 'none', '', 'RELEASE'],
  ['rest', 'call', 'none', '', 'REST'],
  ['hold-off', 'gauge', 'none', '', '3.21 W'],
  ['settling', 'gauge', 'none', 'Capture', '3.68 W'],
  ['far', 'gauge', 'above', '', '5.05 W'],
  ['near', 'gauge', 'below', '', '3.45 W'],
  ['in', 'gauge', 'in', 'Capture', '3.86 W'],
  ['steady', 'gauge', 'in', 'Capture', '3.86 W'],
  ['climb', 'gauge', 'none', '', '+1.24 dB'],
  ['passed over', 'gauge', 'below', '', '−0.23 dB'],
  ['return', 'gauge', 'below', '', '−0.10 dB'],
  ['at best', 'gauge', 'in', 'Capture', '−0.02 dB'],
  ['nudge', 'gauge', 'none', '', '5.58 W'],
  ['highest', 'gauge', 'none', 'Capture', '1.42 kHz'],
  ['warming', 'call', 'none', 'Warm already', 'Key again in 42 s'],
  ['type in', 'gauge', 'none', '', '3.30 W'],
  ['settings', 'settings', 'none', 'Ready', ''],
  ['question', 'call', 'none', 'Read again', 'Is the oscillator lead in? Is the set in FM?'],
  ['captured', 'gauge', 'in', 'Next', '3.85 W'],
  ['wrong channel', 'call', 'none', '', 'Wrong channel'],
  ['no effect', 'call', 'none', 'Note it, go on', 'Hardly any effect'],
  ['cannot reach', 'call', 'none', 'Note it, go on', 'Cannot be reached'],
  ['over range', 'gauge', 'none', '', 'over range'],
  ['old', 'gauge', 'old', '', '4.31 W'],
  ['link lost', 'gauge', 'old', '', '4.31 W'],
  ['paused', 'call', 'none', 'Go on', 'Paused'],
  ['stopped', 'call', 'stop', 'Go on', 'SUPPLY OFF'],
  ['finished', 'finished', 'none', 'Close the job', ''],
]

describe('what is biggest, and what the one button does', () => {
  test.each(SHOWN)('%s: screen %s, frame %s, button "%s", biggest "%s"', (state, screen, hatch, main, biggest) => {
    const view = of(state)
    const number = view.number === null ? '' : `${view.number.head}${view.number.tail} ${view.number.unit}`.trim()
    expect(view.screen).toBe(screen)
    expect(view.hatch).toBe(hatch)
    expect(view.main?.words ?? '').toBe(main)
    expect(view.call?.big ?? number).toBe(biggest)
  })

  test('a value that is asked about: the main button reads it again, the small one keeps it', () => {
    const { main, more, call } = of('question')
    expect(main).toEqual({ request: 'again', words: 'Read again' })
    expect(more).toEqual([{ request: 'keep', words: 'Keep it' }])
    expect(call?.second).toBe('0.03 kHz, the step expects 1.600 .. 1.950 kHz')
  })

  test('the table above has every state once', () => {
    expect(SHOWN.map(([state]) => state).sort()).toEqual([...STATES].sort())
  })
})

describe('a reading that is too old', () => {
  const late = (state: LiveState, afterMs: number) => viewOf(FIXTURES[state], MADE_MS - 100 + afterMs)

  test.each<LiveState>(['far', 'near', 'in', 'steady', 'climb', 'passed over', 'return', 'at best', 'settling'])(
    'turns %s into old one millisecond after its 900 ms, though no frame came',
    (state) => {
      expect(late(state, 900).hatch).not.toBe('old')
      const view = late(state, 901)
      expect(view).toMatchObject({ state: 'old', hatch: 'old', guide: { words: 'Do not turn' } })
      expect(view.number).toMatchObject({ struck: true, age: '0.9 s old' })
      expect(view.gauge?.peg?.fill).toBe('old')
    },
  )

  test('leaves a captured value alone', () => {
    expect(late('captured', 60_000)).toMatchObject({ state: 'captured', hatch: 'in' })
  })

  test('shows its age in the strip, loud once it is old', () => {
    const age = (view: ReturnType<typeof late>) => view.strip.find(({ id }) => id === 'reading')
    expect(age(late('near', 240))).toEqual({ id: 'reading', label: 'reading', value: '0.2 s', loud: false })
    expect(age(late('near', 12_400))).toEqual({ id: 'reading', label: 'reading', value: '12 s', loud: true })
  })

  test('a page without the service says so and tells the hand to stop', () => {
    const view = of('near', { connected: false })
    expect(view).toMatchObject({ hatch: 'old', notice: 'no word from the bench computer', main: null })
    expect(view.guide).toEqual({ words: 'Do not turn', second: 'no word from the bench computer', loud: false })
    expect(view.number?.struck).toBe(true)
  })
})

describe('no reading is invented', () => {
  test.each(['over range', 'under range', 'no signal'])('"%s" is a word, not a number, and has no unit', (word) => {
    const view = viewOf(
      frame({ state: 'over range', reading: reading({ value: null, word, digits: '9.90' }), peg: null }),
      NOW_MS,
    )
    expect(view.number).toMatchObject({ head: '', tail: word, unit: '', word: true })
    expect(JSON.stringify(view)).not.toContain('9.90')
  })

  test('before the first reading it says so', () => {
    const view = viewOf(frame({ state: 'hold-off', reading: null, peg: null }), NOW_MS)
    expect(view.number).toMatchObject({ tail: 'no reading', word: true })
    expect(view.strip.find(({ id }) => id === 'reading')?.value).toBe('none yet')
  })

  test('a supply that cannot be read is "not read", one that is off is "off"', () => {
    const plug = (parts: Parameters<typeof supply>[0]) =>
      viewOf(frame({ supply: supply(parts) }), NOW_MS).strip.find(({ id }) => id === 'plug')?.value
    expect(plug({ plugVolts: null, output: 'unknown' })).toBe('not read')
    expect(plug({ plugVolts: 0.02, output: 'off' })).toBe('off')
    expect(plug({ plugVolts: 13.8 })).toBe('13.80 V')
    expect(plug({ plugVolts: -0.001 })).toBe('0.00 V')
    expect(plug({ plugVolts: -0.2 })).toBe('−0.20 V')
  })
})

describe('numbers', () => {
  const parts = (digits: string) => {
    const number = viewOf(frame({ reading: reading({ digits }) }), NOW_MS).number
    return [number?.head, number?.tail]
  }
  test.each([
    ['3.85', '', '3.85'],
    ['13.802', '', '13.802'],
    ['-12.5', '', '−12.5'],
    ['27.204987', '27.20', '4\u202f987'],
    ['156.7250', '156.', '7250'],
  ])('%s is split into "%s" and "%s"', (digits, head, tail) => {
    expect(parts(digits)).toEqual([head, tail])
  })

  test('the held number is drawn in place of the frame number, greyed from its flicker on, thin spaces counted', () => {
    const view = viewOf(WATCHING, NOW_MS, { ...STEERING, held: { text: '27.205181', dimFrom: 8 } })
    expect(view.number).toMatchObject({ head: '27.20', tail: '5\u202f181', dimFrom: 9 })
  })

  test('a second reading of the step and the reading behind the dB stand beside it', () => {
    expect(of('steady').beside).toEqual(['1.24 A'])
    expect(of('passed over').beside).toEqual(['5.41 W'])
  })
})

describe('the key-down fuse', () => {
  test.each([
    [0, 0, ''],
    [10.4, 0, ''],
    [10.5, 1, '5 s left'],
    [13.5, 2, '2 s left'],
    [15, 3, 'release the key'],
    [17, 3, 'release the key'],
  ])('after %f of 15 s is drawn at level %i and says "%s"', (seconds, level, words) => {
    const view = viewOf(frame({ key: keyed(seconds) }), NOW_MS)
    expect(view.fuse).toEqual({ share: Math.min(1, seconds / 15), level, words })
    expect(view.guide.loud).toBe(words !== '')
  })

  test('is not there while the key is up; the strip says receive', () => {
    const view = of('captured')
    expect(view.fuse).toBeNull()
    expect(view.strip.find(({ id }) => id === 'set')).toEqual({
      id: 'set',
      label: 'the set',
      value: 'receive',
      loud: false,
    })
  })

  test('the transmitter shows in words, loud', () => {
    const set = of('near').strip.find(({ id }) => id === 'set')
    expect(set).toEqual({ id: 'set', label: 'TRANSMIT', value: '7 s of 15', loud: true })
  })
})

describe('who steers', () => {
  test('a page that does not steer shows the gauge, says so, and offers only to ask for it', () => {
    const view = of('steady', { steering: 'another' })
    expect(view).toMatchObject({ notice: 'Another page steers', main: null, aside: 'device' })
    expect(view.more).toEqual([{ request: 'steer', words: 'Steer from here' }])
    expect(of('steady', { steering: 'another', asked: true })).toMatchObject({
      more: [],
      notice: 'Another page steers: asked; the other page has to agree',
    })
  })

  test('the page that steers may hand over when another asks', () => {
    expect(of('near', { asked: true })).toMatchObject({
      more: [{ request: 'hand over', words: 'Hand over' }],
      notice: 'Another page wants to steer',
    })
  })

  test('while nothing is watched a page that does not steer shows no form', () => {
    expect(of('idle', { steering: 'another' })).toMatchObject({ screen: 'call', call: { big: 'Another page steers' } })
    expect(of('idle', { steering: 'nobody' })).toMatchObject({ call: { big: 'No page steers' } })
  })
})

describe('other facts', () => {
  test('SIMULATED is on every picture of a simulated bench and on none of a real one', () => {
    const banners = STATES.map((state) => of(state).banner)
    expect(banners).toEqual(STATES.map(() => 'SIMULATED'))
    expect(viewOf(frame({ bench: { name: 'Workshop 2', simulated: false } }), NOW_MS).banner).toBe('')
  })

  test('the strip has step, transmitter, plug, current and age in every state', () => {
    const ids = STATES.map((state) =>
      of(state)
        .strip.map(({ id }) => id)
        .join(' '),
    )
    expect(ids).toEqual(STATES.map(() => 'step set plug current reading'))
  })

  test('the sheet of a step shows where hands and leads go, the channel with the computed middle, supply and cautions', () => {
    const sheet = of('read step').sheet
    expect(sheet).toMatchObject({ label: 'PW', technique: 'set to', target: ['3.60 .. 4.00 W', 'aim 3.85 W'] })
    expect(sheet?.rows).toEqual([
      { what: 'tool', value: 'flat, non-metal' },
      { what: 'set', value: 'upright in the holder' },
      { what: 'microphone', value: 'unplugged' },
      { what: 'channel', value: '20 (middle of the bands: 19)' },
      { what: 'mode', value: 'transmit, FM, no tone' },
      { what: 'supply', value: '15.60 V' },
    ])
    expect(sheet?.cautions).toHaveLength(5)
  })

  test('a captured value outside the band keeps the hatch of its side', () => {
    const low = frame({ state: 'captured', captured: [captured({ verdict: 'low', digits: '3.41' })] })
    expect(viewOf(low, NOW_MS).hatch).toBe('below')
    expect(viewOf({ ...low, captured: [captured({ verdict: 'high' })] }, NOW_MS).hatch).toBe('above')
    expect(viewOf(low, NOW_MS).number?.tail).toBe('3.41')
  })

  test('an earlier reading stays in the table and says so', () => {
    const rows = of('finished').finished?.table.filter(({ row }) => row === 'A12')
    expect(rows?.map(({ value, label }) => `${value} ${label}`)).toEqual([
      '3.92 W earlier reading, kept',
      '3.85 W settled',
    ])
  })

  test('the wrong channel is told with both numbers, and only once', () => {
    const call = { big: 'Wrong channel', second: 'the set is on 19, the step wants 20', third: '' }
    expect(of('wrong channel').call).toMatchObject(call)
    expect(viewOf({ ...FIXTURES['wrong channel'], because: '' }, NOW_MS).call).toMatchObject(call)
  })

  test('of several values the one that is not accepted is shown, without a tick', () => {
    const low = captured({ number: 4, verdict: 'low', digits: '2.90', accepted: false, title: 'Power (channel 1)' })
    const view = viewOf({ ...FIXTURES.captured, captured: [low, captured()], because: 'channel 1' }, NOW_MS)
    expect(view).toMatchObject({ hatch: 'below', head: { tick: false }, number: { tail: '2.90' } })
    expect(view.guide.second).toBe('channel 1')
  })

  test('one in the band, but too near its edge for the rule card, is neither ticked off nor called in', () => {
    const near = { ...FIXTURES.captured, captured: [captured({ accepted: false, answer: 'in but touching' })] }
    expect(viewOf(near, NOW_MS)).toMatchObject({ hatch: 'none', head: { tick: false } })
  })

  test('as found it is a reading like any other; what another pass of the step has kept is not shown', () => {
    const found = captured({ verdict: 'low', digits: '2.90', accepted: false, pass: 'found' })
    const here = { ...FIXTURES.captured, step: step({ pass: 'found' }), captured: [captured(), found] }
    expect(viewOf(here, NOW_MS)).toMatchObject({ hatch: 'below', head: { tick: true }, number: { tail: '2.90' } })
  })

  test('captured names the step that comes next', () => {
    expect(of('captured').guide).toMatchObject({ words: 'Captured', second: 'next: A13, Power at 13.8 V' })
  })

  test('what comes next is looked for from the pass in hand, not from the same step in another pass', () => {
    const line = { id: 'power.found', step: 'power', row: 'A3', title: 'Power', result: '' }
    const between = {
      ...line,
      id: 'plug',
      step: 'plug',
      row: 'A4',
      title: 'Plug',
      pass: 'work',
      state: 'to do',
    } as const
    const steps = [
      { ...line, pass: 'found', state: 'done' } as const,
      between,
      { ...line, id: 'power', pass: 'work', state: 'done' } as const,
      { ...between, id: 'reserve', step: 'reserve', row: 'A13' },
    ]
    const second = (pass: 'found' | 'work') =>
      viewOf({ ...FIXTURES.captured, step: step({ id: 'power', pass }), captured: [captured({ pass })], steps }, NOW_MS)
        .guide.second
    expect([second('found'), second('work')]).toEqual(['next: A4, Plug', 'next: A13, Plug'])
  })

  test('under KEY NOW stands only what the guidance adds', () => {
    expect(of('key now').call).toMatchObject({ second: 'tool in PW', third: 'on channel 20, for 15 s at most' })
  })

  test('no call says the same thing twice', () => {
    const twice = STATES.flatMap((state) => {
      const call = of(state).call
      const lines = [call?.over, call?.big, call?.second, call?.third].filter((line) => (line ?? '') !== '')
      return new Set(lines.map((line) => line?.toLowerCase())).size === lines.length ? [] : [state]
    })
    expect(twice).toEqual([])
  })

  test('in the band but not at the aim, an arrow says which way; at the aim none does', () => {
    const inside = frame({ state: 'in', peg: { e: 0.7, halfE: 0.1, ragged: 0, drop: 0 } })
    const arrow = (way: 'up' | 'down' | 'hold') =>
      viewOf({ ...inside, guide: { words: 'In.', way, hands: 'on' } }, NOW_MS).gauge?.arrow
    expect([arrow('up'), arrow('down'), arrow('hold')]).toEqual(['right', 'left', ''])
  })

  test('once captured inside, a reading that falls away with the key is not drawn; one captured outside stays', () => {
    const away = { e: -19, halfE: 0.4, ragged: 0, drop: 0 }
    expect(viewOf({ ...FIXTURES.captured, peg: away }, NOW_MS).gauge).toMatchObject({ peg: null, bolt: 1 })
    const low = { ...FIXTURES.captured, peg: away, captured: [captured({ verdict: 'low' })] }
    expect(viewOf(low, NOW_MS).gauge?.peg?.depth).toBe(0)
  })

  test('a meter that is erratic inside the band says so', () => {
    const erratic = { share: 0, seconds: 2, word: 'Erratic: check leads and prod' }
    expect(viewOf({ ...FIXTURES.in, key: FIXTURES.idle.key, settle: erratic }, NOW_MS).guide.second).toBe(erratic.word)
  })

  test('a tool named with the place is not named again', () => {
    const where = placesIn({ tool: 'through the lid' })
    const rows = viewOf({ ...FIXTURES['read step'], step: step({ where }) }, NOW_MS).sheet?.rows
    expect(rows?.filter(({ what }) => what === 'tool')).toEqual([{ what: 'tool', value: 'through the lid' }])
  })

  test('the frame fills in the first climb, half at 2 dB, and never to the top', () => {
    const rise = (db: number) => viewOf({ ...FIXTURES.climb, peak: peak({ fromStartDb: db }) }, NOW_MS).rise
    expect([rise(-1), rise(0), rise(2)]).toEqual([0, 0, 0.5])
    expect(rise(40)).toBeLessThan(1)
    expect(of('passed over').rise).toBeNull()
  })

  test('the wrong way in a first climb shows as below', () => {
    const back = { ...FIXTURES.climb, guide: { words: 'other way', way: 'back', hands: 'on' } } as const
    expect(viewOf(back, NOW_MS)).toMatchObject({ hatch: 'below', rise: null })
  })

  test('hands off is said under the guidance by what it wants of the hands, whatever its words', () => {
    const still = frame({
      state: 'steady',
      slot: PEAK_SLOT,
      peg: null,
      guide: { words: 'wait', way: 'hold', hands: 'off' },
    })
    expect(viewOf(still, NOW_MS).guide.second).toBe('hands off the tool')
    const said = (hands: 'on' | 'off') => ({ ...still, guide: { ...still.guide, words: 'a handy tool', hands } })
    expect(viewOf(said('off'), NOW_MS).guide.second).toBe('hands off the tool')
    expect(viewOf(said('on'), NOW_MS).guide.second).toBe('')
  })

  test('a step that turns nothing has "check" where the adjuster stands', () => {
    const check = frame({ step: step({ adjuster: '', technique: 'check', title: 'Power at 13.8 V' }) })
    expect(viewOf(check, NOW_MS).head).toMatchObject({ label: 'check', where: 'Power at 13.8 V' })
    const set = frame({ step: step({ adjuster: '', technique: 'set' }) })
    expect(viewOf(set, NOW_MS).head.label).toBe('supply')
  })
})

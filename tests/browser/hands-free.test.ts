import type { Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from 'vitest'
import { type Captured, type LiveFrame, type Mark, STATES } from '../../src/schema/messages/shown.ts'
import { captured, frame, step } from '../web/frame-parts.ts'
import { FIXTURES } from '../web/frames.ts'
import { openStage, type Stage } from './stage.ts'

/** 20 mm at 96 px an inch. */
const KNUCKLE_PX = 75.59

let stage: Stage
let page: Page
let service: Stage['service']

beforeAll(async () => {
  stage = await openStage()
  service = stage.service
}, 60_000)
afterAll(() => stage.close())

const open = async (width = 1280, height = 800) => {
  service.asked.length = 0
  stage.complaints.length = 0
  service.answerWith(() => ({ ok: true, words: '' }))
  page = await stage.openPage({ width, height })
}
/** The same page once more, with nothing asked and no list over the gauge. */
const again = async () => {
  await show(FIXTURES.idle)
  service.send({ kind: 'role', steering: 'you', asked: false })
  service.asked.length = 0
}
const closed = async () => {
  await page.close()
  expect(stage.complaints).toEqual([])
}

const show = (shown: LiveFrame) => stage.show(page, shown)
const button = (name: string | RegExp) => page.getByRole('button', { name })
const note = () => page.locator('.hands-note').textContent()
/** Requests without the id that the page gave them. */
const asked = () =>
  service.asked.map((one) => Object.fromEntries(Object.entries(one).filter(([name]) => name !== 'id')))

/**
 * A foot on a key for so long. The times are those that the events say, so that a busy machine stretches no press; each begins
 * well after the one before.
 */
const foot = (key: string, heldMs: number) =>
  page.evaluate(
    ([name, ms]) => {
      const beforeMs = Number(document.body.dataset.footMs ?? 0)
      const downMs = Math.max(performance.now(), beforeMs + 200)
      for (const [kind, timeStamp] of [
        ['keydown', downMs],
        ['keyup', downMs + ms],
      ] as const) {
        const event = new KeyboardEvent(kind, { key: name, bubbles: true, cancelable: true })
        Object.defineProperty(event, 'timeStamp', { value: timeStamp })
        ;(document.activeElement ?? document).dispatchEvent(event)
      }
      document.body.dataset.footMs = String(downMs + ms)
    },
    [key, heldMs] as const,
  )

/** A key that is held in truth, until it is let go: for what happens meanwhile. */
const hold = async (key: string) => {
  // 150 ms after the last press another one counts
  await page.waitForFunction(() => performance.now() > Number(document.body.dataset.footMs ?? 0) + 200)
  await page.keyboard.down(key)
  return async () => {
    await page.keyboard.up(key)
    await page.evaluate(() => {
      document.body.dataset.footMs = String(performance.now())
    })
  }
}

/** A press of less than half a second in truth: done again, from the beginning, where a busy machine stretched it. */
const short = async (press: () => Promise<void>) => {
  for (let tries = 0; tries < 10; tries += 1) {
    const fromMs = performance.now()
    await press()
    if (performance.now() - fromMs < 500) return
    await page.waitForTimeout(1500) // whatever a long press asks for has been asked
    await again()
  }
  throw new Error('this machine stretches every press')
}

/** The newest capture can still be taken back for five seconds. */
const takable = (one: LiveFrame): LiveFrame => ({
  ...one,
  offers: one.offers.includes('take back') ? one.offers : [...one.offers, 'take back'],
  takeBackUntilMs: one.atMs + 5000,
})
const OFFERED: LiveFrame = takable({ ...FIXTURES.captured, offers: ['take back', 'next', 'stop'] })
const MARK: Mark = { number: 1, at: '2026-11-25T21:14:05.000Z', title: 'Transmit power', reading: '3.85 W', words: '' }
const TAKEN: Captured = { ...captured({ number: 5, latest: false }), takenBack: true }

describe('one pedal', () => {
  beforeAll(() => open())
  beforeEach(again)
  afterAll(closed)

  test('a field without a note of its own is told of for as long as it has the cursor', async () => {
    await show(FIXTURES.settings)
    await page.getByLabel('brightness, left', { exact: true }).focus()
    await expect.poll(note).toContain('a text field has the cursor')
    await page.getByLabel('brightness, left', { exact: true }).blur()
    await expect.poll(note).toBe('')
  })

  test('a long press takes the last capture back for as long as that is offered, and says so while it is held', async () => {
    await show(OFFERED)
    const letGo = await hold('PageDown')
    await page.getByText('Hold on: take it back').waitFor()
    await expect.poll(asked, { timeout: 5_000 }).toEqual([{ kind: 'take back' }])
    await letGo()
    await expect.poll(note).toBe('')
    expect(asked()).toEqual([{ kind: 'take back' }])
  })

  test('of a value that is asked about a short press reads again, and only a long one keeps it', async () => {
    await show(FIXTURES.question)
    await foot('PageDown', 200)
    await expect.poll(asked).toEqual([{ kind: 'again' }])
    await again()
    await show(FIXTURES.question)
    const letGo = await hold('PageDown')
    await page.getByText('Hold on: keep it as it is').waitFor()
    await expect.poll(asked, { timeout: 5_000 }).toEqual([{ kind: 'keep' }])
    await letGo()
    expect(asked()).toEqual([{ kind: 'keep' }])
  })

  test('one that is neither short nor long does nothing, least of all go on', async () => {
    await show(OFFERED)
    await foot('PageDown', 800)
    await page.getByText('Neither short nor long: press again.').waitFor()
    expect(asked()).toEqual([])
  })

  test('what a press means is settled as it begins', async () => {
    await show(FIXTURES.steady)
    const marked = await hold('PageDown')
    await show(OFFERED)
    await expect.poll(asked, { timeout: 5_000 }).toEqual([{ kind: 'mark' }])
    await marked()
    await again()
    await short(async () => {
      await show(FIXTURES.steady)
      const letGo = await hold('PageDown')
      await show(OFFERED)
      await letGo()
    })
    await page.waitForTimeout(300) // a press under 50 ms is in doubt for 150 ms
    expect(asked()).toEqual([])
  })

  test('a press of a moment, while the dwell captures and the next step begins, asks for nothing in that one', async () => {
    await show(FIXTURES.steady)
    await page.evaluate(() => {
      for (const kind of ['keydown', 'keyup'])
        document.body.dispatchEvent(new KeyboardEvent(kind, { key: 'PageDown', bubbles: true, cancelable: true }))
    })
    const seq = (FIXTURES.steady.events.at(-1)?.seq ?? 0) + 1
    await show({ ...FIXTURES.steady, events: [...FIXTURES.steady.events, { seq, what: 'captured', words: '' }] })
    await page.waitForTimeout(300)
    expect(asked()).toEqual([])
  })

  test('where a press can be nothing else it acts at once, foot still down', async () => {
    await show({ ...FIXTURES.stopped, mode: 'watch' })
    const letGo = await hold('PageDown')
    await expect.poll(asked).toEqual([{ kind: 'go on' }])
    await letGo()
    expect(asked()).toHaveLength(1)
  })

  test('the key repeating itself is one press, and STOP acts at once', async () => {
    await short(async () => {
      await show(FIXTURES.steady)
      const letGo = await hold('PageDown')
      for (let at = 0; at < 3; at += 1) await page.keyboard.down('PageDown')
      await letGo()
    })
    await page.keyboard.down('End')
    await expect.poll(asked).toContainEqual({ kind: 'stop' })
    await expect.poll(() => asked().filter(({ kind }) => kind !== 'stop').length).toBe(1)
  })

  test('nothing under a list, and not while a text field has the cursor; both are said', async () => {
    await show({ ...FIXTURES.steady, marks: [MARK] })
    await button('Steps').click()
    await foot('PageDown', 200)
    await page.getByText('The foot switch rests: a list or form lies over the gauge.').waitFor()
    await page.getByLabel('Mark 1, what it was').focus()
    expect(await page.getByText('Foot switch and keys rest while you type.').isVisible()).toBe(true)
    await foot('PageDown', 200)
    await page.getByText('The foot switch rests: a text field has the cursor. Tab leaves the field.').waitFor()
    expect(asked()).toEqual([])
  })
})

describe('taking back', () => {
  beforeAll(() => open())
  beforeEach(again)
  afterAll(closed)

  test('has a large button with the seconds left, which goes with the offer', async () => {
    expect(await button(/Take it back/).count()).toBe(0)
    await show(OFFERED)
    const text = () => page.locator('.take-back').textContent()
    expect(await text()).toMatch(/Take it back5 s, or hold the pedal/)
    await expect.poll(text, { timeout: 3_000 }).toMatch(/4 s, or hold the pedal/)
    await button(/Take it back/).click()
    await expect.poll(asked).toEqual([{ kind: 'take back' }])
    await show(FIXTURES.captured)
    expect(await button(/Take it back/).count()).toBe(0)
  })

  test('stands also when the next reading has begun, but not on a page that does not steer', async () => {
    await show(takable({ ...FIXTURES['key now'], offers: ['take back', 'stop'], captured: [captured()] }))
    expect(await button(/Take it back/).isVisible()).toBe(true)
    service.send({ kind: 'role', steering: 'another', asked: false })
    await expect.poll(() => button(/Take it back/).count()).toBe(0)
  })

  test('leaves the value struck through, in the list of steps and in the table at the end', async () => {
    await show(frame({ captured: [TAKEN] }))
    await button('Steps').click()
    const line = page.locator('.steps li', { hasText: 'A12' })
    expect(await line.locator('s').textContent()).toBe('3.85 W')
    expect(await line.locator('.taken-back').textContent()).toContain('taken back')
    expect(await page.locator('.steps s').count()).toBe(1)
    await button('Back to the gauge').click()
    await show({ ...FIXTURES.finished, captured: [captured({ number: 6 }), TAKEN] })
    const struck = page.locator('.all tr', { has: page.locator('s') })
    expect(await struck.locator('td').allTextContents()).toMatchObject({ 3: '3.85 W', 6: 'taken back' })
    expect(await page.locator('.pairs tbody tr').count()).toBe(0)
    expect(await page.locator('.all s').count()).toBe(1)
  })
})

describe('marks', () => {
  beforeAll(() => open())
  beforeEach(again)
  afterAll(closed)

  test('that have no words yet are named at the end', async () => {
    await page.reload()
    await show({ ...FIXTURES.finished, marks: [MARK, { ...MARK, number: 2, words: 'slipped' }] })
    expect(await note()).toBe('1 mark has no words yet: they stand under Steps.')
  })

  test('a new one is said once, with what the meter showed; those of a job that is opened again are not', async () => {
    await show(FIXTURES.steady)
    await show({ ...FIXTURES.steady, marks: [MARK] })
    expect(await note()).toBe('Marked: 3.85 W. Say later what it was.')
    await expect.poll(() => page.getByRole('status').textContent(), { timeout: 4_000 }).toContain('Marked: 3.85 W')
    await page.reload()
    await show({ ...FIXTURES.steady, marks: [MARK] })
    expect(await note()).toBe('')
  })

  test('are explained in the list of steps, each once, when its field is left; words on the way are kept', async () => {
    const marks = [MARK, { ...MARK, number: 2, reading: '', words: 'slipped' }]
    await show(frame({ marks }))
    await button('Steps').click()
    expect(await page.getByLabel('Mark 2, what it was').inputValue()).toBe('slipped')
    await page.getByLabel('Mark 1, what it was').fill('the prod was off')
    await show(frame({ marks: [...marks, { ...MARK, number: 3 }] }))
    expect(await page.getByLabel('Mark 1, what it was').inputValue()).toBe('the prod was off')
    expect(asked()).toEqual([])
    await page.keyboard.press('Enter')
    await page.getByLabel('Mark 1, what it was').focus()
    await page.getByLabel('Mark 2, what it was').focus()
    await page.getByLabel('Mark 2, what it was').blur()
    await expect.poll(asked).toEqual([{ kind: 'explain', mark: 1, words: 'the prod was off' }])
    expect(await page.locator('.mark-list').isVisible()).toBe(true)
  })

  test('words that were being written when the set had to be keyed are sent all the same', async () => {
    await show(frame({ marks: [MARK] }))
    await button('Steps').click()
    await page.getByLabel('Mark 1, what it was').fill('half a word')
    await show({ ...FIXTURES['key now'], marks: [MARK] })
    await expect.poll(asked).toEqual([{ kind: 'explain', mark: 1, words: 'half a word' }])
  })
})

describe('learning the foot switch', () => {
  beforeEach(() => open())
  afterEach(closed)

  const learnIt = async () => {
    await show(FIXTURES.idle)
    await button('Foot switch').click()
    await button('Learn pedal A').click()
    await page.getByText('Press pedal A', { exact: true }).waitFor()
  }

  test('refuses keys that fall into fields and buttons, and presses nothing with them', async () => {
    await learnIt()
    for (const [key, words] of [
      ['Enter', 'Enter presses buttons'],
      ['Space', 'Space presses buttons'],
      ['b', 'B: letters, digits and signs'],
      ['Escape', 'Escape closes things'],
    ] as const) {
      await page.keyboard.press(key)
      expect(await page.locator('.trial-said').textContent()).toContain(words)
    }
    expect(await page.getByText('Press pedal A', { exact: true }).isVisible()).toBe(true)
  })

  test('a key that is held for 1.2 s is kept on this device and works; the usual keys come back by one button', async () => {
    await learnIt()
    await foot('F13', 200)
    await page.getByText('F13 has come, and it is free.').waitFor()
    await foot('F13', 1300)
    await page.getByText('Kept on this device.').waitFor()
    await button('Back').click()
    await page.reload()
    await show(OFFERED)
    await foot('PageDown', 200)
    await foot('F13', 1300)
    await expect.poll(asked).toEqual([{ kind: 'take back' }])
    await show(FIXTURES.idle)
    await button('Foot switch').click()
    expect(await page.locator('.pedals').textContent()).toContain('Key: F13')
    await button('The usual keys').click()
    expect(await page.locator('.pedals').textContent()).toContain('Key: Page Down')
    await show(FIXTURES['read step'])
    await foot('PageDown', 200)
    await expect.poll(asked).toEqual([{ kind: 'take back' }, { kind: 'ready' }])
  })

  test('one that lets go by itself is said to give no long press; its presses act, and the screen has the buttons', async () => {
    await learnIt()
    for (let at = 0; at < 3; at += 1) await page.keyboard.press('PageUp')
    await expect.poll(() => page.locator('.trial-said').textContent()).toContain('can never give a long press')
    await button('Back').click()
    await show(FIXTURES.steady)
    await page.keyboard.press('PageUp')
    await expect.poll(asked).toEqual([{ kind: 'capture', by: 'key' }])
    await button('Mark').click()
    await expect.poll(() => asked().at(-1)).toEqual({ kind: 'mark' })
    await show(OFFERED)
    expect(await page.locator('.take-back').textContent()).toMatch(/5 s left/)
  })

  test('STOP stops while pedal A is learned; pedal B is learned without stopping, and End stops for ever', async () => {
    await learnIt()
    await page.keyboard.press('End')
    expect(await page.locator('.trial-said').textContent()).toContain('it is the key of STOP')
    await expect.poll(asked).toEqual([{ kind: 'stop' }])
    await button('Leave it as it is').click()
    await button('Learn pedal B').click()
    await page.keyboard.press('PageUp')
    await page.getByText('Kept on this device.').waitFor()
    expect(asked()).toHaveLength(1)
    await page.keyboard.press('PageUp')
    await page.keyboard.press('End')
    await expect.poll(() => asked().map(({ kind }) => kind)).toEqual(['stop', 'stop', 'stop'])
  })
})

describe('cautions', () => {
  beforeEach(() => open())
  afterEach(closed)

  test('with more of them than fit, pedal and button read on first; only what was on the screen is gone on from', async () => {
    const many = Array.from(
      { length: 14 },
      (_, at) => `Caution number ${at + 1}: hands off the open coils while it is keyed.`,
    )
    await show({ ...FIXTURES['read step'], step: step({ cautions: many }) })
    const last = page.locator('.cautions li').last()
    const inSight = async () => {
      const [line, box] = await Promise.all([last.boundingBox(), page.locator('.caution-scroll').boundingBox()])
      return (line?.y ?? 1e9) + (line?.height ?? 0) <= (box?.y ?? 0) + (box?.height ?? 0) + 4
    }
    expect(await inSight()).toBe(false)
    await foot('PageDown', 100)
    expect(asked()).toEqual([])
    for (let presses = 0; presses < 10 && !(await inSight()); presses++) await button('Ready').click()
    expect(await inSight()).toBe(true)
    expect(asked()).toEqual([])
    await foot('PageDown', 100)
    await expect.poll(asked).toEqual([{ kind: 'ready' }])
    service.asked.length = 0
  })

  test('new ones stand in sight before Ready, with sign, word and edge; those seen are one line that opens', async () => {
    const seen = ['Load on before keying.', 'Local rules decide.']
    await show({ ...FIXTURES['read step'], step: step({ cautions: ['Heatsink is hot.'], cautionsSeen: seen }) })
    const fresh = page.locator('.cautions')
    expect(await fresh.textContent()).toContain('CAUTION')
    expect(await fresh.locator('.caution-sign').isVisible()).toBe(true)
    expect(await fresh.evaluate((one) => getComputedStyle(one).backgroundImage)).toMatch(/rgb\(255, 210, 31\)/)
    expect(await page.getByText('Load on before keying.').isVisible()).toBe(false)
    await page.getByText('cautions seen before: 2').click()
    expect(await page.getByText('Load on before keying.').isVisible()).toBe(true)
    await show({ ...FIXTURES['read step'], step: step({ cautions: [], cautionsSeen: seen }) })
    expect(await page.locator('.cautions').count()).toBe(0)
    await show({ ...FIXTURES['read step'], step: step({ cautions: [], cautionsSeen: [] }) })
    expect(await page.locator('.caution-place').count()).toBe(0)
  })
})

describe.each([
  { name: 'laptop', width: 1280, height: 800 },
  { name: 'tablet', width: 1024, height: 768 },
  { name: 'phone turned sideways', width: 844, height: 390 },
  { name: 'phone held upright', width: 390, height: 844 },
  { name: 'tablet held upright', width: 768, height: 1024 },
])('on a $name', ({ width, height }) => {
  beforeAll(() => open(width, height))
  afterAll(closed)

  /** Everything that a press does something to, as far as it is on the screen. */
  const targets = () =>
    page.evaluate(() =>
      [...document.querySelectorAll('button, summary, a[href]')]
        .filter((one) => one.getClientRects().length > 0)
        .map((one) => {
          const { left, top, right, bottom, width, height } = one.getBoundingClientRect()
          const inside = [...one.children].filter((child) => child.getClientRects().length > 0)
          const spills = inside.map((child) => {
            const box = child.getBoundingClientRect()
            return Math.max(top - box.top, box.bottom - bottom, left - box.left, box.right - right)
          })
          return { name: one.textContent, left, top, right, bottom, width, height, spills: Math.max(0, ...spills) }
        }),
    )

  /** All of them 20 mm, on the screen, apart from each other, and their words inside. */
  const expectForKnuckles = async (state: string) => {
    const found = await targets()
    for (const [index, one] of found.entries()) {
      const name = `${state}: ${one.name}`
      expect(one.height, name).toBeGreaterThanOrEqual(KNUCKLE_PX)
      expect(one.width, name).toBeGreaterThanOrEqual(KNUCKLE_PX)
      expect(one.bottom, name).toBeLessThanOrEqual(height)
      expect(Math.min(one.left, one.top), name).toBeGreaterThanOrEqual(0)
      expect(one.right, name).toBeLessThanOrEqual(width)
      expect(one.spills, name).toBeLessThanOrEqual(1)
      for (const other of found.slice(index + 1)) {
        const across = Math.min(one.right, other.right) - Math.max(one.left, other.left)
        const down = Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top)
        expect(Math.min(across, down), `${name} on ${other.name}`).toBeLessThanOrEqual(1)
      }
    }
    return found.map(({ name }) => name).join(' ')
  }

  const RUNNING = STATES.filter((one) => one !== 'idle' && one !== 'finished')

  test('every button that can be reached while a step runs is 20 mm high and wide, on the screen and apart from others', async () => {
    for (const state of RUNNING) {
      const fixture = FIXTURES[state]
      await show(
        takable({
          ...fixture,
          captured: [captured()],
          step: fixture.step && { ...fixture.step, cautionsSeen: ['Local rules decide.'] },
        }),
      )
      expect(await expectForKnuckles(state)).toContain('Take it back')
    }
  })

  test('so is the button for marks, where the pedal cannot be held', async () => {
    const pedals = { main: 'F13', stop: 'End', holds: false }
    await page.evaluate((kept) => localStorage.setItem('trimwright.settings', kept), JSON.stringify({ pedals }))
    await page.reload()
    for (const state of ['near', 'key now', 'captured'] as const) {
      await show(FIXTURES[state])
      expect(await expectForKnuckles(state)).toContain('Mark')
    }
    await page.evaluate(() => localStorage.clear())
    await page.reload()
  })

  test('new cautions are written for 0.6 m: capitals of 16 arc minutes at least, and all can be reached', async () => {
    await show(FIXTURES['read step'])
    const px = await page
      .locator('.cautions li')
      .first()
      .evaluate((one) => Number.parseFloat(getComputedStyle(one).fontSize))
    // a capital is 0.72 of the type size; 16 minutes of arc at 600 mm, 96 px an inch
    expect(px * 0.72).toBeGreaterThanOrEqual((600 * Math.tan((16 / 60) * (Math.PI / 180)) * 96) / 25.4)
    const box = await page.locator('.cautions').boundingBox()
    const ready = await button('Ready').boundingBox()
    expect(box?.height).toBeGreaterThan(80)
    expect((box?.y ?? 0) + (box?.height ?? 0)).toBeLessThanOrEqual(height)
    expect(ready).not.toBeNull()
    const hides = await page.locator('.caution-scroll').evaluate((one) => one.scrollHeight > one.clientHeight + 4)
    expect(await page.locator('.caution-more').isVisible()).toBe(hides)
    await page.locator('.caution-scroll').evaluate((one) => one.scrollTo(0, one.scrollHeight))
    await page.locator('.caution-more').waitFor({ state: 'hidden' })
  })
})

describe('by the keyboard alone', () => {
  beforeAll(() => open())
  beforeEach(again)
  afterAll(closed)

  /** Tab until something of that name has the focus; throws where it cannot be reached. */
  const tabTo = async (name: RegExp) => {
    for (let at = 0; at < 60; at += 1) {
      await page.keyboard.press('Tab')
      const focused = await page.evaluate(() => {
        const one = document.activeElement
        return one?.getAttribute('aria-label') ?? one?.closest('label')?.textContent ?? one?.textContent ?? ''
      })
      if (name.test(focused)) return
    }
    throw new Error(`no Tab leads to ${name}`)
  }

  test('a step is done, taken back, marked and explained; a short press does what stands on the main button, a long one marks', async () => {
    await show({ ...FIXTURES['read step'], step: step({ cautionsSeen: ['Local rules decide.'] }) })
    await tabTo(/^cautions seen before/)
    await page.keyboard.press('Enter')
    expect(await page.getByText('Local rules decide.').isVisible()).toBe(true)
    await foot('PageDown', 200)
    await show(FIXTURES.steady)
    await foot('PageDown', 200)
    await show(OFFERED)
    await tabTo(/^Take it back/)
    await page.keyboard.press('Enter')
    await show(FIXTURES.near)
    await foot('PageDown', 1300)
    await show({ ...FIXTURES.near, marks: [MARK] })
    await tabTo(/^Steps/)
    await page.keyboard.press('Enter')
    await page.locator('.mark-list').waitFor()
    await tabTo(/^Mark 1, what it was/)
    await page.keyboard.type('the prod was off')
    await page.keyboard.press('Tab')
    await expect
      .poll(asked)
      .toEqual([
        { kind: 'ready' },
        { kind: 'capture', by: 'key' },
        { kind: 'take back' },
        { kind: 'mark' },
        { kind: 'explain', mark: 1, words: 'the prod was off' },
      ])
  })

  test('the foot switch is learned, and learning can be left again', async () => {
    await show(FIXTURES.idle)
    await tabTo(/^Foot switch/)
    await page.keyboard.press('Enter')
    await tabTo(/^Learn pedal A/)
    await page.keyboard.press('Enter')
    await page.keyboard.press('Tab')
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe('Leave it as it is')
    expect(await page.locator('.trial-said').textContent()).toContain('Tab walks')
    await page.keyboard.press('Enter')
    expect(await page.locator('.trial').isVisible()).toBe(false)
    await button('Learn pedal A').focus()
    await page.keyboard.press('Enter')
    await foot('PageUp', 200)
    await foot('PageUp', 1300)
    await page.getByText('Kept on this device.').waitFor()
    await tabTo(/^The usual keys|^Back$/)
  })
})

import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { type LiveFrame, STATES } from '../../src/schema/messages/shown.ts'
import { accented, grown } from '../kit/words/grown.ts'
import { allTexts, textsOnPage } from '../kit/words/texts-of-page.ts'
import { CONTROL, place } from '../web/bench-places.ts'
import { captured, frame, keyed, PASS_LINES, reading } from '../web/frame-parts.ts'
import { FIXTURES, SIGNED, WATCHING } from '../web/frames.ts'
import { WELCOME } from './page-kit.ts'
import { openStage, type Stage } from './stage.ts'

const SIZES = [
  { name: 'laptop', width: 1280, height: 800 },
  { name: 'phone held upright', width: 390, height: 844 },
  { name: 'phone turned sideways', width: 844, height: 390 },
] as const

/** What is the same in every language: units, addresses, names of the record, keys that have no other name. */
const NAMES = /\b(kHz|MHz|dBm|ppm|min)\b|http:\S+|kPrK_\w+|2026-\S+\.jws/g

/** Cut as yet: on a phone held upright a page that does not steer has its small facts beside two rows of buttons while a form is open. */
const STILL_CUT: Readonly<Record<string, readonly string[]>> = {
  'phone held upright, its own screen': ['cut at main.sheet:2 footer.strip:8 p.fact:0 b:1'],
}

/** One of the two pages of a size: in English, and in the language that nobody speaks. */
interface Side {
  readonly stage: Stage
  readonly page: Page
  readonly language: 'English' | 'pseudo'
}

interface Screen {
  readonly name: string
  open(side: Side): Promise<void>
}

/** A service of its own for each language: what one page is shown never stands on the other. */
let stages: readonly [english: Stage, pseudo: Stage]

beforeAll(async () => {
  stages = [await openStage(), await openStage()]
}, 60_000)
afterAll(async () => {
  for (const stage of stages) await stage.close()
})

const inLanguage = <T>({ language }: Side, value: T): T => (language === 'pseudo' ? grown(value) : value)
const show = (side: Side, shown: LiveFrame) => side.stage.show(side.page, inLanguage(side, shown))
const welcome = (side: Side, more: Partial<typeof WELCOME> = {}) =>
  side.stage.service.send(inLanguage(side, { ...WELCOME, ...more }))

/** The first screen with nothing on it of the screen before. */
async function first(side: Side, more: Partial<typeof WELCOME> = {}): Promise<void> {
  await side.page.reload()
  await side.page.waitForSelector('.panel-form .choice')
  welcome(side, more)
  await show(side, FIXTURES.idle)
}

/** All that folds is opened. */
async function unfold({ page }: Side): Promise<void> {
  for (const fold of await page.locator('details:not([open]) > summary').all()) await fold.click()
}

const states: readonly Screen[] = STATES.map((state) => ({
  name: state,
  open: (side) => show(side, FIXTURES[state]),
}))

const MORE: readonly Screen[] = [
  { name: 'just watching', open: (side) => show(side, WATCHING) },
  { name: 'a signed job', open: (side) => show(side, SIGNED) },
  {
    name: 'a step with its drawing',
    open: (side) =>
      show(
        side,
        frame({ ...FIXTURES['read step'], step: { ...CONTROL, cautions: [], cautionsSeen: CONTROL.cautions } }),
      ),
  },
  {
    name: 'the last seconds of a key-down',
    open: (side) => show(side, frame({ ...FIXTURES.near, key: keyed(14) })),
  },
  {
    name: 'a meter that is too coarse',
    open: (side) => show(side, frame({ ...FIXTURES.in, peg: { e: 0.9, halfE: 0.4, ragged: 0, drop: 0 } })),
  },
  {
    name: 'a measure that a microphone would hear',
    open: (side) =>
      show(
        side,
        frame({
          ...FIXTURES.near,
          reading: reading({
            quantity: 'FM deviation',
            value: 1420,
            digits: '1.42',
            unit: 'kHz',
            instrument: 'modmeter',
          }),
        }),
      ),
  },
  {
    name: 'a capture that can be taken back',
    open: (side) =>
      show(side, frame({ ...FIXTURES.captured, offers: ['next', 'take back', 'stop'], takeBackUntilMs: 160_000 })),
  },
  {
    name: 'a wish to steer',
    open: async (side) => {
      side.stage.service.send({ kind: 'role', steering: 'you', asked: true })
      await show(side, FIXTURES.near)
    },
  },
  {
    name: 'a page that does not steer',
    open: async (side) => {
      side.stage.service.send({ kind: 'role', steering: 'another', asked: false })
      await show(side, FIXTURES.near)
    },
  },
  {
    name: 'a page that does not steer, nothing watched',
    open: async (side) => {
      side.stage.service.send({ kind: 'role', steering: 'nobody', asked: true })
      await show(side, FIXTURES.idle)
    },
  },
  {
    name: 'its own screen',
    open: async (side) => {
      side.stage.service.send({ kind: 'role', steering: 'another', asked: false })
      await show(side, FIXTURES.near)
      await side.page.locator('button.aside').click()
    },
  },
]

const FORMS: readonly Screen[] = [
  {
    name: 'first screen',
    open: async (side) => {
      await first(side)
      await unfold(side)
    },
  },
  {
    name: 'first screen of a bench that lacks much, with the supply off',
    open: async (side) => {
      const places = [
        place('RF power', null),
        place('tone', null),
        place('frequency', 'counter', { link: 'down', isolated: 'unknown' }),
        place('DC voltage', 'volts', { link: 'typed', isolated: 'no' }),
        place('DC current', 'supply', { needed: false }),
      ]
      await first(side, { places, openJobs: WELCOME.openJobs.map((one) => ({ ...one, captured: 1 })) })
      await show(side, { ...FIXTURES.idle, offers: ['watch', 'start job', 'supply on'] })
      await unfold(side)
    },
  },
  {
    name: 'first screen of a bench that measures nothing',
    open: async (side) => {
      await first(side, { measures: [], places: [], openJobs: [], bench: { name: 'Workshop 2', simulated: false } })
    },
  },
  {
    name: 'job form with all that is wrong',
    open: async (side) => {
      const wrongFiles = [{ file: 'wrong.yaml', words: ['line 3: no such key'] }]
      await first(side, { bench: { name: 'Workshop 2', simulated: false }, wrongFiles })
      await side.page.locator('.foot > .row.apart:not(.settings) button').last().click()
      const [serial, again] = await side.page.locator('.panel-form > .row input').all()
      await serial?.fill('BW-0411')
      await again?.fill('BW-04I1')
      await side.page.locator('.stays button.go').click()
      await side.page.locator('.stays .refused:not(:empty)').waitFor()
    },
  },
  {
    name: 'job form without answers to what is asked first, and a job of before',
    open: async (side) => {
      const serial = inLanguage(side, WELCOME).closedJobs[0]?.serial ?? ''
      await first(side, { bench: { name: 'Workshop 2', simulated: false } })
      await side.page.locator('.foot > .row.apart:not(.settings) button').last().click()
      for (const input of (await side.page.locator('.panel-form > .row input').all()).slice(0, 2))
        await input.fill(serial)
      await side.page.locator('.stays button.go').click()
      await side.page.locator('fieldset .refused:not(:empty)').waitFor()
    },
  },
  {
    name: 'job form without a sheet',
    open: async (side) => {
      await first(side, { procedures: [] })
      await side.page.locator('.foot > .row.apart:not(.settings) button').last().click()
    },
  },
  {
    name: 'foot switch',
    open: async (side) => {
      await first(side)
      await side.page.locator('.settings > button').first().click()
    },
  },
  {
    name: 'foot switch, a key that is not free',
    open: async (side) => {
      await first(side)
      await side.page.locator('.settings > button').first().click()
      await side.page.locator('.pedals button').first().click()
      await side.page.keyboard.press('ArrowUp')
      await side.page.locator('.trial-said:not(:empty)').waitFor()
    },
  },
  {
    name: 'foot switch, to be held',
    open: async (side) => {
      await first(side)
      await side.page.locator('.settings > button').first().click()
      await side.page.locator('.pedals button').first().click()
      await side.page.keyboard.press('PageUp')
      await side.page.keyboard.press('PageUp', { delay: 200 })
      await side.page.locator('.trial-said:not(:empty)').waitFor()
    },
  },
  {
    name: 'size of the screen',
    open: async (side) => {
      await first(side)
      await side.page.locator('.settings > button').last().click()
      await side.page.locator('.size-screen .choice').last().click()
    },
  },
  {
    name: 'list of steps',
    open: async (side) => {
      await first(side)
      const marks = [
        { number: 1, at: '2026-11-25T14:02:00.000Z', title: 'Transmit power', reading: '3.85 W', words: '' },
      ]
      await show(
        side,
        frame({
          ...FIXTURES.near,
          steps: PASS_LINES,
          captured: [captured({ takenBack: true })],
          marks,
          offers: ['close job'],
        }),
      )
      await side.page.locator('button.aside').click()
      await side.page.locator('.steps li[data-state="to do"] button').last().click()
      await side.page.locator('form.leave button').last().click()
      await unfold(side)
      await side.page.locator('.trace-sheet canvas').waitFor()
      await side.page.locator('.panel').evaluate((panel) => panel.scrollTo(0, 0))
    },
  },
  {
    name: 'end of a job with a mark that nobody explained',
    open: async (side) => {
      await first(side)
      const mark = { at: '2026-11-25T14:02:00.000Z', title: 'Transmit power', reading: '', words: '' }
      await show(side, { ...SIGNED, marks: [1, 2].map((number) => ({ number, ...mark })) })
    },
  },
  {
    name: 'a typed value that is doubted',
    open: async (side) => {
      const told = 'That would be 38.5 W: a tenth or ten times what is expected. Meant so?'
      side.stage.service.answerWith(() => ({
        ok: false,
        words: inLanguage(side, { words: told }).words,
        asksBack: true,
      }))
      await first(side)
      await show(side, FIXTURES['type in'])
      await side.page.locator('.typing input').fill('38.5')
      await side.page.locator('.typing input').press('Enter')
      await side.page.locator('.typing-note.refused').waitFor()
      side.stage.service.answerWith(() => ({ ok: true, words: '' }))
    },
  },
]

describe.each(SIZES)('on a $name, $width x $height', (size) => {
  const sides: Side[] = []
  /** Words that were written on a canvas in the pseudo-language. */
  const written: string[] = []

  beforeAll(async () => {
    const [english, pseudo] = stages
    sides.push({ stage: english, page: await english.openPage(size), language: 'English' })
    const page = await pseudo.openPage(size, '?language=pseudo')
    await page.exposeFunction('isWritten', (text: string) => void written.push(text))
    await page.addInitScript(() => {
      const { fillText } = CanvasRenderingContext2D.prototype
      CanvasRenderingContext2D.prototype.fillText = function (text, ...place) {
        Reflect.get(window, 'isWritten')(text)
        return fillText.call(this, text, ...place)
      }
    })
    sides.push({ stage: pseudo, page, language: 'pseudo' })
  }, 60_000)
  afterAll(async () => {
    for (const { page } of sides) await page.close()
  })

  /** Shows it in one language: what of it is wrong, and where; in the pseudo-language with the words themselves. */
  const wrongIn = async (side: Side, open: Screen['open']) => {
    side.stage.service.send({ kind: 'role', steering: 'you', asked: false })
    welcome(side)
    await open(side)
    const texts = await textsAtRest(side.page)
    expect(texts.length).toBeGreaterThan(3)
    expect(side.stage.complaints).toEqual([])
    return texts.filter(({ wrong }) => wrong !== '')
  }

  // on the laptop every state; on the others one of three, since states share their screens
  const shown = size.name === 'laptop' ? states : states.filter((_, at) => at % 3 === 0)
  test.each([...shown, ...MORE, ...FORMS])(
    '$name: every word is in the dictionary, and none is cut when it grows',
    async ({ name, open }) => {
      const [before = [], grown = []] = await Promise.all(sides.map((side) => wrongIn(side, open)))
      const pseudo = sides[1]
      const texts = pseudo === undefined ? [] : await allTexts(pseudo.page)
      expect(plainIn([...texts, ...written.splice(0)])).toEqual([])
      const known = before.map(({ at, wrong }) => `${wrong} at ${at}`)
      const found = grown.filter(({ at, wrong }) => !known.includes(`${wrong} at ${at}`))
      const still = STILL_CUT[`${size.name}, ${name}`] ?? []
      expect(found.filter(({ at, wrong }) => !still.includes(`${wrong} at ${at}`))).toEqual([])
      expect(found.length).toBeGreaterThanOrEqual(still.length)
    },
    60_000,
  )
})

/** What fits its type to its room does so after the picture: looked at until two looks, a fifth of a second apart, are the same. */
async function textsAtRest(page: Page): ReturnType<typeof textsOnPage> {
  let before = await textsOnPage(page)
  for (let looks = 0; looks < 3; looks += 1) {
    await page.waitForTimeout(200)
    const now = await textsOnPage(page)
    if (JSON.stringify(now) === JSON.stringify(before)) return now
    before = now
  }
  return before
}

/** Texts with three plain letters or more in a row: nobody put them through a dictionary. */
function plainIn(texts: readonly string[]): readonly string[] {
  return [...new Set(texts)].filter((text) => /[A-Za-z]{3,}/.test(text.replace(NAMES, '')))
}

test('a plain word is found, a unit and an accented one are not', () => {
  expect(plainIn(['Ready', '3.85 kHz', accented('Ready'), 'PW', 'kHzz'])).toEqual(['Ready', 'kHzz'])
})

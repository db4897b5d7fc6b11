import type { Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from 'vitest'
import { captured, frame, keyed, PASS_LINES, step } from '../web/frame-parts.ts'
import { FIXTURES, SIGNED } from '../web/frames.ts'
import { WELCOME } from './page-kit.ts'
import { openStage, type Stage } from './stage.ts'

let stage: Stage
let page: Page
let service: Stage['service']

beforeAll(async () => {
  stage = await openStage()
  service = stage.service
}, 60_000)
afterAll(() => stage.close())

beforeEach(async () => {
  service.asked.length = 0
  stage.complaints.length = 0
  service.answerWith(() => ({ ok: true, words: '' }))
  page = await stage.openPage({ width: 1280, height: 800 })
})
afterEach(async () => {
  await page.close()
  expect(stage.complaints).toEqual([])
})

const button = (name: string) => page.getByRole('button', { name })

/** Requests without the id that the page gave them. */
const asked = () =>
  service.asked.map((one) => Object.fromEntries(Object.entries(one).filter(([name]) => name !== 'id')))

describe('a meter that is read by a person', () => {
  const field = () => page.getByLabel('RF power, read off power')
  const QUESTION = '39 W? Or 3.9? Ten times off is mostly a misplaced point.'
  const doubts = () =>
    service.answerWith((one) =>
      one.kind === 'type in' && one.sure !== true
        ? { ok: false, words: QUESTION, asksBack: true }
        : { ok: true, words: '' },
    )

  test('takes the keyboard by itself; Enter sends the number with its unit, and the field is empty again', async () => {
    await stage.show(page, FIXTURES['type in'])
    await page.keyboard.type('3.9')
    expect(await field().inputValue()).toBe('3.9')
    await page.keyboard.press('Enter')
    await expect.poll(asked).toEqual([{ kind: 'type in', quantity: 'RF power', text: '3.9 W' }])
    await expect.poll(() => field().inputValue()).toBe('')
  })

  test('asks back about the decade, keeps the text, and sends it again as sure only by its own button', async () => {
    doubts()
    await stage.show(page, FIXTURES['type in'])
    expect(await button('Yes').count()).toBe(0)
    await page.keyboard.type('39')
    await button('Keep').click()
    await page.getByText(QUESTION).waitFor()
    expect(await field().inputValue()).toBe('39')
    await button('Yes, 39 W').click()
    await expect.poll(asked).toEqual([
      { kind: 'type in', quantity: 'RF power', text: '39 W' },
      { kind: 'type in', quantity: 'RF power', text: '39 W', sure: true },
    ])
    await expect.poll(() => field().inputValue()).toBe('')
    expect(await button('Yes').count()).toBe(0)
  })

  test('Enter once more is not yes, and another number takes the question away', async () => {
    doubts()
    await stage.show(page, FIXTURES['type in'])
    await page.keyboard.type('39')
    await page.keyboard.press('Enter')
    await page.getByText(QUESTION).waitFor()
    await page.keyboard.press('Enter')
    await expect.poll(() => service.asked.length).toBe(2)
    expect(asked().every((one) => !('sure' in one))).toBe(true)
    await button('Yes, 39 W').waitFor()
    expect(await page.locator('.gauge').isVisible()).toBe(false)
    await page.keyboard.press('Backspace')
    expect(await button('Yes').count()).toBe(0)
    expect(await page.getByText('like 3.85 W').isVisible()).toBe(true)
    await page.keyboard.press('Enter')
    await page.locator('.typing-note.refused').waitFor()
    await stage.show(page, FIXTURES.captured)
    expect(await page.locator('.gauge').isVisible()).toBe(true)
    await stage.show(page, FIXTURES['type in'])
    expect(await page.locator('.typing-note.refused').count()).toBe(0)
  })

  test('a plain refusal is said and has no yes', async () => {
    service.answerWith(() => ({ ok: false, words: '"3,9 W" has a comma: write a decimal point' }))
    await stage.show(page, FIXTURES['type in'])
    await page.keyboard.type('3,9')
    await page.keyboard.press('Enter')
    await page.getByText('write a decimal point').waitFor()
    expect(await button('Yes').count()).toBe(0)
    expect(await field().inputValue()).toBe('3,9')
  })

  test('with the key down it leaves the keyboard alone until a digit comes; End stops even in the field', async () => {
    await stage.show(page, { ...FIXTURES['type in'], key: keyed(3) })
    expect(await field().evaluate((one) => one === document.activeElement)).toBe(false)
    await page.keyboard.press('4')
    expect(await field().inputValue()).toBe('4')
    await page.keyboard.press('PageDown')
    await page.keyboard.press('End')
    await expect.poll(asked).toEqual([{ kind: 'stop' }])
  })

  test('what is being written stays while frames come, and goes with the step', async () => {
    await stage.show(page, FIXTURES['type in'])
    await page.keyboard.type('3.')
    await stage.show(page, { ...FIXTURES['type in'], key: keyed(1) })
    await page.keyboard.type('8')
    expect(await field().inputValue()).toBe('3.8')
    await stage.show(page, { ...FIXTURES['type in'], step: step({ id: 'power-normal' }) })
    expect(await field().inputValue()).toBe('')
  })
})

describe('the settings of the set', () => {
  const asFound = {
    ...FIXTURES.settings,
    step: step({ technique: 'settings', pass: 'found' }),
    settings: FIXTURES.settings.settings.map(({ name }) => ({ name, found: '', job: '', left: '', reason: '' })),
  } as const

  test('each field is written down when it is left, Enter goes to the next, and Ready goes last', async () => {
    await stage.show(page, asFound)
    await page.getByLabel('band, found').fill('EU')
    await page.keyboard.press('Enter')
    expect(await page.evaluate(() => document.activeElement?.getAttribute('aria-label'))).toBe('band, for this job')
    await page.getByLabel('brightness, found').fill('4')
    await button('Ready').click()
    await expect
      .poll(asked)
      .toEqual([
        { kind: 'note setting', name: 'band', column: 'found', value: 'EU' },
        { kind: 'note setting', name: 'brightness', column: 'found', value: '4' },
        { kind: 'ready' },
      ])
  })

  test('a field that was not changed sends nothing; what the service keeps comes into empty fields only', async () => {
    await stage.show(page, asFound)
    await page.getByLabel('band, for this job').fill('UK')
    const kept = asFound.settings.map((one) => ({ ...one, found: 'x', job: 'x' }))
    await stage.show(page, { ...asFound, settings: kept })
    expect(await page.getByLabel('band, for this job').inputValue()).toBe('UK')
    expect(await page.getByLabel('key click, for this job').inputValue()).toBe('x')
    await page.getByLabel('key click, found').focus()
    await page.getByLabel('key click, for this job').focus()
    await expect.poll(asked).toEqual([{ kind: 'note setting', name: 'band', column: 'job', value: 'UK' }])
  })

  test('as left only left is written, and a reason where it differs from found', async () => {
    await stage.show(page, FIXTURES.settings)
    expect(await page.locator('.setting-list input:visible').count()).toBe(7)
    await page.getByLabel('key click, Left other than found').fill('asked for by the customer')
    await page.keyboard.press('Enter')
    await expect
      .poll(asked)
      .toEqual([
        { kind: 'note setting', name: 'key click', column: 'left', value: 'off', reason: 'asked for by the customer' },
      ])
    await stage.show(page, {
      ...FIXTURES.settings,
      settings: FIXTURES.settings.settings.map((one) => ({ ...one, left: one.found })),
    })
    expect(await page.locator('.setting-list input:visible').count()).toBe(6)
  })
})

describe('a job is started', () => {
  beforeEach(async () => {
    await stage.show(page, FIXTURES.idle)
    await button('Start a job').click()
  })

  test('with a rule card and the complaint; serials that differ are refused and told apart', async () => {
    await page.getByText('Training bench, FM and AM').click()
    await page.getByLabel('Serial number').fill('BW-O417')
    await page.getByLabel('The same serial').fill('BW-0417')
    await page.getByLabel('customer complains').fill('weak since summer')
    await button('Begin').click()
    await page.getByText('the letter O in the first, the digit 0 in the second, which look alike').waitFor()
    await page.getByLabel('Serial number').fill('BW-0417')
    await button('Begin').click()
    await expect.poll(asked).toEqual([
      {
        kind: 'start job',
        procedure: 'brackwater-27m-transmit-short.yaml',
        bands: ['cept'],
        serial: 'BW-0417',
        rules: 'training-fm-am.yaml',
        complaint: 'weak since summer',
        intake: { chassis: 'not measured', speaker: 'not measured', tampered: '' },
      },
    ])
  })

  test('no rule card is a choice that says what it means, and sends none', async () => {
    expect(await page.getByLabel('No rule card').isChecked()).toBe(true)
    expect(await page.getByText('only the targets of the sheet itself, and no AM').isVisible()).toBe(true)
    await page.getByLabel('Serial number').fill('BW-0417')
    await button('Begin').click()
    await page.getByText('Write the serial number a second time').waitFor()
    await page.getByLabel('The same serial').fill('BW-0417')
    await button('Begin').click()
    await expect.poll(() => service.asked.length).toBe(1)
    expect(Object.keys(asked()[0] ?? {})).not.toContain('rules')
    expect(Object.keys(asked()[0] ?? {})).not.toContain('complaint')
  })

  test.each([
    [1280, 800],
    [1024, 768],
    [768, 1024],
  ])('the way to it is in sight at %i x %i, before anything is scrolled', async (width, height) => {
    await page.setViewportSize({ width, height })
    service.send({ ...WELCOME, openJobs: [] })
    await button('Back').click()
    await expect.poll(() => button('Start a job').isVisible()).toBe(true)
    const seen = await button('Start a job').evaluate((one) => {
      const { left, top, width, height } = one.getBoundingClientRect()
      return [0.1, 0.9].every((at) => one.contains(document.elementFromPoint(left + at * width, top + at * height)))
    })
    expect(seen).toBe(true)
  })

  test('what has to be written and Begin are in sight at 1280 x 800, before anything is scrolled', async () => {
    await page.setViewportSize({ width: 1280, height: 800 })
    for (const box of await Promise.all(
      [page.getByLabel('Serial number'), page.getByLabel('The same serial'), button('Begin')].map((one) =>
        one.boundingBox(),
      ),
    )) {
      expect(box?.y).toBeGreaterThan(0)
      expect((box?.y ?? 0) + (box?.height ?? 0)).toBeLessThan(700)
    }
  })

  test('an earlier job of the same serial is offered once that is written twice; as found stands only when it is chosen', async () => {
    expect(await page.getByText('Read anew').isVisible()).toBe(false)
    await page.getByLabel('Serial number').fill('BW-0411')
    await page.getByLabel('The same serial').fill('BW-0411')
    await page.getByLabel('The same serial').press('Tab')
    await page.getByText('Brackwater 27-M, transmit side, 2026-11-20').click()
    await button('Begin').click()
    await expect
      .poll(() => asked()[0])
      .toMatchObject({ kind: 'start job', serial: 'BW-0411', continues: '20261120-081500-BW0411-a1b2' })
  })
})

test('a job that was never closed is opened where it stood', async () => {
  await stage.show(page, FIXTURES.idle)
  expect(await page.locator('.open-jobs').textContent()).toContain('BW-0411, Brackwater 27-M, transmit side')
  expect(await page.locator('.open-jobs').textContent()).toContain('7 values captured')
  await button('Open where it stood').click()
  await expect.poll(asked).toEqual([{ kind: 'reopen job', job: '2026-11-24-BW-0411' }])
})

describe('the three passes', () => {
  test('are three groups of the list, with results, typed ones marked', async () => {
    const typed = captured({ pass: 'found', label: 'typed', by: 'typed' })
    const lines = PASS_LINES.map((line) => (line.id === 'power' ? { ...line, result: '3.85 W' } : line))
    await stage.show(page, frame({ steps: lines, captured: [typed, captured()] }))
    await button('Steps').click()
    const groups = await page
      .locator('.pass')
      .evaluateAll((all) => all.map((one) => [one.querySelector('h2')?.textContent, one.querySelectorAll('li').length]))
    expect(groups).toEqual([
      ['as found2 of 2 done', 2],
      ['aligning6 of 8 done', 9],
      ['as left0 of 1 done', 1],
    ])
    const results = await page.locator('.steps .result').allTextContents()
    expect(results.filter((text) => text.includes('typed')).map((text) => text.trim())).toEqual(['2.40 W, typed'])
    await page.locator('.steps li', { hasText: 'A21' }).getByRole('button', { name: 'Open' }).click()
    await expect.poll(asked).toEqual([{ kind: 'open step', step: 'power.left' }])
  })

  test('a job of one pass has no such headings', async () => {
    await stage.show(page, frame({}))
    await button('Steps').click()
    await page.locator('.pass').first().waitFor() // the list is drawn with the next picture
    expect(await page.locator('.pass').count()).toBe(1)
    expect(await page.locator('.pass h2').count()).toBe(0)
  })

  test('end in a table with found, left and change beside each other, under the record', async () => {
    await stage.show(page, SIGNED)
    const cells = await page.locator('.pairs tbody tr').first().locator('td').allTextContents()
    expect(cells.map((text) => text.trim())).toEqual([
      'A12',
      'Transmit power RF power',
      '2.40 Wtoo low',
      '3.65 Winside',
      '+1.25 W',
      '3.60 .. 4.00 W',
    ])
    expect(await page.locator('.record').textContent()).toMatch(/^Record 2026-11-25-BW-0417\.jws, fingerprint kPrK_/)
    expect(await page.locator('.all tbody tr').count()).toBe(6)
  })

  test('once the job is closed the first screen names the record', async () => {
    await stage.show(page, { ...FIXTURES.idle, job: SIGNED.job })
    await page.getByText('The job of BW-0417 is closed. Record 2026-11-25-BW-0417.jws, fingerprint').waitFor()
  })
})

test('while the microphone is open the page says that it is silent, and asks nothing', async () => {
  await page.mouse.click(2, 2)
  await stage.show(page, FIXTURES.highest)
  await expect.poll(() => page.locator('.news').textContent()).toBe('silent: the microphone is open')
  expect(await button('Headphones on').count()).toBe(0)
})

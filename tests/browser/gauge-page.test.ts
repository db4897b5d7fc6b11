import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import type { Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from 'vitest'
import type { LiveFrame, LiveState } from '../../src/schema/messages/shown.ts'
import { frame, keyed, reading } from '../web/frame-parts.ts'
import { FIXTURES, WATCHING } from '../web/frames.ts'
import { TOKEN, WELCOME } from './page-kit.ts'
import { openStage, type Stage } from './stage.ts'

let stage: Stage
let page: Page
let service: Stage['service']

beforeAll(async () => {
  stage = await openStage()
  service = stage.service
}, 60_000)
afterAll(() => stage.close())

const show = (shown: LiveFrame, lastsMs?: number) => stage.show(page, shown, lastsMs)

describe('on a laptop', () => {
  beforeEach(async () => {
    service.asked.length = 0
    service.heres.length = 0
    service.protocols.length = 0
    stage.complaints.length = 0
    page = await stage.openPage({ width: 1280, height: 800 })
  })
  afterEach(async () => {
    await page.close()
    expect(stage.complaints).toEqual([])
  })

  test('the frame round the screen looks different below, above, in, old, stopped, and otherwise', async () => {
    const shown: [LiveState, string][] = [
      ['far', 'above'],
      ['near', 'below'],
      ['in', 'in'],
      ['old', 'old'],
      ['stopped', 'stop'],
      ['read step', 'none'],
    ]
    const looks = new Set<string>()
    for (const [state, hatch] of shown) {
      await show(FIXTURES[state])
      expect(await page.getAttribute('body', 'data-hatch')).toBe(hatch)
      looks.add(await page.locator('.edge').evaluate((edge) => getComputedStyle(edge).background))
    }
    expect(looks.size).toBe(6)
  })

  describe('what the page sends', () => {
    const kinds = () => service.asked.map(({ kind }) => kind)

    test('its token as the sub-protocol, and that it is here and visible', async () => {
      await expect.poll(() => service.heres.length, { timeout: 3_000 }).toBeGreaterThanOrEqual(2)
      expect(service.protocols).toEqual([`trimwright.${TOKEN}`])
      expect(service.heres.every(({ visible }) => visible)).toBe(true)
    })

    test('a watch as it was written, or the example beside it', async () => {
      await show(FIXTURES.idle)
      await page.getByText('Frequency').click()
      await page.getByRole('button', { name: 'Watch' }).click()
      await page.getByLabel('What it should be').fill('27.2049 .. 27.2051 MHz')
      await page.keyboard.press('Enter')
      await page.getByRole('button', { name: 'maximum' }).click()
      await page.getByRole('button', { name: 'Watch' }).click()
      await expect.poll(() => service.asked.length).toBe(3)
      expect(service.asked).toMatchObject([
        { kind: 'watch', quantity: 'frequency', target: '27.205 MHz +- 150 Hz' },
        { kind: 'watch', quantity: 'frequency', target: '27.2049 .. 27.2051 MHz' },
        { kind: 'watch', quantity: 'frequency', target: 'maximum' },
      ])
      expect(new Set(service.asked.map((one) => ('id' in one ? one.id : ''))).size).toBe(3)
    })

    test('a job with its bands: those of "yes", those of "ask" only when picked, and no serial on a simulated bench', async () => {
      await show(FIXTURES.idle)
      await page.getByRole('button', { name: 'Start a job' }).click()
      await page.getByRole('button', { name: 'Begin' }).click()
      await show(frame({ ...FIXTURES.idle }))
      await page.getByRole('button', { name: 'Start a job' }).click()
      await page.getByText('channels 41 to 80').click()
      await page.getByLabel('Serial number').fill('BW-0417')
      await page.getByLabel('The same serial').fill('BW-0417')
      await page.getByText('it floats: no common').click()
      await page.getByText('bridged output').click()
      await page.getByLabel('Signs of earlier work').fill('wax broken on L7')
      await page.getByRole('button', { name: 'Begin' }).click()
      await expect.poll(() => service.asked.length).toBe(2)
      expect(service.asked).toMatchObject([
        {
          kind: 'start job',
          procedure: 'brackwater-27m-transmit-short.yaml',
          serial: '',
          bands: ['cept'],
          intake: { chassis: 'not measured', speaker: 'not measured', tampered: '' },
        },
        {
          kind: 'start job',
          intake: { chassis: 'floating', speaker: 'bridged', tampered: 'wax broken on L7' },
          procedure: 'brackwater-27m-transmit-short.yaml',
          serial: 'BW-0417',
          bands: ['cept', 'de-low'],
        },
      ])
    })

    test('what has to be known of the supply stands above Begin, for the sheet that is chosen', async () => {
      await show(FIXTURES.idle)
      await page.getByRole('button', { name: 'Start a job' }).click()
      const caution = page.getByText('The supply has no over-voltage trip: it is not taken above 13.80 V.')
      expect(await caution.count()).toBe(0)
      await page.getByText('Saltmere V-5').click()
      expect(await caution.isVisible()).toBe(true)
      await page.getByText('Brackwater 27-M, transmit side').click()
      expect(await caution.count()).toBe(0)
      await page.getByRole('button', { name: 'Back' }).click()
    })

    test('on a real bench the two earth questions have no answer beforehand, and nothing begins without one', async () => {
      service.send({ ...WELCOME, bench: { ...WELCOME.bench, simulated: false } })
      await show(FIXTURES.idle)
      await page.getByRole('button', { name: 'Start a job' }).click()
      await page.getByLabel('Serial number').fill('BW-0417')
      await page.getByLabel('The same serial').fill('BW-0417')
      await page.getByText('0 \u03a9joined to supply minus').click()
      await page.getByRole('button', { name: 'Begin' }).click()
      await page.getByText(/answer both; "not measured" is an answer too/).waitFor()
      expect(service.asked).toEqual([])
      await page.getByText('one side to chassis').click()
      await page.getByRole('button', { name: 'Begin' }).click()
      await expect.poll(() => service.asked.length).toBe(1)
      expect(service.asked).toMatchObject([
        { kind: 'start job', intake: { chassis: 'to supply minus', speaker: 'one side to chassis', tampered: '' } },
      ])
      service.send(WELCOME)
    })

    test('PageDown does what is offered, once a press, and says that it was the key', async () => {
      await show(FIXTURES['read step'])
      await page.keyboard.down('PageDown')
      await page.keyboard.down('PageDown')
      await page.keyboard.up('PageDown')
      await show(FIXTURES.steady)
      await page.waitForTimeout(200)
      await page.keyboard.press('PageDown')
      await show(FIXTURES.far)
      await page.waitForTimeout(200)
      await page.keyboard.press('PageDown')
      await page.getByRole('button', { name: 'Steps' }).waitFor()
      await expect.poll(() => service.asked.length).toBe(2)
      expect(service.asked).toMatchObject([{ kind: 'ready' }, { kind: 'capture', by: 'key' }])
    })

    test('a click captures as a click; STOP and End stop; Enter and Space alone do nothing', async () => {
      await show(FIXTURES.steady)
      await page.keyboard.press('Enter')
      await page.keyboard.press('Space')
      await page.getByRole('button', { name: 'Capture' }).click()
      await page.getByRole('button', { name: 'STOP' }).click()
      await page.keyboard.press('End')
      await expect.poll(() => service.asked.length).toBe(3)
      expect(service.asked).toMatchObject([{ kind: 'capture', by: 'click' }, { kind: 'stop' }, { kind: 'stop' }])
    })

    test('nothing while somebody types, and it says so', async () => {
      await show(FIXTURES.idle)
      await page.getByLabel('What it should be').focus()
      await page.keyboard.press('End')
      await page.keyboard.press('PageDown')
      expect(await page.getByText('Foot switch and keys rest while you type.').isVisible()).toBe(true)
      await page.waitForTimeout(100)
      expect(kinds()).toEqual([])
    })

    test('a step opened again from the list, and one left out with a reason of three letters', async () => {
      await show(FIXTURES['read step'])
      await page.getByRole('button', { name: 'Steps' }).click()
      const line = page.locator('.steps li', { hasText: 'A6' })
      await line.getByRole('button', { name: 'Leave out' }).click()
      await line.getByLabel('Reason').fill('no')
      await line.locator('.leave').getByRole('button', { name: 'Leave out' }).click()
      expect(await line.getByText('Say why').isVisible()).toBe(true)
      await line.getByLabel('Reason').fill('band not used here')
      await line.locator('.leave').getByRole('button', { name: 'Leave out' }).click()
      await page.locator('.steps').waitFor({ state: 'detached' })
      await page.getByRole('button', { name: 'Steps' }).click()
      await page.locator('.steps li', { hasText: 'A5' }).getByRole('button', { name: 'Open again' }).click()
      await expect.poll(() => service.asked.length).toBe(2)
      expect(service.asked).toMatchObject([
        { kind: 'leave out', step: 'ends', reason: 'band not used here' },
        { kind: 'open step', step: 'control' },
      ])
    })

    test('something odd happened: what led to it is kept, where is said, and the page stays as it is', async () => {
      service.answerWith(() => ({ ok: true, words: 'what happened is kept in data/courses/a.course.gz' }))
      await show(WATCHING)
      await page.getByRole('button', { name: 'Change' }).click()
      await page.getByRole('button', { name: 'Keep what happened' }).click()
      await page.getByText('what happened is kept in data/courses/a.course.gz').first().waitFor()
      expect(kinds()).toEqual(['keep course'])
      expect(await page.getByRole('button', { name: 'Keep what happened' }).isVisible()).toBe(true)
      service.answerWith(() => ({ ok: true, words: '' }))
    })

    test('a page that does not steer asks for it, sets its own screen, and has no other button but STOP', async () => {
      service.send({ kind: 'role', steering: 'another', asked: false })
      await show(FIXTURES.steady)
      expect(await page.getByText('Another page steers').isVisible()).toBe(true)
      const buttons = (await page.getByRole('button').allTextContents()).map((text) => text.replace(/\s+/g, ' '))
      expect(buttons).toEqual(['This screen', 'Steer from here', 'STOPsupply off'])
      await page.getByRole('button', { name: 'Steer from here' }).click()
      await expect.poll(kinds).toEqual(['steer'])
    })
  })

  test('a watch can be changed, beginning with what is watched, or left as it is', async () => {
    await show(WATCHING)
    await page.getByRole('button', { name: 'Change' }).click()
    expect(await page.getByLabel('Frequency').isChecked()).toBe(true)
    expect(await page.locator('.gauge-box').isVisible()).toBe(false)
    await page.getByRole('button', { name: 'Back to the gauge' }).click()
    await page.locator('.gauge-box').waitFor({ state: 'visible' })
    expect(service.asked).toEqual([])
  })

  describe('when the service goes', () => {
    test('the number is struck out and the hand told to stop at once; the page comes back by itself', async () => {
      await show(FIXTURES.near)
      service.drop()
      await page.locator('.guide').getByText('Do not turn', { exact: true }).waitFor({ timeout: 1_000 })
      expect(await page.locator('.digits.struck').isVisible()).toBe(true)
      service.back()
      await expect.poll(() => service.protocols.length, { timeout: 5_000 }).toBe(2)
      await show(FIXTURES.near)
      expect(await page.locator('.digits.struck').count()).toBe(0)
      stage.complaints.length = 0
      expect(await page.getByText('Bring it up a little').isVisible()).toBe(true)
    })

    test('frames that stop coming turn old by the service clock after the 900 ms of the reading', async () => {
      await show(FIXTURES.in, 900)
      await page.waitForFunction(() => document.body.dataset.hatch === 'old', null, { timeout: 2_000 })
    })
  })

  test('sound is held back until the first touch, and the page says so', async () => {
    await show(FIXTURES.far)
    expect(await page.locator('.news').textContent()).toBe('sound is held back by the browser: touch the page')
    await page.mouse.click(640, 300)
    await expect.poll(() => page.locator('.news').textContent()).toBe('')
  })

  test('a step that an open microphone would spoil asks about headphones once', async () => {
    await page.mouse.click(2, 2)
    const deviation = frame({
      reading: reading({ quantity: 'FM deviation', value: 1800, digits: '1.80', unit: 'kHz' }),
    })
    await show(deviation)
    await page.getByText('Do you wear headphones?').waitFor()
    await page.getByRole('button', { name: 'Stay silent' }).click()
    await expect.poll(() => page.locator('.news').textContent()).toBe('silent: the microphone would hear it')
  })

  test('dark ground and sound level are kept on this device', async () => {
    await show(FIXTURES.idle)
    await page.getByText('Dark ground').click()
    await page.getByText('events only').click()
    await page.reload()
    expect(await page.locator('html').getAttribute('data-ground')).toBe('dark')
    expect(await page.getByLabel('events only').isChecked()).toBe(true)
  })

  test('the peg does not glide where movement is not wanted', async () => {
    await show(FIXTURES.far)
    const duration = () => page.locator('.peg').evaluate((peg) => getComputedStyle(peg).transitionDuration)
    expect(await duration()).toBe('0.15s')
    await page.emulateMedia({ reducedMotion: 'reduce' })
    expect(await duration()).toBe('0s')
  })

  test('digits are kept from screen readers; one polite region speaks', async () => {
    await show(FIXTURES.captured)
    expect(await page.locator('.gauge-box').getAttribute('aria-live')).toBe('off')
    expect(await page.locator('[aria-live=polite]').count()).toBe(1)
    await expect.poll(() => page.getByRole('status').textContent(), { timeout: 4_000 }).toBe('captured 3.85 W')
  })

  test('every frame is painted, and one costs at most 10 ms of computing time in the page', async () => {
    const session = await page.context().newCDPSession(page)
    await session.send('Performance.enable', { timeDomain: 'threadTicks' })
    const spentS = async () => {
      const { metrics } = await session.send('Performance.getMetrics')
      return metrics.find(({ name }) => name === 'TaskDuration')?.value ?? Number.NaN
    }
    const moving = (at: number) => {
      const peg = { e: 2 + (at % 7), halfE: 0.3, ragged: 0.2, drop: 0 }
      return frame({ state: 'far', peg, key: keyed(at / 10), reading: reading({ digits: (4 + at / 50).toFixed(2) }) })
    }
    await show(moving(0))
    const beforeS = await spentS()
    for (let at = 1; at <= 40; at += 1) await show(moving(at))
    expect(((await spentS()) - beforeS) / 40).toBeLessThanOrEqual(0.01)
  })
})

test('the whole page is under 120 kB gzipped and brings no schema library', async () => {
  const files = await readdir(stage.dist, { recursive: true, withFileTypes: true })
  const contents = await Promise.all(
    files
      .filter((file) => file.isFile() && !file.parentPath.endsWith('handbook'))
      .map((file) => readFile(join(file.parentPath, file.name))),
  )
  const bytes = contents.reduce((sum, content) => sum + gzipSync(content).length, 0)
  expect(bytes).toBeLessThan(120_000)
  expect(contents.map(String).join('')).not.toMatch(/ZodError|strictObject|discriminatedUnion/)
})

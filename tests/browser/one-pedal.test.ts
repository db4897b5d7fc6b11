import { describe, expect, test, vi } from 'vitest'
import { fastJobByOnePedal } from '../kit/job/one-pedal.ts'
import { NO_CHROMIUM } from '../kit/program/chromium.ts'

vi.setConfig({ testTimeout: 330_000 })
if (NO_CHROMIUM !== '') console.log(`skipped: ${NO_CHROMIUM}`)

describe.skipIf(NO_CHROMIUM !== '')('one pedal and the set', () => {
  test('do the whole transmit sheet: nothing else of the page is touched, but for the settings that are typed', async () => {
    const { done, presses, stops, odd, opened, refused, verified } = await fastJobByOnePedal({
      procedure: 'procedures/brackwater-27m-transmit.yaml',
      sheet: 'Brackwater 27-M, transmit side',
      longestS: 300,
    })
    expect(done.steps.filter(({ state }) => state !== 'done' && state !== 'left out')).toEqual([])
    expect(done.steps.length).toBeGreaterThan(25)
    expect({ stops, odd, refused }).toEqual({ stops: [], odd: [], refused: [] })
    expect(
      opened.filter((step) => step !== 'drive'),
      'but the coils, where a band end came out weak',
    ).toEqual([])
    expect(presses.length).toBeGreaterThan(20)
    expect(verified.out).toContain('values and verdicts worked out again')
    expect(verified.code).toBe(0)
  })
})

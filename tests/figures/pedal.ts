import { jobByOnePedal } from '../kit/job/one-pedal.ts'
import type { Figure } from './figure.ts'

/** page.pedal: steps of the whole transmit sheet that end done or are left out by the rule card, done in a browser by one pedal and the set's page. */
export async function pedalFigures(): Promise<readonly Figure[]> {
  const { done, presses, stops, odd, opened, refused, verified } = await jobByOnePedal({
    sheet: 'Brackwater 27-M, transmit side',
    pace: 4,
    longestS: 600,
  })
  const over = done.steps.filter(({ state }) => state === 'done' || state === 'left out')
  const wrong = [...odd, ...refused, ...done.steps.filter((step) => !over.includes(step)).map(({ row }) => row)]
  return [
    {
      name: 'page.pedal',
      ours: over.length,
      reference: done.steps.length,
      ratio: over.length / done.steps.length,
      unit: 'steps',
      against: `steps of the whole transmit sheet in headless Chromium at four times life, by ${presses.length} presses of one pedal, the settings typed${opened.length > 0 ? `, ${opened.join(', ')} opened again in the list of steps` : ''}; ${stops.length} stops for safety gone on from by hand${stops.length > 0 ? ` (${[...new Set(stops)].join('; ')})` : ''}; record: exit ${verified.code}${wrong.length > 0 ? `; ${wrong.join('; ')}` : ''}; to reach 1`,
    },
  ]
}

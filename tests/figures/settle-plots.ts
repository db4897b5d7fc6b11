import { warmUpOf } from '../../src/core/warm-up/warm-up.ts'
import { seededRng } from '../../src/system/rng.ts'
import { ENDS_AT_HZ, hzOf, watchSet } from '../kit/peaking/warm-sets.ts'
import { DISTURBANCES, disturbedBy } from '../kit/settling/settle-disturbances.ts'
import { FAMILIES, METERS, type Meter, type TrueRecord } from '../kit/settling/settle-families.ts'
import { byRange, bySettling, recordsOf } from '../kit/settling/settle-trial.ts'
import { BLUE, GREEN, GREY, INK, ORANGE, type Plot } from './plots.ts'

const SEED = 41
const EVERY_S = 0.1

/** One record of each family and of each disturbance: what was true, what was declared, when, by ours and by the popular test. */
export function settlePlots(): Readonly<Record<string, Plot>> {
  const meter = METERS[1]
  if (!meter) throw new Error('no meter')
  const families = FAMILIES.map((family) => {
    const record = recordsOf(family, meter, 3, SEED).at(-1)
    if (!record) throw new Error('no record')
    return [`settle-${slug(family)}`, plotOf(record, meter, `${family}, ${meter.name} delta`)] as const
  })
  const disturbed = Object.keys(DISTURBANCES).map((name) => {
    const one = disturbedBy(name, 1, SEED)[0]
    if (!one) throw new Error('no record')
    return [`settle-with-${slug(name)}`, plotOf(one.record, one.meter, `${name}, on a ${one.record.family}`)] as const
  })
  return Object.fromEntries([...families, ...disturbed, ['warm-up', warmUpPlot()] as const])
}

function plotOf(record: TrueRecord, meter: Meter, title: string): Plot {
  const ours = bySettling()(record, meter)
  const popular = byRange(record, meter)
  const until = Math.min(45, Math.max(15, (ours?.atS ?? 24) + 7, (popular?.atS ?? 0) + 7, (record.stillFromS ?? 0) + 7))
  const samples = record.samples.filter(({ atS }) => atS <= until)
  const times = Array.from({ length: Math.floor(until / EVERY_S) + 1 }, (_, index) => index * EVERY_S)
  const marks = [
    ...(record.stillFromS === null ? [] : [{ x: record.stillFromS, word: 'still from here', colour: INK }]),
    ...(record.touchedS === null ? [] : [{ x: record.touchedS, word: 'touched', colour: GREY }]),
    ...(ours ? [{ x: ours.atS, word: `settled at ${ours.atS.toFixed(1)} s`, colour: GREEN }] : []),
    ...(popular ? [{ x: popular.atS, word: `range test at ${popular.atS.toFixed(1)} s`, colour: ORANGE }] : []),
  ]
  return {
    title,
    says: 'one record in units of delta; the bands are what each capture promises for the next 5 s',
    xLabel: 's',
    yLabel: 'delta',
    series: [
      { name: 'true', as: 'line', colour: INK, points: times.map((atS) => [atS, record.truth(atS)] as const) },
      {
        name: 'readings that count',
        as: 'dots',
        colour: BLUE,
        points: samples.map(({ atS, value }) => [atS, value] as const),
      },
      { name: 'captured', as: 'rings', colour: GREEN, points: ours ? [[ours.atS, ours.value]] : [] },
      { name: 'by the range test', as: 'rings', colour: ORANGE, points: popular ? [[popular.atS, popular.value]] : [] },
    ],
    strips: [
      ...(ours
        ? [{ x: [ours.atS, ours.atS + 5] as const, y: [ours.value - 1, ours.value + 1] as const, colour: GREEN }]
        : []),
      ...(popular
        ? [
            {
              x: [popular.atS, popular.atS + 5] as const,
              y: [popular.value - 1, popular.value + 1] as const,
              colour: ORANGE,
            },
          ]
        : []),
    ],
    marks,
  }
}

function warmUpPlot(): Plot {
  const set = { awayHz: 110, tauS: 480 }
  const said: { minutes: number; end: number; doubt: number; hz: number }[] = []
  let readyMin: number | null = null
  for (const { atS, hz, state } of watchSet(set, seededRng(SEED), { everyS: 30, untilS: 1800, driftHzPerMin: 2 })) {
    const view = warmUpOf(state, atS)
    if (view.verdict === 'ready') readyMin ??= atS / 60
    if (view.endHz !== null && view.endDoubtHz !== null)
      said.push({ minutes: atS / 60, end: view.endHz - ENDS_AT_HZ, doubt: view.endDoubtHz, hz: hz - ENDS_AT_HZ })
  }
  const times = Array.from({ length: 181 }, (_, index) => index / 6)
  const inside = (value: number) => Math.max(-150, Math.min(150, value))
  return {
    title: 'warm-up: 110 Hz to go, 480 s, a sample each 30 s',
    says: 'what the end is predicted to be, with its 95 % doubt, against the end that it comes to (0 Hz)',
    xLabel: 'min',
    yLabel: 'Hz from the true end',
    series: [
      {
        name: 'true',
        as: 'line',
        colour: INK,
        points: times.map((minutes) => [minutes, hzOf(set, 60 * minutes) - ENDS_AT_HZ] as const),
      },
      { name: 'samples', as: 'dots', colour: BLUE, points: said.map(({ minutes, hz }) => [minutes, hz] as const) },
      {
        name: 'predicted end',
        as: 'line',
        colour: GREEN,
        points: said.map(({ minutes, end }) => [minutes, inside(end)] as const),
      },
      {
        name: 'doubt, upper',
        as: 'dashes',
        colour: GREEN,
        points: said.map(({ minutes, end, doubt }) => [minutes, inside(end + doubt)] as const),
      },
      {
        name: 'doubt, lower',
        as: 'dashes',
        colour: GREEN,
        points: said.map(({ minutes, end, doubt }) => [minutes, inside(end - doubt)] as const),
      },
    ],
    marks: readyMin === null ? [] : [{ x: readyMin, word: `below 2 Hz/min at ${readyMin} min`, colour: ORANGE }],
  }
}

/** Points of the trade-off: false declarations, %, against the median delay, s. */
export interface TradeOff {
  readonly name: string
  readonly points: readonly { readonly falsePercent: number; readonly delayS: number }[]
}

export function tradeOffPlot(curves: readonly TradeOff[], about: string): Plot {
  const colours = [GREEN, INK, ORANGE]
  return {
    title: 'too early against too late',
    says: about,
    xLabel: 'median delay, s',
    yLabel: 'declared too early, %',
    series: curves.flatMap(({ name, points }, index) => {
      const colour = colours[index % colours.length] ?? INK
      const drawn = points.map(({ delayS, falsePercent }) => [delayS, Math.min(40, falsePercent)] as const)
      return [
        { name, as: 'line' as const, colour, points: drawn },
        { name: '', as: 'rings' as const, colour, points: drawn },
      ]
    }),
  }
}

const slug = (name: string) => name.replaceAll(/[^a-z0-9]+/g, '-').replace(/-$/, '')

import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import { loadPlans, loadProcedure } from '../../src/commands/load-procedures.ts'
import { unitOf } from '../../src/quantity/quantity.ts'

const root = join(import.meta.dirname, '..', '..')

/** One line of a table whose cells may be in quotes. */
const cells = (line: string) =>
  [...line.matchAll(/(?:^|,)(?:"([^"]*)"|([^,]*))/g)].map((match) => match[1] ?? match[2] ?? '')

/** Published limits, each marked READ or MEMORY, with its source where it was read. */
const limits = readFileSync(join(root, 'tests', 'reference', 'limits.csv'), 'utf8')
  .trim()
  .split('\n')
  .slice(1)
  .map((line) => {
    const [
      service = '',
      parameter = '',
      condition = '',
      lower = '',
      upper = '',
      unit = '',
      clause = '',
      mark = '',
      source = '',
    ] = cells(line)
    const edge = (text: string) => (text === '' ? null : Number(text))
    return { service, parameter, condition, lower: edge(lower), upper: edge(upper), unit, clause, mark, source }
  })
const read = limits.filter(({ mark }) => mark.startsWith('READ'))

test('the table of limits is whole: every row has a mark, and what was read says where', () => {
  expect(limits.length).toBeGreaterThan(70)
  expect(limits.filter(({ mark }) => !/^(READ|MEMORY)/.test(mark))).toEqual([])
  expect(read.filter(({ source }) => source === '')).toEqual([])
  expect(limits.some(({ mark }) => mark.startsWith('MEMORY'))).toBe(true)
})

/** Which services of the table a job on a channel plan is under. */
const SERVICES: Readonly<Record<string, Readonly<Record<'FM' | 'AM', readonly string[]>>>> = {
  'cept-40': { FM: ['CB EU', 'CB EU FM'], AM: ['CB EU', 'CB EU AM DSB'] },
  'de-80': { FM: ['CB EU', 'CB EU FM'], AM: ['CB EU', 'CB EU AM DSB'] },
  'pl-40': { FM: ['CB EU', 'CB EU FM'], AM: ['CB EU', 'CB EU AM DSB'] },
  'uk-27-81': { FM: ['CB UK 27/81 FM'], AM: [] },
  'us-40': { FM: ['CB US', 'CB US AM/FM', 'CB US FM'], AM: ['CB US', 'CB US AM/FM', 'CB US AM'] },
  'marine-vhf': { FM: ['MARINE VHF'], AM: [] },
  'pmr446-16': { FM: ['PMR446'], AM: [] },
}
/** Which parameters of the table a measured quantity may be held against. */
const PARAMETERS: Readonly<Record<string, readonly string[]>> = {
  'RF power': ['carrier power', 'mean carrier power'],
  frequency: ['frequency error', 'frequency accuracy'],
  'FM deviation': ['peak frequency deviation', 'maximum frequency deviation'],
  'AM depth': ['modulation with voice', 'automatic modulation limiting'],
}

interface Shipped {
  readonly plan: string
  readonly mode: 'FM' | 'AM'
  readonly quantity: string
  readonly side: 'lower' | 'upper'
  readonly edge: number
  readonly unit: string
}

/** Whether the table has this edge as READ, for this service and this parameter, on this side. */
function wasRead({ plan, mode, quantity, side, edge, unit }: Shipped): boolean {
  const services = SERVICES[plan]?.[mode] ?? []
  const parameters = PARAMETERS[quantity] ?? []
  return read.some(
    (limit) =>
      services.includes(limit.service) &&
      parameters.includes(limit.parameter) &&
      limit.unit === unit &&
      limit[side] === edge,
  )
}

const plans = loadPlans()
const shipped = readdirSync(join(root, 'procedures'))
  .filter((name) => name.endsWith('.yaml'))
  .flatMap((name) => {
    const { bands, steps } = loadProcedure(join(root, 'procedures', name), plans).procedure
    const used = Object.values(bands).flatMap((band) => (band.use === 'yes' ? [band.plan] : []))
    return steps.flatMap((step) =>
      step.kind === 'measure' && step.rule
        ? ([['lower', step.rule.low] as const, ['upper', step.rule.high] as const] as const).flatMap(([side, edge]) =>
            edge === null
              ? []
              : used.map((plan) => ({
                  file: name,
                  id: step.id,
                  plan,
                  mode: step.mode,
                  quantity: step.quantity,
                  side,
                  edge,
                  unit: unitOf(step.quantity),
                })),
          )
        : [],
    )
  })

describe('rule limits that are shipped', () => {
  test('there are some', () => expect(shipped.length).toBeGreaterThan(0))

  test.each(shipped)('$file, $id: $edge $unit was read for $quantity in $plan $mode, not remembered', (limit) => {
    expect(wasRead(limit)).toBe(true)
  })
})

describe('a limit is tied to service, parameter and side', () => {
  const power = { plan: 'cept-40', mode: 'FM', quantity: 'RF power', side: 'upper', edge: 4, unit: 'W' } as const

  test.each<{ why: string; limit: Shipped; answer: boolean }>([
    { why: '4 W of FM carrier', limit: power, answer: true },
    {
      why: '12 W of FM carrier: that is the peak envelope of single sideband',
      limit: { ...power, edge: 12 },
      answer: false,
    },
    { why: '4 W as the least', limit: { ...power, side: 'lower' }, answer: false },
    { why: '4 W of marine VHF: another service', limit: { ...power, plan: 'marine-vhf' }, answer: false },
    { why: '4 W of a quantity that is no power', limit: { ...power, quantity: 'FM deviation' }, answer: false },
    {
      why: '2.5 kHz of deviation in the European forty: that is the United Kingdom before 1997',
      limit: { ...power, quantity: 'FM deviation', edge: 2500, unit: 'Hz' },
      answer: false,
    },
    {
      why: '1.5 kHz of error at sea: from MEMORY',
      limit: { ...power, plan: 'marine-vhf', quantity: 'frequency', edge: 1500, unit: 'Hz' },
      answer: false,
    },
  ])('$why: $answer', ({ limit, answer }) => {
    expect(wasRead(limit)).toBe(answer)
  })

  test('every service and parameter named here is one of the table', () => {
    const services = new Set(limits.map(({ service }) => service))
    const parameters = new Set(limits.map(({ parameter }) => parameter))
    const named = Object.values(SERVICES).flatMap(({ FM, AM }) => [...FM, ...AM])
    expect(named.filter((service) => !services.has(service))).toEqual([])
    expect(
      Object.values(PARAMETERS)
        .flat()
        .filter((parameter) => !parameters.has(parameter)),
    ).toEqual([])
  })
})

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
    const edges = [lower, upper].filter((text) => text !== '').map(Number)
    return { service, parameter, condition, edges, unit, clause, mark, source }
  })
const read = limits.filter(({ mark }) => mark.startsWith('READ'))

test('the table of limits is whole: every row has a mark, and what was read says where', () => {
  expect(limits.length).toBeGreaterThan(70)
  expect(limits.filter(({ mark }) => !/^(READ|MEMORY)/.test(mark))).toEqual([])
  expect(read.filter(({ source }) => source === '')).toEqual([])
  expect(limits.some(({ mark }) => mark.startsWith('MEMORY'))).toBe(true)
})

const plans = loadPlans()
const shipped = readdirSync(join(root, 'procedures'))
  .filter((name) => name.endsWith('.yaml'))
  .flatMap((name) =>
    loadProcedure(join(root, 'procedures', name), plans).procedure.steps.flatMap((step) =>
      step.kind === 'measure' && step.rule
        ? [step.rule.low, step.rule.high]
            .filter((edge) => edge !== null)
            .map((edge) => ({ file: name, id: step.id, edge, unit: unitOf(step.quantity) }))
        : [],
    ),
  )

describe('rule limits that are shipped', () => {
  test('there are some', () => expect(shipped.length).toBeGreaterThan(0))

  test.each(shipped)('$file, $id: $edge $unit was read, not remembered', ({ edge, unit }) => {
    expect(read.some((limit) => limit.unit === unit && limit.edges.includes(edge))).toBe(true)
  })
})

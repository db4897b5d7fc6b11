import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { basename, join } from 'node:path'
import type { Offered, OfferedCard } from '../alignment/session.ts'
import { BenchError } from '../fault/bench-error.ts'
import { ChannelPlan } from '../schema/channel-plan.ts'
import { Procedure } from '../schema/procedure-file.ts'
import { RuleCard } from '../schema/rule-card.ts'
import { readYamlFile } from '../schema/yaml-door.ts'
import { HOME } from './home.ts'

/** Every channel plan under procedures/plans, by its id. Throws SCHEMA_REJECTED for a wrong file. */
export function loadPlans(folder = join(HOME, 'procedures', 'plans')): ReadonlyMap<string, ChannelPlan> {
  const plans = yamlFilesIn(folder).map((file) => readYamlFile(file, ChannelPlan))
  return new Map(plans.map((plan) => [plan.id, plan]))
}

/** Reads one procedure file. Throws SCHEMA_REJECTED, with line and column, or SCHEMA_FILE_MISSING. */
export function loadProcedure(file: string, plans: ReadonlyMap<string, ChannelPlan>): Offered {
  const procedure = readYamlFile(file, Procedure)
  const missing = Object.values(procedure.bands).find((use) => !plans.has(use.plan))
  if (missing)
    throw new BenchError(
      'SCHEMA_REJECTED',
      file,
      `bands: there is no channel plan "${missing.plan}"; the plans are ${[...plans.keys()].join(', ')}`,
    )
  return { file: basename(file), procedure, text: readFileSync(file, 'utf8') }
}

/** Every procedure under procedures/. */
export function loadProcedures(
  plans: ReadonlyMap<string, ChannelPlan>,
  folder = join(HOME, 'procedures'),
): readonly Offered[] {
  return yamlFilesIn(folder).map((file) => loadProcedure(file, plans))
}

/** Every rule card under procedures/rules; none is needed. Throws SCHEMA_REJECTED for a wrong one. */
export function loadRuleCards(folder = join(HOME, 'procedures', 'rules')): readonly OfferedCard[] {
  if (!existsSync(folder)) return []
  return yamlFilesIn(folder).map((file) => ({
    file: basename(file),
    card: readYamlFile(file, RuleCard),
    text: readFileSync(file, 'utf8'),
  }))
}

function yamlFilesIn(folder: string): readonly string[] {
  return readdirSync(folder)
    .filter((name) => name.endsWith('.yaml'))
    .toSorted((a, b) => (stem(a) < stem(b) ? -1 : 1)) // a whole sheet stands before what is cut from it
    .map((name) => join(folder, name))
}

const stem = (name: string) => name.slice(0, -'.yaml'.length)

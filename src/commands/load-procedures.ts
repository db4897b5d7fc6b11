import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { basename, join } from 'node:path'
import type { Offered, OfferedCard, WrongFile } from '../alignment/offered.ts'
import { procedureFaults } from '../core/plan/procedure-faults.ts'
import { BenchError } from '../fault/bench-error.ts'
import { HOME } from '../recording/home.ts'
import { readYamlFile, refusalsOf } from '../schema/door/yaml-door.ts'
import { ChannelPlan } from '../schema/files/channel-plan.ts'
import { Procedure } from '../schema/files/procedure-file.ts'
import { RuleCard } from '../schema/files/rule-card.ts'
import { misspeltPlaces } from '../schema/files/where.ts'

/** Told of each file that is wrong: it is left out, and the good ones are offered. */
type TellWrong = (wrong: WrongFile) => void

/** Every channel plan under procedures/plans, by its id; `wrong` is told of the files that are not right. */
export function loadPlans(
  folder = join(HOME, 'procedures', 'plans'),
  wrong: TellWrong = () => {},
): ReadonlyMap<string, ChannelPlan> {
  const plans = yamlFilesIn(folder).flatMap((file) => unlessWrong(file, wrong, () => readYamlFile(file, ChannelPlan)))
  return new Map(plans.map((plan) => [plan.id, plan]))
}

/** Reads one procedure file. Throws SCHEMA_REJECTED, with line and column, or SCHEMA_FILE_MISSING. */
export function loadProcedure(file: string, plans: ReadonlyMap<string, ChannelPlan>): Offered {
  const procedure = readYamlFile(file, Procedure, {
    further: (read) => [...misspeltPlaces(read), ...procedureFaults(read, plans)],
  })
  return { file: basename(file), procedure, text: readFileSync(file, 'utf8') }
}

/** Every procedure under procedures/ that is right; `wrong` is told of the others. */
export function loadProcedures(
  plans: ReadonlyMap<string, ChannelPlan>,
  folder = join(HOME, 'procedures'),
  wrong: TellWrong = () => {},
): readonly Offered[] {
  return yamlFilesIn(folder).flatMap((file) => unlessWrong(file, wrong, () => loadProcedure(file, plans)))
}

/** Every rule card under procedures/rules that is right; none is needed. `wrong` is told of the others. */
export function loadRuleCards(
  folder = join(HOME, 'procedures', 'rules'),
  wrong: TellWrong = () => {},
): readonly OfferedCard[] {
  if (!existsSync(folder)) return []
  return yamlFilesIn(folder).flatMap((file) =>
    unlessWrong(file, wrong, () => ({
      file: basename(file),
      card: readYamlFile(file, RuleCard),
      text: readFileSync(file, 'utf8'),
    })),
  )
}

function unlessWrong<T>(file: string, wrong: TellWrong, read: () => T): readonly T[] {
  try {
    return [read()]
  } catch (error) {
    if (!(error instanceof BenchError)) throw error
    wrong({ file: basename(file), words: refusalsOf(error) })
    return []
  }
}

function yamlFilesIn(folder: string): readonly string[] {
  return readdirSync(folder)
    .filter((name) => name.endsWith('.yaml'))
    .toSorted((a, b) => (stem(a) < stem(b) ? -1 : 1)) // a whole sheet stands before what is cut from it
    .map((name) => join(folder, name))
}

const stem = (name: string) => name.slice(0, -'.yaml'.length)

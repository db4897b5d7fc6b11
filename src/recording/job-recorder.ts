import { randomBytes } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { readFile } from 'node:fs/promises'
import { basename } from 'node:path'
import type { OfferedCard } from '../alignment/offered.ts'
import type { ClosedJob, JobStart, JobWriter, OpenJob, Recorder } from '../alignment/recorder.ts'
import type { Bench, InstrumentInfo } from '../bench/bench.ts'
import type { LoadedBench } from '../bench/load-bench.ts'
import { effectsFrom, NO_EFFECTS } from '../core/homing/effect.ts'
import { tripNotCovered } from '../core/plan/raising.ts'
import { driverText } from '../instrument/load-driver.ts'
import { sha256 } from '../record/chain.ts'
import { continueJournal, type Journal, journalsIn, openJournal } from '../record/journal.ts'
import { upgradedValue } from '../record/older-values.ts'
import { signJournal, signLeftOver } from '../record/sign.ts'
import { readYamlText } from '../schema/door/yaml-door.ts'
import { Procedure } from '../schema/files/procedure-file.ts'
import { RuleCard } from '../schema/files/rule-card.ts'
import { type JobHeader, JournalLine } from '../schema/kept/record.ts'
import type { Clock } from '../system/clock.ts'
import type { Log } from '../system/log.ts'
import { said } from '../words/said/said.ts'
import { earlierJob, entryOf, foundIn, knownJob, rememberedOf, withEarlier } from './earlier-job.ts'
import { PROGRAM } from './program.ts'

/** Where jobs are written down, and what their heads say of the bench. */
export interface RecorderNeeds {
  readonly folder: string
  readonly bench: Bench
  readonly benchFile: string
  readonly loaded: LoadedBench
  readonly driverFolder: string
  readonly ruleCards: readonly OfferedCard[]
  readonly clock: Pick<Clock, 'wallTime'>
  readonly log: Log
}

/** Writes each job of a bench down under a data folder, and signs it there. */
export function jobRecorder(about: RecorderNeeds): Recorder {
  const { folder, bench, clock, log } = about
  return {
    start: async ({ plan, offered, complaint, bands, continues }) => {
      const at = clock.wallTime()
      const before = continues === '' ? null : await earlierJob(folder, continues, plan.serial, bench.simulated)
      const own = [...new Set(plan.meters.map(({ driver }) => driver))].map((id) => ({
        id,
        ...kept(`${id}.yaml`, driverText(about.driverFolder, id)),
      }))
      const header = headerOf(about, { plan, offered, complaint, bands }, { at, own, before })
      const earlier = before ? foundIn(before, plan, own) : []
      const journal = await openJournal({ folder, header, clock })
      await Promise.all(earlier.map((entry) => journal.append(entry)))
      return { writer: writerOf(journal, header.job, folder), earlier: earlier.flatMap(rememberedOf) }
    },
    jobs: async () => {
      for (const { journal, signed, why } of await signLeftOver(folder))
        log[signed ? 'info' : 'warn']({ journal, why }, 'a closed job without its record')
      const ends = await Promise.all((await journalsIn(folder)).toReversed().map(endsOf))
      return { open: ends.flatMap(openJob), closed: ends.flatMap(closedJob).slice(0, MOST_CLOSED) }
    },
    learned: async (title, simulated) => {
      for (const file of (await journalsIn(folder)).toReversed().slice(0, MOST_CLOSED)) {
        const { first, last } = await endsOf(file)
        if (first?.kind !== 'opened' || last?.kind !== 'closed' || last.effects.length === 0) continue
        const { header } = first
        if (header.procedure.title === title && header.simulated === simulated) return effectsFrom(last.effects)
      }
      return NO_EFFECTS
    },
    reopen: async (job) => {
      const { file, header, lines } = await knownJob(folder, job)
      const { procedure, ruleCard, serial, bands } = header
      const read = readYamlText(procedure.text, `${procedure.file} in ${job}`, Procedure)
      const card = ruleCard ? readYamlText(ruleCard.text, `${ruleCard.file} in ${job}`, RuleCard) : null
      return {
        offered: { file: procedure.file, procedure: read, text: procedure.text },
        card,
        serial,
        bands,
        intake: header.intake,
        supplyTrip: header.supplyTrip,
        remembered: lines.map(entryOf).flatMap(rememberedOf),
        goOn: async () => {
          const journal = await continueJournal(file, clock)
          if (header.program !== PROGRAM) void tellProgram(journal, log)
          return writerOf(journal, job, folder)
        },
      }
    },
  }
}

/** All that is known of a job when it begins. `own`: its drivers as they are now; `before`: the job that it continues. */
function headerOf(
  about: RecorderNeeds,
  { plan, offered, complaint, bands }: Omit<JobStart, 'continues'>,
  from: {
    readonly at: string
    readonly own: Parameters<typeof withEarlier>[0]
    readonly before: Awaited<ReturnType<typeof earlierJob>> | null
  },
): JobHeader {
  const { bench, loaded } = about
  const { at, own, before } = from
  const card = about.ruleCards.find((one) => one.card === plan.ruleCard)
  return {
    format: 1,
    job: jobId(at, plan.serial),
    program: PROGRAM,
    simulated: bench.simulated,
    serial: plan.serial,
    complaint,
    intake: plan.intake,
    procedure: { title: plan.procedure.title, ...kept(offered.file, offered.text) },
    covers: plan.procedure.covers,
    notCovered: [...plan.procedure.notCovered, ...tripNotCovered(plan.supplyTrip, plan.procedure.set)],
    bench: { name: bench.name, ...kept(basename(about.benchFile), readFileSync(about.benchFile, 'utf8')) },
    drivers: withEarlier(own, before),
    instruments: bench.instruments().map((one) => instrumentOf(one, loaded, at)),
    supplyTrip: plan.supplyTrip,
    ruleCard: card
      ? { title: card.card.title, source: card.card.source, date: card.card.date, ...kept(card.file, card.text) }
      : null,
    bands: [...bands],
    continues: before ? { job: before.header.job, at: before.at, head: before.head } : null,
    decisionRule: plan.decision,
    steps: plan.lines.map(({ pass, step, leftOut }) => ({
      step: step.id,
      pass,
      row: step.row,
      title: step.title,
      leftOut,
    })),
  }
}

/** From here on another program writes than the one that the head names. */
async function tellProgram(journal: Journal, log: Log): Promise<void> {
  try {
    await journal.append({ kind: 'event', what: 'program', words: said('record.gone-on-by', { program: PROGRAM }) })
  } catch (err) {
    log.warn({ err }, 'the program that goes on could not be written down') // the journal itself says it at its next entry
  }
}

function writerOf(journal: Journal, jobId: string, folder: string): JobWriter {
  return {
    jobId,
    write: (entry) => journal.append(entry),
    leave: () => journal.close(),
    sign: async () => {
      await journal.close()
      return signJournal(journal.file, folder)
    },
  }
}

/** A journal by its first and last line alone: a folder of many is looked through at every start. */
interface Ends {
  readonly first: JournalLine | null
  readonly last: JournalLine | null
  readonly captured: number
}

async function endsOf(file: string): Promise<Ends> {
  const text = await readFile(file, 'utf8').catch(() => '')
  const texts = text.slice(0, text.lastIndexOf('\n')).split('\n')
  const captured = texts.filter((one) => one.includes('"kind":"captured"')).length
  return { first: lineIn(texts[0]), last: lineIn(texts.at(-1)), captured }
}

function openJob({ first, last, captured }: Ends): readonly OpenJob[] {
  if (first?.kind !== 'opened' || !last || last.kind === 'closed') return [] // verify and reopen say what is wrong with it
  const { job, serial, procedure } = first.header
  return [{ job, serial, procedure: procedure.title, startedAt: first.at, captured }]
}

/** So many of the newest closed jobs can be continued from the page. */
const MOST_CLOSED = 50

function closedJob({ first, last }: Ends): readonly ClosedJob[] {
  if (first?.kind !== 'opened' || last?.kind !== 'closed') return []
  const { job, serial, procedure } = first.header
  return [{ job, serial, procedure: procedure.title, closedAt: last.at }]
}

function lineIn(text: string | undefined): JournalLine | null {
  try {
    return JournalLine.safeParse(upgradedValue(JSON.parse(text ?? ''))).data ?? null
  } catch {
    return null
  }
}

/** "20261125-142210-SIM1-k3f9": sorts by time, and two at once differ. */
function jobId(at: string, serial: string): string {
  const time = at.replace(/[-:]/g, '').replace('T', '-').slice(0, 15)
  const name = serial.replace(/[^0-9A-Za-z]/g, '').slice(0, 20) || 'noserial'
  return `${time}-${name}-${randomBytes(2).toString('hex')}`
}

function kept(file: string, text: string) {
  return { file, sha256: sha256(text), text }
}

function instrumentOf(one: InstrumentInfo, loaded: LoadedBench, at: string): JobHeader['instruments'][number] {
  const entry = loaded.file.entries.find(({ name }) => name === one.name)
  const due = one.calibrationDue
  return {
    name: one.name,
    driver: one.driver,
    identity: one.identity,
    serial: one.serial,
    certificate: entry?.certificate ?? '',
    calibrationDue: due,
    due: due === null ? 'not said' : due < at.slice(0, 10) ? 'overdue' : 'in date',
    typed: entry?.at === null,
  }
}

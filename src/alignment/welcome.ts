import type { Bench } from '../bench/bench.ts'
import { quantitiesOf } from '../core/goal/goal.ts'
import { exampleTarget } from '../core/guidance/watch.ts'
import { tripCautions } from '../core/plan/raising.ts'
import { cautionsOfWatching } from '../core/plan/usual-cautions.ts'
import type { Quantity } from '../quantity/quantity.ts'
import type { Procedure } from '../schema/files/procedure-file.ts'
import type { PlaceOnBench, ToPage } from '../schema/messages/live-frame.ts'
import type { Offered, OfferedCard } from './offered.ts'

/** What a page is told first: what this bench measures, which procedures and rule cards can be chosen. `today`: a day like 2026-11-02. */
export function welcomeOf(
  bench: Bench,
  procedures: readonly Offered[],
  ruleCards: readonly OfferedCard[],
  setPage: string | null,
  today: string,
): Extract<ToPage, { kind: 'welcome' }> {
  return {
    kind: 'welcome',
    format: 1,
    bench: { name: bench.name, simulated: bench.simulated },
    measures: bench.meters.map(({ quantity, instrument }) => ({
      quantity,
      instrument,
      example: exampleTarget(quantity),
    })),
    procedures: procedures.map(({ file, procedure }) => ({
      file,
      title: procedure.title,
      bands: Object.entries(procedure.bands).map(([id, use]) => ({ id, words: use.words, use: use.use })),
      supplyCautions: tripCautions(bench.supplyTrip, procedure.set, today),
      watchCautions: cautionsOfWatching(procedure),
    })),
    ruleCards: ruleCards.map(({ file, card }) => ({
      file,
      title: card.title,
      allows: [card.modes.join(', '), ...(card.decision === 'simple acceptance' ? [] : [card.decision])].join('; '),
    })),
    wrongFiles: [],
    openJobs: [],
    closedJobs: [],
    setPage,
    places: placesOn(
      bench,
      procedures.map(({ procedure }) => procedure),
    ),
  }
}

/** Who is there for what: everything that the procedures need and everything that the bench has, each once, what is needed first. */
export function placesOn(
  bench: Pick<Bench, 'meters' | 'instruments' | 'sources'>,
  procedures: readonly Procedure[],
): readonly PlaceOnBench[] {
  const needed = new Set(procedures.flatMap(neededBy))
  const had: readonly PlaceOnBench['what'][] = bench.meters.map(({ quantity }) => quantity)
  const toneFrom = bench.sources.find(({ name }) => name === 'audio tone')?.instrument ?? null
  const made = toneFrom === null ? [] : (['tone'] as const)
  const instruments = new Map(bench.instruments().map((one) => [one.name, one]))
  return [...new Set([...needed, ...had, ...made])].map((what) => {
    const meter = what === 'tone' ? undefined : bench.meters.find(({ quantity }) => quantity === what)
    const instrument = what === 'tone' ? toneFrom : (meter?.instrument ?? null)
    const there = instruments.get(instrument ?? '')
    return {
      what,
      needed: needed.has(what),
      instrument,
      link: there === undefined ? 'none' : there.typed ? 'typed' : there.up ? 'up' : 'down',
      isolated: meter?.inputIsolated ?? 'yes',
      lossDb: meter?.pathLossDb ?? 0,
    }
  })
}

/** The supply's current is needed by every one: the limit and the key are known by it. */
function neededBy(procedure: Procedure): readonly (Quantity | 'tone')[] {
  const measured = procedure.steps.filter((step) => step.kind === 'measure')
  const tone = measured.some((step) => step.key?.tone != null) ? (['tone'] as const) : []
  return ['DC current', ...measured.flatMap(quantitiesOf), ...tone]
}

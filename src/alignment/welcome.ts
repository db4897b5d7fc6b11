import type { Bench } from '../bench/bench.ts'
import { exampleTarget } from '../core/watch.ts'
import type { ToPage } from '../schema/live-frame.ts'
import type { Offered, OfferedCard } from './session.ts'

/** What a page is told first: what this bench measures, which procedures and rule cards can be chosen. */
export function welcomeOf(
  bench: Bench,
  procedures: readonly Offered[],
  ruleCards: readonly OfferedCard[],
  setPage: string | null,
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
    })),
    ruleCards: ruleCards.map(({ file, card }) => ({
      file,
      title: card.title,
      allows: [card.modes.join(', '), ...(card.decision === 'simple acceptance' ? [] : [card.decision])].join('; '),
    })),
    openJobs: [],
    closedJobs: [],
    setPage,
  }
}

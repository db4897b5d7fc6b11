import { BenchError } from '../../fault/bench-error.ts'
import { said } from '../../words/said/said.ts'

/** The refusal of an order whose wish has ended: nobody wants it any more. */
export function deadWish(who: string): BenchError {
  return new BenchError('KEEPER_REFUSED', who, said('keeper.dead-wish'))
}

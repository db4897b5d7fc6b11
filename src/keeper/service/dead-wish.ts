import { BenchError } from '../../fault/bench-error.ts'

/** The refusal of an order whose wish has ended: nobody wants it any more. */
export function deadWish(who: string): BenchError {
  return new BenchError('KEEPER_REFUSED', who, 'it is not wanted any more')
}

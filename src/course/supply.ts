import type { Supply, SupplyLimits, Wish } from '../keeper/service/supply.ts'
import { readActed, readFailure, readState, readSupplyIs, readYes } from '../schema/course/course-value.ts'
import type { SupplyState } from '../schema/messages/keeper-message.ts'
import { errorFrom, type Form, failureOf, plain, type Side } from './side.ts'

const STATE = plain(readState)
const ACTED = plain(readActed)
const GONE: Form<Error> = { write: (error) => failureOf(error), read: (written) => errorFrom(readFailure(written)) }
const YES = plain(readYes)
const IS = plain(readSupplyIs)

/** What the job has of the supply, through the door: orders go out to `real` as they are given, what the keeper says comes in. */
export function supplyThrough(side: Side, real: Supply): Supply {
  let wishes = 0
  let is = { identity: '', simulated: false }

  const order = (what: string, about: unknown, give: () => Promise<SupplyState>) => {
    const id = side.number()
    side.did({ kind: 'ask', id, what, about })
    return side.settle(id, STATE, give)
  }

  const wish = (): Wish => {
    wishes += 1
    const what = `wish ${wishes}`
    side.did({ kind: 'ask', id: side.number(), what, about: null })
    const own = real.wish()
    return {
      get live() {
        return side.see(what, YES, () => own.live)
      },
      limits: (limits: SupplyLimits) => order(`${what}: limits`, limits, () => own.limits(limits)),
      set: (volts, amps) => order(`${what}: set`, { volts, amps }, () => own.set(volts, amps)),
      on: () => order(`${what}: on`, null, () => own.on()),
    }
  }

  /** The same object for as long as nothing changes. */
  const whatItIs = () => {
    const { identity, simulated } = real
    if (is.identity !== identity || is.simulated !== simulated) is = { identity, simulated }
    return is
  }

  return {
    get identity() {
      return side.see('the supply', IS, whatItIs).identity
    },
    get simulated() {
      return side.see('the supply', IS, whatItIs).simulated
    },
    latest: () => side.see('supply', STATE, () => real.latest()),
    wish,
    normal: (why) => order('normal', why, () => real.normal(why)),
    safe: (why) => order('safe', why, () => real.safe(why)),
    onState: (to) => side.listen('supply state', STATE, (tell) => real.onState(tell), to),
    onActed: (to) => side.listen('keeper acted', ACTED, (tell) => real.onActed(tell), to),
    onGone: (to) => side.listen('keeper gone', GONE, (tell) => real.onGone(tell), to),
    close: () => real.close(),
  }
}

import type { Lease, Taking } from '../../src/keeper/line/lease.ts'
import type { LeaseHolder } from '../../src/schema/messages/standby-message.ts'
import type { Host } from './host.ts'

/** The lease of the supply, freed by the system when its holder dies. */
export class SupplyLease {
  #held: { readonly host: Host; readonly holder: LeaseHolder } | null = null

  /** Taken for this process where nobody alive holds it. */
  take(host: Host, role: LeaseHolder['role']): Taking {
    if (this.#held?.host.alive) return { heldBy: this.#held.holder }
    const own = { host, holder: { pid: 1, start: host.name, role, who: 'supply' } }
    this.#held = own
    const isOurs = () => this.#held === own
    const lease: Lease = {
      isOurs,
      giveBack: () => {
        if (isOurs()) this.#held = null
      },
    }
    return { lease }
  }
}

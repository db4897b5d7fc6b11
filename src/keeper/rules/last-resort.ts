import type { SupplyReadBack } from '../../instrument/supply-port.ts'
import { said, type Words } from '../../words/said/said.ts'
import { inVolts } from './keeper-limits.ts'
import { offProved } from './keeper-safing.ts'
import { type Act, KEEPER } from './keeper-state.ts'

/** What a keeper that broke still needs. */
export interface LastResortNeeds {
  /** Performs one act within its deadline; a look gives what it read. */
  perform(act: Act): Promise<SupplyReadBack | null>
  /** The voltage setting goes down to this, V: normal, or the lowest where normal is not known. */
  readonly lowestVolts: number
  /** A moment before the next try; false: the time is up. */
  pause(): Promise<boolean>
  /** Told of what failed; tried again all the same. */
  failed(error: unknown): void
}

/** How it came out: the output proved off, and the voltage setting that could not be brought down, in words, else "". */
export interface LastResortEnd {
  readonly proved: boolean
  readonly leftHigh: Words
}

/**
 * Off and read back, over and over, asking nothing else, until it is proved or the time is up. After each off the voltage setting goes
 * down, proved or not, and never up; a setting that is not taken does not undo what was proved.
 */
export async function lastResort(needs: LastResortNeeds): Promise<LastResortEnd> {
  const { lowestVolts } = needs
  const isHigh = (back: SupplyReadBack | null) => back !== null && back.setVolts > lowestVolts + KEEPER.reachVolts
  let fromVolts: number | null = null
  let last: SupplyReadBack | null = null
  let lowerings = 0

  const look = async () => {
    last = (await needs.perform({ do: 'look' })) ?? last
    const isOff = last !== null && offProved(last, fromVolts)
    fromVolts ??= last?.volts ?? null
    return isOff
  }
  const lower = async () => {
    lowerings += 1
    await needs.perform({ do: 'volts', volts: lowestVolts }).catch(needs.failed)
    return look()
  }

  /** Off, read back, and the setting down where it is high. */
  const round = async (): Promise<LastResortEnd | null> => {
    await needs.perform({ do: 'off' })
    let isOff = await look()
    if (isHigh(last) && !(isOff && lowerings >= KEEPER.settingTries)) isOff = await lower()
    if (!isOff || (isHigh(last) && lowerings < KEEPER.settingTries)) return null
    return { proved: true, leftHigh: leftHigh() }
  }
  const leftHigh = () => (isHigh(last) ? highWords(last, lowestVolts) : '')

  for (;;) {
    try {
      const end = await round()
      if (end) return end
    } catch (error) {
      needs.failed(error)
    }
    if (!(await needs.pause())) return { proved: false, leftHigh: leftHigh() }
  }
}

function highWords(back: SupplyReadBack | null, lowestVolts: number): Words {
  return said('keeper.last-left-high', { from: inVolts(back?.setVolts ?? 0), to: inVolts(lowestVolts) })
}

import { BenchError } from '../fault/bench-error.ts'
import type { Wait } from '../transport/link.ts'
import type { Instrument } from './open-instrument.ts'

/** A box that is several instruments, one at a time: which of its functions it stands in. */
export interface Box {
  /** The function that it was put in; null while that is not known, and where the instrument is only one. */
  standsIn(): string | null
  /** Puts it in a function. Resolves with the time from now until a reading counts, ms. Throws INSTRUMENT_SETTING_DIFFERS, INSTRUMENT_REFUSED and what the link throws. */
  select(name: string | null, wait: Wait): Promise<number>
  /** Throws TypeError for a reading in a function that was not selected. */
  mind(name: string | null): void
  /** Asks it where it stands, if it can be asked. Throws INSTRUMENT_SETTING_DIFFERS where that is not `name`: somebody turned it by hand. */
  prove(name: string | null, wait: Wait): Promise<void>
  forget(): void
}

/** The functions of an opened instrument's driver. */
export function openBox(instrument: Instrument): Box {
  const { functions } = instrument.driver
  let stands: string | null = null

  const prove = async (name: string | null, wait: Wait) => {
    const one = functions.find((other) => other.name === name)
    if (!one || one.readBack === null) return
    const said = (await instrument.ask(one.readBack, wait)).text.trim()
    if (one.answers.some((answer) => answer.toUpperCase() === said.toUpperCase())) return
    stands = null
    const happened = `it was put in the function "${one.name}" and says that it stands in "${said}"`
    throw new BenchError('INSTRUMENT_SETTING_DIFFERS', instrument.who, happened)
  }

  return {
    standsIn: () => stands,
    mind: (name) => {
      if (name !== stands) throw new TypeError(`${instrument.who} stands in ${stands}, not in ${name}`)
    },
    prove,
    select: async (name, wait) => {
      const one = functions.find((other) => other.name === name)
      if (!one || stands === name) return 0
      stands = null // half switched is not switched
      for (const message of one.select) await instrument.tell(message, wait)
      await prove(name, wait)
      stands = name
      return one.takesMs
    },
    forget: () => {
      stands = null
    },
  }
}

import { headerFits, parseUnit, splitMessage, walkTree } from './command-parser.ts'
import type { Answer, Command, Measurement } from './command-table.ts'
import type { InstrumentFault } from './faults.ts'
import { type InstrumentLine, type InstrumentSurroundings, type Session, serveLines } from './line-session.ts'
import { nr3 } from './program-data.ts'
import { createStatus, type Status } from './status.ts'

/** A simulated instrument: bytes in, bytes out, whatever the link is. One session at a time; a new one replaces the old. */
export interface SimulatedInstrument {
  readonly name: string
  readonly identity: string
  attach(line: InstrumentLine): Session
  /** Off and on again: settings as after power-on, "power on" in the event register. */
  powerCycle(): void
  /** It resets itself while the link stays: what it worked on is lost, and its settings are those of power-on. */
  restart(): void
}

/** What an instrument file brings: its identity, its table, its settings. */
export interface InstrumentDescription {
  readonly name: string
  /** Third word of the model in the identity: COUNTER, POWER METER. */
  readonly kind: string
  readonly serial: string
  readonly commands: readonly Command[]
  readonly questionable?: () => number
  /** Error numbers for what happened to it since it was last asked (not by a message): queued before the next message is obeyed. */
  readonly befallen?: () => readonly number[]
  /** *RST and power-on. */
  readonly reset: () => void
  /** What differs from *RST after power-on. */
  readonly wake?: () => void
}

/** Brings a description to life. */
export function createInstrument(
  description: InstrumentDescription,
  around: InstrumentSurroundings,
): SimulatedInstrument {
  const { name } = description
  const { faults } = around
  const identity = `TRIMWRIGHT SIMULATED,${description.kind},${description.serial},1.0`
  const status = createStatus({
    identity,
    questionable: description.questionable ?? (() => 0),
    reset: description.reset,
  })
  const lookUp = commandFinder([...status.commands, ...description.commands])
  const meters = new Meters(name, faults)

  const execute = async (header: string, parameters: readonly string[], signal: AbortSignal): Promise<Answer> => {
    const command = lookUp(header)
    if (!command) return { kind: 'error', code: -113 }
    if (command.kind === 'measurement')
      return parameters.length > 0 ? { kind: 'error', code: -108 } : meters.answer(command.meter, command.fresh, signal)
    if (command.kind === 'setting' && !command.pattern.common) {
      const refusal = faults.strikes(name, 'queue error')
      if (refusal) return { kind: 'error', code: refusal.code }
    }
    return command.run(parameters)
  }
  const perform = (message: string, signal: AbortSignal) => {
    for (const code of description.befallen?.() ?? []) status.raise(code)
    return performMessage(message, status, (header, parameters) => execute(header, parameters, signal))
  }
  const wake = () => {
    meters.forget()
    description.reset()
    description.wake?.()
    status.powerOn()
  }
  const served = serveLines({ name, around, end: '\n', perform, overrun: () => status.raise(-363) })

  return {
    name,
    identity,
    attach: served.attach,
    powerCycle: () => {
      served.hangUp()
      wake()
    },
    restart: () => {
      served.drop()
      wake()
    },
  }
}

/** Finds a command by its header as it was written, null where there is none; what was found once is remembered. */
function commandFinder(commands: readonly Command[]): (header: string) => Command | null {
  const found = new Map<string, Command | null>()
  return (header) => {
    const before = found.get(header)
    if (before !== undefined) return before
    const command = commands.find(({ pattern }) => headerFits(pattern, header)) ?? null
    if (found.size < MOST_REMEMBERED) found.set(header, command)
    return command
  }
}

/** The measurements of an instrument: taken, remembered for FETCh, and spoilt by the faults of the board. */
class Meters {
  readonly #name: string
  readonly #faults: InstrumentSurroundings['faults']
  readonly #last = new Map<Measurement, readonly number[]>()

  constructor(name: string, faults: InstrumentSurroundings['faults']) {
    this.#name = name
    this.#faults = faults
  }

  /** The values of a new measurement, or, not `fresh`, of the last one. */
  async answer(meter: Measurement, fresh: boolean, signal: AbortSignal): Promise<Answer> {
    const refusal = meter.refuses?.(fresh)
    if (refusal !== undefined) return { kind: 'error', code: refusal }
    const before = this.#last.get(meter)
    if (!fresh && !before) return { kind: 'error', code: -230 }
    const taken = fresh || !before ? await meter.take(signal) : before
    const strikes = (fault: InstrumentFault) => this.#faults.strikes(this.#name, fault)
    if (strikes('blank')) return { kind: 'reply', text: '' }
    if (strikes('overrange'))
      return { kind: 'reply', text: taken.map(() => nr3(Number.POSITIVE_INFINITY, meter.digits)).join(',') }
    const values = before && strikes('frozen value') ? before : taken
    this.#last.set(meter, values)
    return { kind: 'reply', text: values.map((value) => nr3(value, meter.digits)).join(',') }
  }

  forget(): void {
    this.#last.clear()
  }
}

/** One program message: its replies joined by semicolons, or null. An error ends it; what was answered before is sent. */
async function performMessage(
  message: string,
  status: Status,
  execute: (header: string, parameters: readonly string[]) => Promise<Answer>,
): Promise<string | null> {
  const units = splitMessage(message)
  if (!units.ok) {
    status.raise(units.error)
    return null
  }
  const replies: string[] = []
  let path = ''
  for (const text of units.value) {
    if (text.trim() === '') continue
    const unit = parseUnit(text)
    if (!unit.ok) {
      status.raise(unit.error, text.trim())
      break
    }
    const walked = walkTree(path, unit.value.header)
    path = walked.path
    const answer = await execute(`${walked.header}${unit.value.query ? '?' : ''}`, unit.value.parameters)
    if (answer.kind === 'error') {
      status.raise(answer.code, text.trim())
      break
    }
    if (answer.kind === 'reply') replies.push(answer.text)
  }
  return replies.length > 0 ? replies.join(';') : null
}

const MOST_REMEMBERED = 500

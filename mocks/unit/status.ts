import { type Command, event, integerPair, query } from './command-table.ts'
import { createErrorQueue } from './error-queue.ts'

/** What the status system asks of its instrument. */
export interface StatusSource {
  readonly identity: string
  /** Present QUEStionable condition bits. */
  readonly questionable: () => number
  /** *RST: settings back to their reset values. */
  readonly reset: () => void
}

/** Status registers, error queue and the common commands of one instrument (IEEE 488.2 chapter 11; SCPI-1999 volume 1 chapter 9). */
export interface Status {
  /** Queues an error and sets its bit in the event status register. */
  raise(code: number, info?: string): void
  /** As after switching on: queue empty, event register holds "power on", and where `*PSC 1` says so the enable registers are 0. */
  powerOn(): void
  readonly commands: readonly Command[]
}

/** A status system as after switching on. */
export function createStatus(source: StatusSource): Status {
  const registers = new Registers(source.questionable)
  return {
    commands: [...commonCommands(registers, source), ...systemCommands(registers.errors), ...statusCommands(registers)],
    raise: (code, info) => registers.raise(code, info),
    powerOn: () => registers.powerOn(),
  }
}

/** The registers as after switching on, and what looking at them takes away. */
class Registers {
  readonly errors = createErrorQueue(QUEUE_DEPTH)
  eventEnable = 0
  serviceEnable = 0
  questionableEnable = 0
  operationEnable = 0
  clearsAtPowerOn = true
  readonly #condition: () => number
  #event = POWER_ON
  #questionableEvent = 0

  constructor(condition: () => number) {
    this.#condition = condition
  }

  /** Conditions latch when looked at: enough for an instrument that is asked, as these are. */
  questionable(): number {
    const now = this.#condition()
    this.#questionableEvent |= now
    return now
  }

  statusByte(): number {
    this.questionable()
    const bits =
      (this.errors.count() > 0 ? 4 : 0) |
      ((this.#questionableEvent & this.questionableEnable) !== 0 ? 8 : 0) |
      ((this.#event & this.eventEnable) !== 0 ? 32 : 0)
    return bits | ((bits & this.serviceEnable) !== 0 ? 64 : 0)
  }

  clear(): undefined {
    this.errors.clear()
    this.#event = 0
    this.#questionableEvent = 0
  }

  operationComplete(): undefined {
    this.#event |= 1
  }

  takeEvent(): string {
    const was = this.#event
    this.#event = 0
    return String(was)
  }

  takeQuestionable(): string {
    this.questionable()
    const was = this.#questionableEvent
    this.#questionableEvent = 0
    return String(was)
  }

  raise(code: number, info?: string): void {
    const full = this.errors.count() >= QUEUE_DEPTH
    this.errors.push(code, info)
    this.#event |= eventBit(code) | (full ? eventBit(-350) : 0)
  }

  powerOn(): void {
    this.clear()
    if (this.clearsAtPowerOn) {
      this.eventEnable = 0
      this.serviceEnable = 0
      this.questionableEnable = 0
      this.operationEnable = 0
    }
    this.#event = POWER_ON
  }
}

/** Those that begin with an asterisk. */
function commonCommands(registers: Registers, source: StatusSource): readonly Command[] {
  return [
    query('*IDN?', () => source.identity),
    query('*ESR?', () => registers.takeEvent()),
    query('*STB?', () => String(registers.statusByte())),
    query('*OPC?', () => '1'),
    query('*TST?', () => '0'),
    event('*CLS', () => registers.clear()),
    event('*RST', () => {
      source.reset()
    }),
    event('*WAI', () => {}),
    event('*OPC', () => registers.operationComplete()),
    ...integerPair(
      '*ESE',
      255,
      () => registers.eventEnable,
      (value) => {
        registers.eventEnable = value
      },
    ),
    ...integerPair(
      '*SRE',
      255,
      () => registers.serviceEnable,
      (value) => {
        registers.serviceEnable = value & ~64
      },
    ),
    ...integerPair(
      '*PSC',
      32767,
      () => (registers.clearsAtPowerOn ? 1 : 0),
      (value) => {
        registers.clearsAtPowerOn = value !== 0
      },
    ),
  ]
}

function systemCommands(errors: Registers['errors']): readonly Command[] {
  return [
    query('SYSTem:ERRor[:NEXT]?', () => errors.next()),
    query('SYSTem:ERRor:COUNt?', () => String(errors.count())),
    query('SYSTem:ERRor:ALL?', () => errors.all()),
    query('SYSTem:VERSion?', () => '1999.0'),
    event('SYSTem:REMote', () => {}),
    event('SYSTem:LOCal', () => {}),
  ]
}

function statusCommands(registers: Registers): readonly Command[] {
  return [
    event('STATus:PRESet', () => {
      registers.questionableEnable = 0
      registers.operationEnable = 0
    }),
    query('STATus:QUEStionable:CONDition?', () => String(registers.questionable())),
    query('STATus:QUEStionable[:EVENt]?', () => registers.takeQuestionable()),
    ...integerPair(
      'STATus:QUEStionable:ENABle',
      65535,
      () => registers.questionableEnable,
      (value) => {
        registers.questionableEnable = value
      },
    ),
    query('STATus:OPERation:CONDition?', () => '0'),
    query('STATus:OPERation[:EVENt]?', () => '0'),
    ...integerPair(
      'STATus:OPERation:ENABle',
      65535,
      () => registers.operationEnable,
      (value) => {
        registers.operationEnable = value
      },
    ),
  ]
}

/** Bit of the event status register for an error number: query 4, device 8, execution 16, command 32. */
export function eventBit(code: number): number {
  if (code <= -100 && code > -200) return 32
  if (code <= -200 && code > -300) return 16
  if ((code <= -300 && code > -400) || code > 0) return 8
  return code <= -400 && code > -500 ? 4 : 0
}

const QUEUE_DEPTH = 16
const POWER_ON = 128

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
  const errors = createErrorQueue(QUEUE_DEPTH)
  let event_ = POWER_ON
  let eventEnable = 0
  let serviceEnable = 0
  let clearsAtPowerOn = true
  let questionableEvent = 0
  let questionableEnable = 0
  let operationEnable = 0

  /** Conditions latch when looked at: enough for an instrument that is asked, as these are. */
  const questionable = () => {
    const now = source.questionable()
    questionableEvent |= now
    return now
  }
  const statusByte = () => {
    questionable()
    const bits =
      (errors.count() > 0 ? 4 : 0) |
      ((questionableEvent & questionableEnable) !== 0 ? 8 : 0) |
      ((event_ & eventEnable) !== 0 ? 32 : 0)
    return bits | ((bits & serviceEnable) !== 0 ? 64 : 0)
  }
  const clear = (): undefined => {
    errors.clear()
    event_ = 0
    questionableEvent = 0
  }
  const takeEvent = () => {
    const was = event_
    event_ = 0
    return String(was)
  }
  const takeQuestionable = () => {
    questionable()
    const was = questionableEvent
    questionableEvent = 0
    return String(was)
  }

  const commands: Command[] = [
    query('*IDN?', () => source.identity),
    query('*ESR?', takeEvent),
    query('*STB?', () => String(statusByte())),
    query('*OPC?', () => '1'),
    query('*TST?', () => '0'),
    event('*CLS', clear),
    event('*RST', () => {
      source.reset()
    }),
    event('*WAI', () => {}),
    event('*OPC', () => {
      event_ |= 1
    }),
    ...integerPair(
      '*ESE',
      255,
      () => eventEnable,
      (value) => {
        eventEnable = value
      },
    ),
    ...integerPair(
      '*SRE',
      255,
      () => serviceEnable,
      (value) => {
        serviceEnable = value & ~64
      },
    ),
    ...integerPair(
      '*PSC',
      32767,
      () => (clearsAtPowerOn ? 1 : 0),
      (value) => {
        clearsAtPowerOn = value !== 0
      },
    ),
    query('SYSTem:ERRor[:NEXT]?', () => errors.next()),
    query('SYSTem:ERRor:COUNt?', () => String(errors.count())),
    query('SYSTem:ERRor:ALL?', () => errors.all()),
    query('SYSTem:VERSion?', () => '1999.0'),
    event('SYSTem:REMote', () => {}),
    event('SYSTem:LOCal', () => {}),
    event('STATus:PRESet', () => {
      questionableEnable = 0
      operationEnable = 0
    }),
    query('STATus:QUEStionable:CONDition?', () => String(questionable())),
    query('STATus:QUEStionable[:EVENt]?', takeQuestionable),
    ...integerPair(
      'STATus:QUEStionable:ENABle',
      65535,
      () => questionableEnable,
      (value) => {
        questionableEnable = value
      },
    ),
    query('STATus:OPERation:CONDition?', () => '0'),
    query('STATus:OPERation[:EVENt]?', () => '0'),
    ...integerPair(
      'STATus:OPERation:ENABle',
      65535,
      () => operationEnable,
      (value) => {
        operationEnable = value
      },
    ),
  ]
  return {
    commands,
    raise: (code, info) => {
      const full = errors.count() >= QUEUE_DEPTH
      errors.push(code, info)
      event_ |= eventBit(code) | (full ? eventBit(-350) : 0)
    },
    powerOn: () => {
      clear()
      if (clearsAtPowerOn) {
        eventEnable = 0
        serviceEnable = 0
        questionableEnable = 0
        operationEnable = 0
      }
      event_ = POWER_ON
    },
  }
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

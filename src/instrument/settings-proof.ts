import { BenchError } from '../fault/bench-error.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'
import type { Wait } from '../transport/link.ts'

/** Whether what the start messages set is still there: as far as it was asked, or nobody can say. */
export type Standing = 'stands' | 'lost' | 'unknown'

/** How the proof speaks: a question with its reply, and a message that is held against the error queue. */
interface Talk {
  ask(text: string, wait: Wait): Promise<{ readonly text: string }>
  tell(text: string, wait: Wait): Promise<void>
}

interface Sign {
  readonly ask: string
  /** Null: the reply is none to this question. */
  stands(reply: string): boolean | null
}

/** An instrument that was switched off and on, or reset itself, answers as before and means something else: this asks it. */
export interface SettingsProof {
  /** The questions that show it, in this order; none where nothing does, or nothing need. */
  questions(): readonly string[]
  /** Nothing shows it, and there are settings to lose: only sending them again makes sure. */
  readonly blind: boolean
  /** Before the start messages: what tells of an earlier power-on is used up, the mark is left. Throws what asking throws. */
  begin(wait: Wait): Promise<void>
  /** Holds replies to `questions` against what must come; null where one of them is no reply to its question. */
  stood(replies: readonly string[]): boolean | null
}

/** IEEE 488.2, event status register: power on. */
const POWER_ON_BIT = 128
/** Left in the event status enable register; no sentinel is this small, and after power-on there is 0. */
const MARK = 21

const powerOn: Sign = {
  ask: '*ESR?',
  stands: (reply) => {
    const number = registerIn(reply)
    return number === null ? null : (number & POWER_ON_BIT) === 0
  },
}
const mark: Sign = {
  ask: '*ESE?',
  stands: (reply) => {
    const number = registerIn(reply)
    return number === null ? null : number === MARK
  },
}

/** The proof for a driver. What its instrument answers is found out at the first `begin`. */
export function settingsProof(driver: DriverFile, talk: Talk): SettingsProof {
  const row = driver.stand
  const own = (row?.answers ?? []).map(
    ({ ask, replies }): Sign => ({ ask, stands: (reply) => isOneOf(replies, reply) }),
  )
  const sets = driver.start.length + driver.functions.length > 0 || driver.readings.some((one) => one.select.length > 0)
  /** Without a row of its own an instrument of IEEE 488.2 is asked for what that standard gives it. */
  const standard = row === null && sets && driver.link?.resync === 'sentinel'
  let signs: readonly Sign[] | null = driver.supply || row?.inReading ? [] : null

  const find = async (wait: Wait): Promise<readonly Sign[]> => {
    const bit = row?.powerOnBit || standard ? await replyOf('*ESR?', wait) : null
    const byBit = bit !== null && powerOn.stands(bit) !== null
    const marked = row?.mark || (standard && bit !== null && !byBit)
    const byMark = marked && registerIn((await replyOf('*PSC?', wait)) ?? '') === 1
    return [...(byBit ? [powerOn] : []), ...(byMark ? [mark] : []), ...own]
  }
  /** Null where it says nothing: such an instrument does not know the question. */
  const replyOf = async (text: string, wait: Wait): Promise<string | null> => {
    try {
      return (await talk.ask(text, wait)).text
    } catch (error) {
      if (error instanceof BenchError && error.code === 'TRANSPORT_REPLY_TIMEOUT') return null
      throw error
    }
  }

  return {
    questions: () => (signs ?? []).map(({ ask }) => ask),
    get blind() {
      return signs !== null && signs.length === 0 && sets && !driver.supply && row?.inReading !== true
    },
    begin: async (wait) => {
      if (signs?.includes(powerOn)) await talk.ask(powerOn.ask, wait)
      signs ??= await find(wait)
      if (signs.includes(mark)) await talk.tell(`*ESE ${MARK}`, wait)
    },
    stood: (replies) => {
      const said = (signs ?? []).map((sign, index) => sign.stands(replies[index] ?? ''))
      return said.includes(null) ? null : !said.includes(false)
    },
  }
}

function registerIn(reply: string): number | null {
  const number = /^\s*\+?(\d{1,3})\s*$/.exec(reply)?.[1]
  return number === undefined || Number(number) > 255 ? null : Number(number)
}

/** The same words, or the same number in whatever form: 1, +1.00E+00. */
function isOneOf(wanted: readonly string[], reply: string): boolean {
  const said = reply.trim().toUpperCase()
  return wanted.some(
    (one) => one.trim().toUpperCase() === said || (isNumber(one) && isNumber(said) && Number(one) === Number(said)),
  )
}

function isNumber(text: string): boolean {
  return /^\s*[+-]?(\d+\.?\d*|\.\d+)(E[+-]?\d+)?\s*$/i.test(text)
}

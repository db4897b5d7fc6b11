import type { Captured, LiveFrame } from '../../src/schema/messages/shown.ts'
import { signedDigits, timeWords } from '../words/figures.ts'
import { quantityWords } from '../words/quantities.ts'
import { joined } from '../words/text.ts'
import * as words from '../words/words.ts'
import { TABLE } from '../words/words-of-forms.ts'
import { TAKE_BACK } from '../words/words-of-hands.ts'

/** What stands on the page when every step is done or left out. */
export interface FinishedView {
  /** The signed record and the fingerprint of its key, once the job is closed; else "". */
  readonly record: string
  readonly pairs: readonly PairRow[]
  readonly table: readonly TableRow[]
  /** Rows that were left out, each with its reason. */
  readonly leftOut: readonly string[]
}

/** One value of a pair: "3.85 W", with what is to be said of it below. */
export interface PairSide {
  readonly value: string
  readonly told: string
}

/** The same reading before anything was turned and at the end, side by side. */
export interface PairRow {
  readonly row: string
  readonly title: string
  readonly quantity: string
  readonly found: PairSide
  readonly left: PairSide
  /** "+1.25 W"; "" where one of the two is missing. */
  readonly change: string
  readonly band: string
  readonly inside: boolean
}

/** One captured value in the table of all. */
export interface TableRow {
  readonly row: string
  readonly title: string
  readonly quantity: string
  readonly at: string
  readonly value: string
  readonly band: string
  readonly verdict: string
  readonly inside: boolean
  readonly label: string
  readonly latest: boolean
  /** Struck through: it was taken back and counts for nothing. */
  readonly takenBack?: true
}

export function finishedOf(frame: LiveFrame): FinishedView {
  return { record: recordOf(frame), pairs: pairsOf(frame), table: tableOf(frame), leftOut: leftOutOf(frame) }
}

function leftOutOf({ steps }: LiveFrame): readonly string[] {
  return steps
    .filter(({ state }) => state === 'left out')
    .map(({ row, title, pass, result }) => words.leftOutWords(row, title, pass, result))
}

/** The line about the signed record; "" while there is none. */
export function recordOf({ job }: LiveFrame): string {
  return job === null || job.record === '' ? '' : words.recordWords(job.record, job.fingerprint)
}

/** In the order in which they were read first. */
function pairsOf(frame: LiveFrame): readonly PairRow[] {
  const pairs = new Map<string, { found?: Captured; left?: Captured }>()
  for (const kept of frame.captured) {
    if (!kept.latest || kept.pass === 'work') continue
    const key = JSON.stringify([kept.step, kept.quantity, kept.title])
    pairs.set(key, { ...pairs.get(key), [kept.pass]: kept })
  }
  return [...pairs.values()].flatMap(({ found, left }) => {
    const one = left ?? found
    if (one === undefined) return []
    return [
      {
        row: one.row,
        title: one.title,
        quantity: quantityWords(one.quantity),
        found: sideOf(found),
        left: sideOf(left),
        change: found === undefined || left === undefined ? '' : changeOf(found, left),
        band: one.band,
        inside: one.verdict === 'inside',
      },
    ]
  })
}

function sideOf(kept: Captured | undefined): PairSide {
  if (kept === undefined) return { value: '', told: TABLE.notRead }
  const told = joined('joined.comma', [words.VERDICT[kept.verdict], words.LABEL[kept.label]])
  return { value: shownOf(kept), told }
}

function shownOf(kept: Captured): string {
  return `${kept.digits.replace('-', '−')} ${kept.unit}`
}

/** What is shown of the two, subtracted, so that a reader can do the sum again; across two units (mW, W) in that of what was left. */
function changeOf(found: Captured, left: Captured): string {
  if (found.unit === left.unit) {
    const decimals = Math.min(decimalsIn(found.digits), decimalsIn(left.digits))
    return `${signedDigits(Number(left.digits) - Number(found.digits), decimals)} ${left.unit}`
  }
  const perShown = Number(left.digits) / left.value
  if (!Number.isFinite(perShown)) return ''
  return `${signedDigits((left.value - found.value) * perShown, decimalsIn(left.digits))} ${left.unit}`
}

function decimalsIn(digits: string): number {
  return digits.split('.')[1]?.length ?? 0
}

function tableOf(frame: LiveFrame): readonly TableRow[] {
  return frame.captured.map((kept) => ({
    row: kept.row,
    title: kept.title,
    quantity: quantityWords(kept.quantity),
    at: timeWords(kept.at),
    value: shownOf(kept),
    band: kept.band,
    verdict: words.VERDICT[kept.verdict],
    inside: kept.verdict === 'inside',
    label: howOf(kept),
    latest: kept.latest,
    ...(kept.takenBack === true ? { takenBack: true as const } : {}),
  }))
}

function howOf(kept: Captured): string {
  const pass = kept.pass === 'work' ? '' : words.PASS[kept.pass]
  const later = kept.takenBack === true ? TAKE_BACK.taken : TABLE.earlier
  const how = kept.latest ? [words.HOW[kept.label]] : [words.LABEL[kept.label], later]
  return joined('joined.comma', [pass, ...how])
}

import type { LiveFrame, LiveState, PlaceOnBench, StepView } from '../../src/schema/messages/shown.ts'
import { hundredths } from '../words/figures.ts'
import { joined } from '../words/text.ts'
import * as words from '../words/words.ts'
import { placeOfStepWords } from '../words/words-of-drawings.ts'
import { type HookUp, hookUpOf } from './hook-up.ts'

/** One huge thing to do or know, with at most two lines beside it. */
export interface CallView {
  readonly over: string
  readonly big: string
  readonly size: 'huge' | 'large' | 'sentence'
  readonly second: string
  readonly third: string
}

/** A step as it is read before the hands go to the set. */
export interface SheetView {
  readonly label: string
  readonly title: string
  readonly technique: string
  readonly where: string
  /** The band first, then the aim and whatever else the sheet says of it. */
  readonly target: readonly string[]
  readonly rows: readonly { readonly what: keyof typeof words.SHEET_ROW; readonly value: string }[]
  /** To be read before "ready"; and those that were read before in this job. */
  readonly cautions: readonly string[]
  readonly cautionsSeen: readonly string[]
  /** What goes where, to be drawn; null where nothing is hooked up. */
  readonly hookUp: HookUp | null
  /** What the hands do before "ready", or why the step cannot be done. */
  readonly guide: string
}

const HUGE = 11
const LARGE = 30

/** The call of a state: the one word, then what the guidance adds to it, then why. */
export function callOf(frame: LiveFrame, state: LiveState): CallView {
  const { because, guide, step } = frame
  const over = stopOf(step)
  const big = words.CALL[state] ?? words.GUIDE[state]
  switch (state) {
    case 'supply moving': {
      const { wantedVolts, plugVolts } = frame.supply
      const now = plugVolts === null ? words.STRIP.notRead : hundredths(plugVolts, 'V')
      const to = guide.words || (wantedVolts === null ? '' : words.supplyTo(wantedVolts))
      return call(now, because, '', to)
    }
    case 'action': {
      const asked = guide.words || step?.before || ''
      const bands = step?.asksForBands === true ? words.bandsAsked(step.bands) : ''
      return call(asked, because || bands, [...(step?.cautions ?? []), ...(step?.cautionsSeen ?? [])][0] ?? '', over)
    }
    case 'key now':
      return call(big, guide.words, because || words.keyOn(step?.channelWanted ?? null, frame.key.atMostS), over)
    case 'rest':
      return call(big, words.restWords(frame.key.restLeftS), because, over)
    case 'release key':
      return call(big, guide.words, because)
    case 'warming':
      return call(guide.words, because, '')
    case 'wrong channel':
      return call(big, because || seenWords(step), guide.words, over)
    case 'question':
      return call(guide.words, because, '', over)
    case 'stopped': // off, on the way there, or not proved off: the service says which
      return call(guide.words, because, '')
    default:
      return call(big, because, guide.words)
  }
}

/** Which of the channels, tones or levels of a step is read now; "" where it has one only. */
export function stopOf(step: StepView | null): string {
  return step === null || step.stop === null ? '' : words.stopWords(step.stop.number, step.stop.of, step.stop.words)
}

function seenWords(step: StepView | null): string {
  if (step === null || step.channelSeen === null || step.channelWanted === null) return ''
  return words.channelSeenWords(step.channelSeen, step.channelWanted)
}

function call(big: string, second: string, third: string, over = ''): CallView {
  const size = big.length <= HUGE ? 'huge' : big.length <= LARGE ? 'large' : 'sentence'
  const told = rest(differing(second, big), big)
  return { over, big, size, second: told, third: differing(third, big) === '' ? '' : differing(third, told) }
}

/** "Key now, tool in PW" under KEY NOW: only what it adds. */
function rest(text: string, big: string): string {
  return text.toLowerCase().startsWith(`${big.toLowerCase()}, `) ? text.slice(big.length + 2) : text
}

/** Nothing is said twice. */
function differing(text: string, other: string): string {
  return text.toLowerCase() === other.toLowerCase() ? '' : text
}

/** Said among the places where the step names one. */
function toolRow({ tool, where }: StepView): string {
  return tool === null || where.some(({ what }) => what === 'tool') ? '' : placeOfStepWords(tool)
}

/** The rows of a step: where the hands go first, then what the set has to be doing. */
export function sheetOf(frame: LiveFrame, step: StepView, places: readonly PlaceOnBench[] = []): SheetView {
  const state = joined('joined.comma', [words.TRANSMIT[step.transmit], step.mode])
  const volts = frame.supply.wantedVolts
  const rows: SheetView['rows'] = [
    { what: 'tool', value: toolRow(step) },
    ...step.where.map((place) => ({ what: place.what, value: placeOfStepWords(place) })),
    { what: 'reading', value: stopOf(step) },
    { what: 'channel', value: words.channelWords(step.channelWanted, step.channelMiddle) },
    { what: 'mode', value: state },
    { what: 'supply', value: volts === null ? words.SHEET.supplyUntouched : hundredths(volts, 'V') },
    { what: 'tone', value: step.tone },
    { what: 'before', value: step.before },
  ]
  return {
    label: step.adjuster,
    title: step.title,
    technique: words.TECHNIQUE[step.technique],
    where: step.adjusterWhere,
    target: step.targetWords.split(', '),
    rows: rows.filter(({ value }) => value !== ''),
    cautions: step.cautions,
    cautionsSeen: step.cautionsSeen,
    hookUp: hookUpOf(step, places),
    guide: frame.guide.words,
  }
}

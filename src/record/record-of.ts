import { markLatest } from '../core/reading/capture.ts'
import { type JournalLine, type KeptValue, RECORD_SENTENCE, type RecordPayload } from '../schema/kept/record.ts'
import { said, type Words } from '../words/said/said.ts'
import type { ReadJournal } from './read-journal.ts'

/** What a record says where a torn line was cut off. */
type TornCut = (bytes: number) => Words

/** A job folded from its journal into what is signed. `tornCut`: `olderTornCut` for a record of an older program. Throws TypeError for a journal without its head. */
export function recordOf(
  journal: Pick<ReadJournal, 'lines' | 'head'>,
  tornCut: TornCut = (bytes) => said('record.torn-cut', { bytes }),
): RecordPayload {
  const [first] = journal.lines
  if (first?.kind !== 'opened') throw new TypeError('a journal begins with its job')
  const { header } = first
  const of = <K extends JournalLine['kind']>(kind: K) =>
    journal.lines.flatMap((line) => (line.kind === kind ? [line as Extract<JournalLine, { kind: K }>] : [])) // narrowed by its kind
  const closed = of('closed').at(-1)
  const last = journal.lines.at(-1) ?? first
  return {
    format: 1,
    kind: 'alignment record',
    sentence: RECORD_SENTENCE,
    header,
    openedAt: first.at,
    closedAt: closed?.at ?? last.at,
    closed: closed?.why ?? '',
    keyDownS: closed?.keyDownS ?? 0,
    values: valuesOf(of('captured'), new Set(of('taken back').flatMap(({ numbers }) => numbers))),
    steps: header.steps.map(({ leftOut, ...step }) => {
      const result = of('step').findLast((line) => line.step === step.step && line.pass === step.pass)
      const untouched = leftOut === null ? ('to do' as const) : ('left out' as const)
      return { ...step, state: result?.state ?? untouched, reason: result?.reason ?? leftOut ?? '' }
    }),
    settings: settingsOf(of('setting')),
    marks: of('mark').map(({ number, at, title, reading }) => ({
      number,
      at,
      title,
      reading,
      words: of('explained').findLast(({ mark }) => mark === number)?.words ?? '',
    })),
    answers: of('answered').map(({ at, question, answer }) => ({ at, question, answer })),
    events: [
      ...of('event').map(({ n, at, what, words }) => ({ n, at, what, words })),
      ...of('supply').map(({ n, at, resting, why }) => ({ n, at, what: `supply ${resting}`, words: why })),
      ...of('resumed').map(({ n, at, cut }) => ({
        n,
        at,
        what: 'resumed',
        words: tornCut(cut),
      })),
    ]
      .toSorted((a, b) => a.n - b.n)
      .map(({ n: _, ...event }) => event),
    journal: { head: journal.head, lines: journal.lines.length },
  }
}

function valuesOf(
  captured: readonly Extract<JournalLine, { kind: 'captured' }>[],
  back: ReadonlySet<number>,
): RecordPayload['values'] {
  return markLatest<KeptValue>(
    captured.map(({ n: _n, prev: _prev, kind: _kind, ...value }) =>
      back.has(value.number) ? { ...value, takenBack: true } : value,
    ),
  )
}

function settingsOf(lines: readonly Extract<JournalLine, { kind: 'setting' }>[]): RecordPayload['settings'] {
  const names = [...new Set(lines.map(({ name }) => name))]
  return names.map((name) => {
    const of = (column: 'found' | 'job' | 'left') =>
      lines.findLast((line) => line.name === name && line.column === column)
    return {
      name,
      found: of('found')?.value ?? '',
      job: of('job')?.value ?? '',
      left: of('left')?.value ?? '',
      reason: of('left')?.reason ?? '',
    }
  })
}

import { closeSync, openSync, writeSync } from 'node:fs'
import { readCourse } from '../../course/read-course.ts'
import { BenchError } from '../../fault/bench-error.ts'
import type { LiveFrame } from '../../schema/messages/live-frame.ts'
import { said } from '../../words/said/said.ts'
import { sentence, worded } from '../../words/sentence/sentence.ts'
import { type Command, lineHead, type Output, textOf } from '../command.ts'
import { type AgainstJournal, againstJournal } from './against-journal.ts'
import { cameWords, didWords, differenceWords, namesIn, secondsAt } from './course-words.ts'
import { type RerunBench, rerunBench } from './rerun-bench.ts'

export const replay: Command = {
  usage: 'replay COURSE',
  does: said('course.does'),
  options: { journal: { type: 'string' }, frames: { type: 'string' }, lines: { type: 'boolean' } },
  help: {
    journal: said('course.journal'),
    frames: said('course.frames'),
    lines: said('course.lines'),
  },
  run: async (values, words, output) => {
    const [file, ...more] = words
    if (file === undefined || more.length > 0)
      throw new BenchError('COMMAND_USAGE', 'trimwright replay', said('course.one-wanted', { count: words.length }))
    if (values.lines === true) return printLines(file, output)
    const framesTo = textOf(values, 'frames')
    const frames = framesTo === undefined ? null : openSync(framesTo, 'w', 0o600)
    const states: State[] = []
    let count = 0
    const onFrame = (frame: LiveFrame) => {
      count += 1
      const { atMs, state, step } = frame
      const last = states.at(-1)
      if (last?.state !== state || last.step !== (step?.id ?? '')) states.push({ atMs, state, step: step?.id ?? '' })
      if (frames !== null) writeSync(frames, `${JSON.stringify(frame)}\n`)
    }
    const again = await rerunBench(file, onFrame)
    if (frames !== null) closeSync(frames)
    const journal = textOf(values, 'journal')
    const held = journal === undefined ? null : againstJournal(journal, again.written)
    const told = { again, states, frames: count, held }
    if (values.json === true) output.out(JSON.stringify(asJson(told)))
    else print(told, output)
    return again.differences.length === 0 && again.stopped === '' && (held?.difference ?? '') === '' ? 0 : 1
  },
}

interface State {
  readonly atMs: number
  readonly state: string
  readonly step: string
}

interface Told {
  readonly again: RerunBench
  readonly states: readonly State[]
  readonly frames: number
  readonly held: AgainstJournal | null
}

function printLines(file: string, output: Output): 0 {
  const { head, comings, whole, ends } = readCourse(file)
  const names = namesIn(head, comings)
  const top = `${head.startedAt}  ${head.program}`
  output.out(whole ? top : sentence(said('course.beginning-gone', { head: top })))
  for (const { came, did } of comings) {
    if (came) output.out(`${secondsAt(came.at, head)}  < ${sentence(cameWords(came, names))}`)
    for (const line of did) output.out(`${''.padStart(12)}  > ${sentence(didWords(line, names))}`)
  }
  output.out(ends ?? sentence(said('course.torn')))
  return 0
}

function print({ again, states, frames, held }: Told, output: Output): void {
  const { head, differences, stopped } = again
  const { startedAt, program } = head
  output.out(sentence(said('course.of', { startedAt, program, seconds: again.seconds.toFixed(1) })))
  for (const { atMs, step, state } of states) output.out(`${secondsAt(atMs, head)}  ${step.padEnd(24)} ${state}`)
  for (const one of capturedIn(again))
    output.out(
      `${lineHead(said('course.captured'), 10)}${one.row.padEnd(8)} ${one.title.padEnd(46)} ${one.value} ${one.unit}  ${one.label}, ${one.verdict}`,
    )
  for (const one of differences)
    output.out(`${secondsAt(one.atMs, head)}  ${sentence(differenceWords(one, again.names))}`)
  if (stopped !== '')
    output.out(`${secondsAt(again.endedMs, head)}  ${sentence(said('course.stopped', { why: stopped }))}`)
  if (again.ends === null) output.out(sentence(said('course.torn-run')))
  const many = differences.length
  output.out(
    sentence(
      many === 0 && stopped === ''
        ? said('course.frames-same', { frames })
        : said('course.frames-different', { frames, count: many }),
    ),
  )
  if (held)
    output.out(
      sentence(
        held.difference === ''
          ? said('course.journal-same', { job: held.job, entries: held.same, captured: held.captured })
          : said('course.journal-different', { job: held.job, difference: held.difference }),
      ),
    )
}

function capturedIn({ written }: RerunBench) {
  return [...written.values()].flat().flatMap((entry) => (entry.kind === 'captured' ? [entry] : []))
}

function asJson({ again, states, frames, held }: Told) {
  const { head, ends, seconds, comings, differences, stopped } = again
  const captured = capturedIn(again).map(({ step, pass, quantity, value, unit, label, verdict }) => ({
    step,
    pass,
    quantity,
    value,
    unit,
    label,
    verdict,
  }))
  const { program, startedAt } = head
  return worded({
    program,
    startedAt,
    ends,
    seconds,
    comings,
    frames,
    states,
    captured,
    differences,
    stopped,
    journal: held,
  })
}

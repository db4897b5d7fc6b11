import { closeSync, openSync, writeSync } from 'node:fs'
import { readCourse } from '../../course/read-course.ts'
import { BenchError } from '../../fault/bench-error.ts'
import type { LiveFrame } from '../../schema/messages/live-frame.ts'
import { type Command, type Output, textOf } from '../command.ts'
import { type AgainstJournal, againstJournal } from './against-journal.ts'
import { cameWords, didWords, differenceWords, namesIn, secondsAt } from './course-words.ts'
import { type RerunBench, rerunBench } from './rerun-bench.ts'

export const replay: Command = {
  usage: 'replay COURSE',
  does: 'runs again what was written down by --course, on a clock of its own, and says what is different',
  options: { journal: { type: 'string' }, frames: { type: 'string' }, lines: { type: 'boolean' } },
  help: {
    journal: 'the journal of its job: what is captured now is held against it, to the last digit',
    frames: 'file for the frames, one JSON object a line',
    lines: 'only prints what came and what was done about it, bytes included; nothing is run',
  },
  run: async (values, words, output) => {
    const [file, ...more] = words
    if (file === undefined || more.length > 0)
      throw new BenchError('COMMAND_USAGE', 'trimwright replay', `one course is wanted, ${words.length} given`)
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
  output.out(`${head.startedAt}  ${head.program}${whole ? '' : '  (its beginning was let go)'}`)
  for (const { came, did } of comings) {
    if (came) output.out(`${secondsAt(came.at, head)}  < ${cameWords(came, names)}`)
    for (const line of did) output.out(`${''.padStart(12)}  > ${didWords(line, names)}`)
  }
  output.out(ends ?? 'torn off here')
  return 0
}

function print({ again, states, frames, held }: Told, output: Output): void {
  const { head, differences, stopped } = again
  output.out(`course of ${head.startedAt}, ${head.program}, ${again.seconds.toFixed(1)} s`)
  for (const { atMs, step, state } of states) output.out(`${secondsAt(atMs, head)}  ${step.padEnd(24)} ${state}`)
  for (const one of capturedIn(again))
    output.out(
      `captured  ${one.row.padEnd(8)} ${one.title.padEnd(46)} ${one.value} ${one.unit}  ${one.label}, ${one.verdict}`,
    )
  for (const one of differences) output.out(`${secondsAt(one.atMs, head)}  ${differenceWords(one, again.names)}`)
  if (stopped !== '') output.out(`${secondsAt(again.endedMs, head)}  stopped: ${stopped}`)
  if (again.ends === null) output.out('The course was torn off; it was run up to there.')
  const many = differences.length
  output.out(
    many === 0 && stopped === '' ? `${frames} frames, each as it was then` : `${frames} frames; ${many} differences`,
  )
  if (held)
    output.out(
      held.difference === ''
        ? `journal of ${held.job}: ${held.same} entries as written, ${held.captured} captured values among them equal to the last digit`
        : `journal of ${held.job}: ${held.difference}`,
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
  return { program, startedAt, ends, seconds, comings, frames, states, captured, differences, stopped, journal: held }
}

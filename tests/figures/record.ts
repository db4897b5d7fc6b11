import { spawn } from 'node:child_process'
import { mkdtempSync, readFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { recordDecoder } from '../../src/commands/record-decode.ts'
import { journalsIn, openJournal } from '../../src/record/journal.ts'
import { readJournal } from '../../src/record/read-journal.ts'
import { verifyRecord } from '../../src/record/verify-record.ts'
import { sentence } from '../../src/words/sentence/sentence.ts'
import { headerOf, WALL } from '../kit/job/journal-kit.ts'
import type { Figure } from './figure.ts'

const ROOT = join(import.meta.dirname, '..', '..')
const folder = () => mkdtempSync(join(tmpdir(), 'figures-'))
const quantile = (values: readonly number[], share: number) =>
  values.toSorted((a, b) => a - b)[Math.min(values.length - 1, Math.floor(share * values.length))] ?? Number.NaN

/** record.verify, record.append and record.crash. */
export async function recordFigures(): Promise<readonly Figure[]> {
  return [
    await verifyTime('brackwater-27m-transmit-short.yaml'),
    await verifyTime('brackwater-27m-transmit.yaml'),
    await appendTime(),
    await crashes(),
  ]
}

async function verifyTime(procedure: string): Promise<Figure> {
  const { outcome } = await runFast({
    procedure: join(ROOT, 'procedures', procedure),
    seed: 5,
    warm: true,
    bands: [],
    recordIn: folder(),
  })
  const jws = readFileSync(outcome.record, 'utf8')
  const times = Array.from({ length: 20 }, () => {
    const began = performance.now()
    const { answer } = verifyRecord(jws, { key: null, decode: recordDecoder() })
    if (answer !== 'good') throw new Error('the record is not good')
    return performance.now() - began
  })
  const ms = quantile(times, 0.5)
  const about = `a record of ${Math.round(jws.length / 1000)} kB and ${outcome.captured.length} values, drivers parsed anew each time; to reach 100 ms`
  return { name: 'record.verify', ours: ms, reference: 100, ratio: ms / 100, unit: 'ms', against: about }
}

async function appendTime(): Promise<Figure> {
  const journal = await openJournal({ folder: folder(), header: headerOf(), clock: WALL })
  const times: number[] = []
  for (let at = 0; at < 500; at++) {
    const began = performance.now()
    await journal.append({ kind: 'event', what: 'note', words: 'x'.repeat(3000) })
    times.push(performance.now() - began)
  }
  await journal.close()
  const ms = quantile(times, 0.99)
  const against = 'p99 of 500 entries of 3 kB, one after the other, each with its fsync; to reach 20 ms'
  return { name: 'record.append', ours: ms, reference: 20, ratio: ms / 20, unit: 'ms', against }
}

/** kill -9 of a process that writes, at 100 random moments: entries said to be kept that are not there. */
async function crashes(): Promise<Figure> {
  let kept = 0
  let lost = 0
  for (let run = 0; run < 100; run++) {
    const at = folder()
    const child = spawn(process.execPath, ['--import', 'tsx', join(ROOT, 'tests', 'kit', 'journal-writer.ts'), at], {
      stdio: ['ignore', 'pipe', 'inherit'],
    })
    let said = ''
    child.stdout.on('data', (text) => {
      said += text
    })
    await new Promise<void>((resolve) => child.stdout.once('data', () => resolve()))
    await new Promise((resolve) => setTimeout(resolve, 200 * Math.random()))
    child.kill('SIGKILL')
    await new Promise<void>((resolve) => child.once('close', () => resolve()))
    const numbers = said.split('\n').slice(0, -1).map(Number)
    const [file = ''] = await journalsIn(at)
    const there = new Set(
      readJournal(file).lines.flatMap((line) =>
        line.kind === 'event' ? [Number(sentence(line.words).split(' ')[1])] : [],
      ),
    )
    kept += numbers.length
    lost += numbers.filter((one) => !there.has(one)).length
  }
  const against = `entries said to be kept (${kept}) that were not in the journal after kill -9 at 100 random moments; to reach 0`
  return {
    name: 'record.crash',
    ours: lost,
    reference: 0,
    ratio: lost === 0 ? 0 : Number.POSITIVE_INFINITY,
    unit: 'entries',
    against,
  }
}

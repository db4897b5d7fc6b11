import { spawn } from 'node:child_process'
import { basename, join } from 'node:path'
import { recordDecoder } from '../../../src/commands/record-decode.ts'
import { journalsIn } from '../../../src/record/journal.ts'
import { signingKey } from '../../../src/record/key.ts'
import { readJournal } from '../../../src/record/read-journal.ts'
import { recordOf } from '../../../src/record/record-of.ts'
import { signPayload } from '../../../src/record/sign.ts'
import { verifyRecord } from '../../../src/record/verify-record.ts'
import type { Rng } from '../../../src/system/rng.ts'
import { joinLive } from '../links/live-client.ts'

const ROOT = join(import.meta.dirname, '..', '..', '..')

/** What came of a paced job whose service was killed again and again. */
export interface KilledJob {
  readonly kills: number
  /** Values that a page was told are captured, over all runs. */
  readonly said: number
  /** Of those, the ones that were not in the journal afterwards, or otherwise there. */
  readonly lost: readonly string[]
  /** Records made from the journal after each kill: not good, with what verify said. */
  readonly bad: readonly string[]
  /** Jobs that came to their end between the kills. */
  readonly ended: number
}

/**
 * A job by the hand at ten times life, over real links, a keeper process, a WebSocket and a journal on disk. Its service is killed with
 * SIGKILL at a random moment, `fromS` to `toS` of real time after the job went on; then the job is opened again where it stood.
 */
export async function killAgainAndAgain(about: {
  readonly kills: number
  readonly folder: string
  readonly procedure: string
  readonly fromS: number
  readonly toS: number
  readonly rng: Rng
}): Promise<KilledJob> {
  const said = new Map<string, string>()
  const lost: string[] = []
  const bad: string[] = []
  let job = ''
  let kills = 0
  let ended = 0
  while (kills < about.kills) {
    const afterS = about.fromS + (about.toS - about.fromS) * about.rng()
    const { seen, finished, jobId } = await run(about, job, afterS)
    for (const [name, value] of seen) said.set(name, value)
    // by its name: a clock that is ten times as fast writes start times that do not sort
    const file = (await journalsIn(about.folder)).find((one) => basename(one) === `${jobId}.journal`)
    if (file === undefined) continue // killed before the job was begun: nothing was said to be captured
    job = finished ? '' : basename(file, '.journal')
    if (finished) ended += 1
    else kills += 1
    const journal = readJournal(file)
    const there = new Map(
      journal.lines.flatMap((line) =>
        line.kind === 'captured'
          ? [[`${basename(file, '.journal')} ${line.number}`, `${line.digits} ${line.unit}`]]
          : [],
      ),
    )
    for (const [name, value] of seen) if (there.get(name) !== value) lost.push(`${name}: ${value}, ${there.get(name)}`)
    const payload = new TextEncoder().encode(JSON.stringify(recordOf(journal)))
    const jws = await signPayload(payload, signingKey(about.folder))
    const { answer, words } = verifyRecord(jws, { key: null, decode: recordDecoder() })
    if (answer !== 'good') bad.push(words.join(' '))
  }
  return { kills, said: said.size, lost, bad, ended }
}

/** One life of the service: until it is killed, or the job is done before. */
async function run(
  { folder, procedure }: { readonly folder: string; readonly procedure: string },
  job: string,
  afterS: number,
): Promise<{ readonly seen: ReadonlyMap<string, string>; readonly finished: boolean; readonly jobId: string }> {
  const how = job === '' ? [] : ['--reopen', job]
  const args = ['src/trimwright.cjs', 'job', procedure, '--hand', '--pace', '10', '--data', folder, ...how]
  const child = spawn(process.execPath, args, { cwd: ROOT, stdio: ['ignore', 'ignore', 'pipe'] })
  const gone = new Promise<number | null>((resolve) => child.once('exit', resolve))
  let words = ''
  const seen = new Map<string, string>()
  let jobId = job
  try {
    const url = await new Promise<string>((resolve, reject) => {
      child.stderr.on('data', (text) => {
        words += text
        const found = /gauge page {2}(\S+)/.exec(words)?.[1]
        if (found) resolve(found)
      })
      gone.then((code) => reject(new Error(`the job ended with ${code}: ${words}`)))
    })
    const page = await (await fetch(url)).text()
    const token = /name="trimwright-token"\s+content="([^"]+)"/.exec(page)?.[1] ?? ''
    const client = await joinLive({ url, token, socketUrl: `${url.replace('http', 'ws')}live` })
    client.socket.on('message', (data) => {
      const message = JSON.parse(data.toString())
      client.waiting.length = 0
      if (message.kind === 'role' && message.steering === 'you' && message.asked)
        client.say({ kind: 'hand over', id: 'over' })
      if (message.kind !== 'frame' || message.job === null) return
      if (message.job.id !== '') jobId = message.job.id
      for (const one of message.captured) seen.set(`${message.job.id} ${one.number}`, `${one.digits} ${one.unit}`)
    })
    const killed = new Promise<void>((resolve) => setTimeout(resolve, 1000 * afterS))
    await Promise.race([killed, gone])
    return { seen, finished: child.exitCode !== null, jobId }
  } finally {
    child.kill('SIGKILL')
    await gone
  }
}

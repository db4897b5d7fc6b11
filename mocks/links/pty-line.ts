import { type ChildProcessWithoutNullStreams, spawn } from 'node:child_process'
import { constants } from 'node:fs'
import { access, type FileHandle, mkdtemp, open, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { delimiter, join } from 'node:path'
import { BenchError } from '../../src/fault/bench-error.ts'
import type { SimulatedInstrument } from '../unit/instrument.ts'
import type { LineServer } from './line-server.ts'

/** Whether socat is on the path, so that a pseudo-terminal pair can be had. */
export async function canServePty(): Promise<boolean> {
  for (const folder of (process.env.PATH ?? '').split(delimiter)) {
    const found = await access(join(folder, 'socat'), constants.X_OK).then(
      () => true,
      () => false,
    )
    if (found) return true
  }
  return false
}

/**
 * Serves an instrument on a pseudo-terminal made by socat, reached like a serial port. What the client leaves unread stays
 * in the terminal's buffer when it closes, as with a real port. Throws SIMULATION_FAILED.
 */
export async function servePty(instrument: SimulatedInstrument): Promise<LineServer> {
  const folder = await mkdtemp(join(tmpdir(), 'simulated-'))
  const path = join(folder, instrument.name)
  let pair: Pair | null = await openPair(instrument, path)
  const unplug = async () => {
    const was = pair
    pair = null
    await was?.close()
  }
  return {
    address: `serial:${path}?baud=9600`,
    unplug,
    plug: async () => {
      pair ??= await openPair(instrument, path)
    },
    close: async () => {
      await unplug()
      await rm(folder, { recursive: true, force: true })
    },
  }
}

interface Pair {
  close(): Promise<void>
}

async function openPair(instrument: SimulatedInstrument, path: string): Promise<Pair> {
  const child = spawn('socat', ['-d', '-d', `PTY,raw,echo=0,link=${path},mode=600`, 'STDIO'])
  const ended = new Promise<void>((resolve) => child.once('close', () => resolve()))
  await transferring(child, instrument.name)
  // Our own hold on the client's side: without one socat would end as soon as the client closes.
  const hold: FileHandle = await open(path, constants.O_RDWR | constants.O_NOCTTY)
  const session = instrument.attach({
    send: (bytes) => {
      if (child.stdin.writable) child.stdin.write(Buffer.from(bytes, 'latin1'))
    },
  })
  child.stdout.on('data', (bytes: Buffer) => session.receive(bytes.toString('latin1')))
  // Written to while going down: the loss is what pulling a cable means.
  child.stdin.on('error', () => {})
  return {
    close: async () => {
      session.end()
      child.kill()
      await ended
      await hold.close()
    },
  }
}

/** Resolves when socat says that it passes bytes on. */
function transferring(child: ChildProcessWithoutNullStreams, name: string): Promise<void> {
  return new Promise((resolve, reject) => {
    let said = ''
    const failed = (why: string) =>
      reject(new BenchError('SIMULATION_FAILED', name, `socat gave no pseudo-terminal (${why})`))
    child.once('error', (error) => failed(error.message))
    child.once('exit', () => failed(said.trim()))
    child.stderr.on('data', (bytes: Buffer) => {
      said = (said + bytes.toString()).slice(-2000)
      if (said.includes('starting data transfer loop')) resolve()
    })
  })
}

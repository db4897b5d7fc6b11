import { spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { type InstrumentName, openSimulatedBench, type SimulatedBench } from '../../mocks/simulated-bench.ts'
import { realClock } from '../../src/system/clock.ts'
import { silentLog } from '../../src/system/log.ts'
import { seededRng } from '../../src/system/rng.ts'

const PYTHON = '/usr/bin/python3'
const available = spawnSync(PYTHON, ['-c', 'import pyvisa, pyvisa_py']).status === 0

/** Speaks as any VISA client would: nothing here was written with the simulated instruments in mind. */
const SCRIPT = `
import sys, json, pyvisa
host, port, question = sys.argv[1:4]
manager = pyvisa.ResourceManager('@py')
meter = manager.open_resource(f'TCPIP::{host}::{port}::SOCKET', read_termination='\\n', write_termination='\\n')
meter.timeout = 5000
identity = meter.query('*IDN?')
meter.write('*CLS')
value = meter.query_ascii_values(question)
meter.write('SOME:THING:UNKNOWN 1')
error = meter.query('SYST:ERR?')
empty = meter.query('SYST:ERR?')
done = meter.query('*OPC?')
meter.close()
print(json.dumps({'identity': identity, 'value': value, 'error': error, 'empty': empty, 'done': done}))
`

let bench: SimulatedBench | null = null
beforeAll(async () => {
  const signal = new AbortController().signal
  bench = await openSimulatedBench({
    clock: realClock(),
    rng: seededRng(1),
    log: silentLog,
    links: 'real',
    signal,
    seed: null,
  })
})
afterAll(async () => bench?.close())

const ROWS: readonly (readonly [InstrumentName, string, readonly number[]])[] = [
  ['counter', 'READ:FREQ?', [9.91e37]],
  ['power', 'READ:POW?', [0]],
  ['modmeter', 'READ:FM:DEV?', [9.91e37, 9.91e37]],
  ['supply', 'SOUR:VOLT:PROT?', [22]],
  ['oscillator', 'SOUR:FREQ?', [1000]],
]

test.skipIf(!available).each(ROWS)(
  'a general VISA client reads identity, %s %s and -113 (needs python3-pyvisa-py)',
  async (name, question, expected) => {
    const { hostname, port } = new URL(bench?.addresses[name] ?? '')
    const child = spawn(PYTHON, ['-c', SCRIPT, hostname, port, question], { stdio: ['ignore', 'pipe', 'inherit'] })
    let text = ''
    child.stdout.on('data', (bytes: Buffer) => {
      text += bytes.toString()
    })
    expect(await once(child, 'close')).toEqual([0, null])
    const said: unknown = JSON.parse(text)
    expect(said).toEqual({
      identity: expect.stringMatching(/^TRIMWRIGHT SIMULATED,[A-Z ]+,SIM000\d,1\.0$/),
      value: expected,
      error: '-113,"Undefined header;SOME:THING:UNKNOWN 1"',
      empty: '0,"No error"',
      done: '1',
    })
  },
)

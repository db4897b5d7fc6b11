import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test, vi } from 'vitest'
import { startSimulated } from '../../src/commands/simulated.ts'
import { runCommand } from '../kit/program/run-command.ts'

vi.setConfig({ testTimeout: 60_000 })

const folder = mkdtempSync(join(tmpdir(), 'trimwright-commands-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const data = ['--data', folder]

describe('trimwright', () => {
  test('without a word lists its nine commands and ends with 0', async () => {
    const { code, out } = await runCommand([])
    expect(code).toBe(0)
    for (const name of ['serve', 'check', 'rollcall', 'look', 'job', 'simulate', 'channels'])
      expect(out).toContain(`  ${name} `.trimEnd())
  })

  test('a command that does not exist ends with 2 and says so', async () => {
    const { code, err } = await runCommand(['align'])
    expect(code).toBe(2)
    expect(err).toContain(
      'trimwright: there is no command "align". Add --help to see how the command is used [COMMAND_USAGE]',
    )
  })

  test('an option that does not exist ends with 2 and says so', async () => {
    const { code, err } = await runCommand(['channels', '--loud'])
    expect(code).toBe(2)
    expect(err).toMatch(/trimwright channels: .*--loud.*\[COMMAND_USAGE\]/)
  })

  test.each(['serve', 'check', 'rollcall', 'look', 'job', 'simulate', 'channels'])(
    '%s --help says what it does',
    async (name) => {
      const { code, out } = await runCommand([name, '--help'])
      expect(code).toBe(0)
      expect(out).toContain(`trimwright ${name}`)
      expect(out).toContain('--json')
    },
  )
})

describe('channels', () => {
  test('prints a plan in frequencies and its middle', async () => {
    const { code, out } = await runCommand(['channels', 'cept-40'])
    expect(code).toBe(0)
    expect(out).toContain('cept-40  23  27.25500 MHz')
    expect(out.trimEnd().split('\n').at(-1)).toBe('middle: cept-40 19, 27.18500 MHz')
  })

  test('of several bands as JSON', async () => {
    const { out } = await runCommand(['channels', 'cept-40', 'de-80:41..80', '--json'])
    const { channels, middle } = JSON.parse(out)
    expect(channels).toHaveLength(80)
    expect(middle).toMatchObject({ channel: 3, transmitHz: 26_985_000 })
  })

  test('of a plan nobody knows ends with 2', async () => {
    const { code, err } = await runCommand(['channels', 'moon-12'])
    expect(code).toBe(2)
    expect(err).toContain('there is no channel plan "moon-12"; the plans are au-uhf-80, cept-40')
  })
})

describe('on the simulated bench', () => {
  test('rollcall: six instruments say who they are', async () => {
    const { code, out } = await runCommand(['rollcall', '--json', ...data])
    const { simulated, instruments } = JSON.parse(out)
    expect(code).toBe(0)
    expect(simulated).toBe(true)
    expect(instruments.map((one: { identity: string }) => one.identity)).toEqual([
      'TRIMWRIGHT SIMULATED,COUNTER,SIM0001,1.0',
      'TRIMWRIGHT SIMULATED,POWER METER,SIM0002,1.0',
      'TRIMWRIGHT SIMULATED,MODULATION METER,SIM0003,1.0',
      'TRIMWRIGHT SIMULATED,MULTIMETER,SIM0004,1.0',
      'TRIMWRIGHT SIMULATED,SUPPLY,SIM0005,1.0',
      'TRIMWRIGHT SIMULATED,AUDIO OSCILLATOR,SIM0006,1.0',
    ])
  })

  test('look: a reading outside the target ends with 1', async () => {
    const { code, out } = await runCommand(['look', 'DC voltage', '2.20 .. 2.60 V', ...data])
    expect(code).toBe(1)
    expect(out).toMatch(/^-?0\.0\d\d V\s+Far too low: bring it up$/m)
  })

  test('look: no signal at the counter is a word, not a number', async () => {
    const { code, out, err } = await runCommand(['look', 'frequency', '27.205 MHz +- 150 Hz', '--json', ...data])
    expect(code, err).toBe(1)
    expect(JSON.parse(out)).toMatchObject({ simulated: true, value: null, word: 'No signal' })
  })

  test('look --stream goes on until it is ended, and then ends with 0', async () => {
    const many = (out: string) => out.trim().split('\n').length > 5
    const { code, out } = await runCommand(['look', 'DC voltage', '--stream', ...data], many)
    expect(code).toBe(0)
    expect(many(out)).toBe(true)
  })

  test('look at what nobody knows ends with 2 before anything is opened', async () => {
    const { code, err } = await runCommand(['look', 'loudness'])
    expect(code).toBe(2)
    expect(err).toContain('"loudness" is not a quantity; one of frequency, RF power')
  })
})

describe('what is wrong is refused in words', () => {
  test('a bench file with a misspelt key: file, line, column, cure; nothing starts', async () => {
    const file = join(folder, 'bench.yaml')
    writeFileSync(
      file,
      'bench: Mine\ninstruments:\n  volts: { driver: multimeter-scpi, att: "tcp://127.0.0.1:5025" }\n',
    )
    const { code, err } = await runCommand(['serve', '--bench', file])
    expect(code).toBe(2)
    expect(err).toMatch(new RegExp(`${file}:3:\\d+: .*att.*at`))
    expect(err).toContain('[SCHEMA_REJECTED]')
  })

  test('a bench that is partly simulated is refused', async () => {
    const file = join(folder, 'mixed.yaml')
    writeFileSync(
      file,
      'bench: Mixed\ninstruments:\n  volts: { driver: multimeter-scpi, at: simulated, input isolated from link: yes }\n  power: { driver: power-meter-scpi, at: "tcp://127.0.0.1:9", path loss: 30 dB }\n',
    )
    const { code, err } = await runCommand(['rollcall', '--bench', file, ...data])
    expect(code).toBe(2)
    expect(err).toContain('[BENCH_MIXED]')
  })

  test('check: a wrong procedure ends with 1, a missing one with 2', async () => {
    const file = join(folder, 'procedure.yaml')
    writeFileSync(file, 'format: 1\nprocedure: P\nset:\n  supply: 13,8 V\nsteps: []\n')
    const wrong = await runCommand(['check', file])
    expect(wrong.code).toBe(1)
    expect(wrong.out).toMatch(/procedure\.yaml:4:\d+: .*13,8 V/)
    expect((await runCommand(['check', join(folder, 'nowhere.yaml')])).code).toBe(2)
  })

  test('a port that is taken is named', async () => {
    const taken = createServer().listen(0, '127.0.0.1')
    await new Promise((resolve) => taken.once('listening', resolve))
    const address = taken.address()
    const port = typeof address === 'object' && address ? address.port : 0
    const { code, err } = await runCommand(['serve', '--port', String(port), ...data])
    taken.close()
    expect(code).toBe(2)
    expect(err).toContain('[SERVER_PORT_TAKEN]')
  })

  test('a job in a band that the procedure does not have is refused', async () => {
    const { code, err } = await runCommand(['job', 'tests/kit/two-steps.yaml', '--hand', '--fast', '--bands', 'moon'])
    expect(code).toBe(2)
    expect(err).toContain(
      '"moon" is not one of the bands of this procedure. See what the page offers now [JOB_REQUEST_REFUSED]',
    )
  })

  test('a simulated bench that cannot start says so', async () => {
    const pace = { times: 1, originMs: performance.timeOrigin }
    await expect(startSimulated({ seed: null, pace, more: ['--loud'] })).rejects.toThrow(
      /simulated bench: the process ended .*\[SIMULATION_FAILED\]/,
    )
  })

  test('--pace on a real bench is refused', async () => {
    const file = join(folder, 'real.yaml')
    writeFileSync(
      file,
      'bench: Real\ninstruments:\n  volts: { driver: multimeter-scpi, at: "tcp://127.0.0.1:9", input isolated from link: yes }\n',
    )
    const { code, err } = await runCommand(['serve', '--pace', '10', '--bench', file, ...data])
    expect(code).toBe(2)
    expect(err).toContain('--pace is for the simulated bench only')
  })
})

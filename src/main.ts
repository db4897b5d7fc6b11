import { parseArgs } from 'node:util'
import type { Command, ExitCode, Output } from './commands/command.ts'
import { runCommand } from './commands/run-command.ts'
import { BenchError, wordsOf } from './fault/bench-error.ts'
import { visibleText } from './quantity/visible-text.ts'
import { said } from './words/said/said.ts'
import { speakAs } from './words/sentence/languages.ts'
import { sentence } from './words/sentence/sentence.ts'

/** Each command in a file of its own, loaded when it is asked for: a start waits for nothing it does not need. */
const COMMANDS: Readonly<Record<string, () => Promise<Command>>> = {
  serve: async () => (await import('./commands/serve.ts')).serve,
  check: async () => (await import('./commands/check.ts')).check,
  rollcall: async () => (await import('./commands/rollcall.ts')).rollcall,
  look: async () => (await import('./commands/look.ts')).look,
  job: async () => (await import('./commands/job/job.ts')).job,
  simulate: async () => (await import('./commands/simulate.ts')).simulate,
  report: async () => (await import('./commands/report.ts')).report,
  verify: async () => (await import('./commands/verify.ts')).verify,
  replay: async () => (await import('./commands/course/replay.ts')).replay,
  channels: async () => (await import('./commands/channels.ts')).channels,
}

const output: Output = {
  out: (line) => process.stdout.write(`${visibleText(line)}\n`),
  err: (line) => process.stderr.write(`${visibleText(line)}\n`),
}

/** A terminal and npm both pass Ctrl-C on: what comes again this soon is the same wish. */
const SAME_WISH_MS = 3000

/** Signals become an orderly stop: the command sees its signal aborted, makes the bench safe and returns. One more after 3 s ends at once. */
function stopOnSignals(): AbortSignal {
  const stop = new AbortController()
  let askedMs = 0
  for (const name of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
    process.on(name, () => {
      if (!stop.signal.aborted) {
        askedMs = performance.now()
        stop.abort(new Error(sentence(said('command.ended-by', { signal: name }))))
      } else if (performance.now() - askedMs > SAME_WISH_MS) process.exit(2)
    })
  }
  process.stdout.on('error', () => stop.abort(new Error(sentence(said('command.nobody-reads')))))
  return stop.signal
}

async function run(words: readonly string[]): Promise<ExitCode> {
  const [name = '', ...rest] = words
  const command = Object.hasOwn(COMMANDS, name) ? await COMMANDS[name]?.() : undefined
  if (!command) {
    const asked = name === '' || name === '--help' || name === 'help'
    for (const line of await overview()) output[asked ? 'out' : 'err'](line)
    if (!asked) output.err(new BenchError('COMMAND_USAGE', 'trimwright', said('command.none-such', { name })).message)
    return asked ? 0 : 2
  }
  const options = { ...command.options, json: { type: 'boolean' as const }, help: { type: 'boolean' as const } }
  let parsed: ReturnType<typeof parseArgs>
  try {
    parsed = parseArgs({ args: [...rest], options, allowPositionals: true, strict: true })
  } catch (error) {
    output.err(new BenchError('COMMAND_USAGE', `trimwright ${name}`, wordsOf(error), error).message)
    return 2
  }
  const values = Object.fromEntries(
    Object.entries(parsed.values).flatMap(([key, value]) =>
      typeof value === 'string' || typeof value === 'boolean' ? [[key, value]] : [],
    ),
  )
  if (values.help === true) {
    for (const line of helpOf(command)) output.out(line)
    return 0
  }
  return runCommand(command, values, parsed.positionals, output, stopOnSignals())
}

async function overview(): Promise<readonly string[]> {
  const commands = await Promise.all(Object.values(COMMANDS).map((load) => load()))
  const lines = commands.map(({ usage, does }) => `  ${usage.padEnd(34)} ${sentence(does)}`)
  return [
    sentence(said('command.program-is')),
    '',
    'npm run -s trimwright -- COMMAND',
    ...lines,
    '',
    sentence(said('command.each-takes')),
  ]
}

function helpOf(command: Command): readonly string[] {
  const options = Object.entries({ ...command.help, json: said('command.as-json') })
  return [
    `trimwright ${command.usage}`,
    sentence(command.does),
    '',
    ...options.map(([name, words]) => `  --${name.padEnd(12)} ${sentence(words)}`),
  ]
}

speakAs(process.env.TRIMWRIGHT_LANGUAGE)

/** A fault is told in its own words; anything else is a mistake in the program and says so. */
run(process.argv.slice(2)).then(
  (code) => {
    process.exitCode = code
  },
  (error) => {
    output.err(
      error instanceof BenchError
        ? error.message
        : sentence(said('command.program-mistake', { what: (error instanceof Error && error.stack) || String(error) })),
    )
    process.exitCode = 2
  },
)

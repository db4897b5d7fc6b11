import type { SettingName, SettingRow } from './driver-rows.ts'

/** What a source of a bench is made of, in the rows of its driver: the switch of its output, what it is set by, and what it may be set by besides. */
interface SourceRows {
  /** In a sentence: the tone, an audio tone. */
  readonly word: string
  readonly one: string
  readonly output: SettingName
  readonly values: readonly SettingName[]
  /** Left out of a signal they are set to nothing: a carrier without modulation. */
  readonly more: readonly SettingName[]
  /** It shares a socket with a transmitter: switched off and proved off before a key may go down, and never on again by itself. */
  readonly guarded: boolean
}

/** What a bench makes, named by what it does: a tone at the microphone socket, V r.m.s.; a signal at the aerial socket, V across 50 ohm. */
export const SOURCES = {
  'audio tone': {
    word: 'tone',
    one: 'an audio tone',
    output: 'output',
    values: ['audio tone', 'audio level'],
    more: [],
    guarded: false,
  },
  'RF signal': {
    word: 'RF signal',
    one: 'an RF signal',
    output: 'RF output',
    values: ['frequency', 'RF level'],
    more: ['FM deviation', 'AM depth'],
    guarded: true,
  },
} as const satisfies Record<string, SourceRows>

export type SourceName = keyof typeof SOURCES

export const SOURCE_NAMES = Object.keys(SOURCES) as readonly string[] as readonly SourceName[]

/** What a source is to make: values by the name of their row, in its unit. */
export type Signal = Readonly<Partial<Record<SettingName, number>>>

/** What a driver with these rows makes: all that it takes has to be there. */
export function sourcesOf(settings: readonly SettingRow[]): readonly SourceName[] {
  const has = (name: SettingName) => settings.some((row) => row.name === name)
  return SOURCE_NAMES.filter((name) => has(SOURCES[name].output) && SOURCES[name].values.every(has))
}

/**
 * What keeps a driver of a generator from being trusted beside a transmitter, by the row that it stands at: the switch has to answer
 * whether it is off, and the first and the last thing that the instrument is told is off.
 */
export function unguarded(driver: {
  readonly settings: readonly SettingRow[]
  readonly start: readonly string[]
  readonly stop: readonly string[]
}): readonly { readonly path: string[]; readonly words: string }[] {
  const output = driver.settings.find(({ name }) => name === SOURCES['RF signal'].output)
  const values = SOURCES['RF signal'].values.filter((name) => driver.settings.some((row) => row.name === name))
  if (!output)
    return values.map((name) => ({
      path: ['settings', name],
      words: 'belongs to a generator, and that needs the row "RF output", by which it is switched off and proved off',
    }))
  if (output.kind !== 'switch') return []
  const off = output.tell.replace('{value}', output.says.off)
  const missing = SOURCES['RF signal'].values.filter((name) => !values.includes(name))
  return [
    ...missing.map((name) => ({ path: ['settings'], words: `a generator needs the row "${name}"` })),
    ...(output.readBack === null
      ? [
          {
            path: ['settings', output.name],
            words: 'needs a "read back": nothing is keyed before it has answered that its RF is off',
          },
        ]
      : []),
    ...(['start', 'stop'] as const)
      .filter((part) => !driver[part].includes(off))
      .map((part) => ({ path: [part], words: `needs the message that switches its RF off: ${off}` })),
  ]
}

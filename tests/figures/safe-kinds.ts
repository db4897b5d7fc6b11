import type { Blow, Trial } from '../keeper/safe-trial.ts'
import type { LinkKind, Spoilt } from '../keeper/spoilt-link.ts'

/** One kind of trial, and the figure that its times go into. */
export interface Kind extends Omit<Trial, 'seed'> {
  readonly figure: 'safe.kill' | 'safe.stop' | 'safe.frozen-keeper' | 'safe.pairs' | 'safe.spoilt' | 'safe.setting'
  readonly words: string
}

const LINKS: readonly LinkKind[] = ['tcp', 'pty']
const PARTS = ['service', 'keeper', 'standby'] as const
const WELL: Spoilt = { kind: 'well' }
const SPOILT: readonly Spoilt[] = [
  { kind: 'late', ms: 300 },
  { kind: 'late', ms: 1000 },
  { kind: 'late', ms: 3000 },
  { kind: 'garbled', share: 0.25 },
  { kind: 'doubled' },
  { kind: 'mute' },
  { kind: 'deaf' },
  { kind: 'half open' },
  { kind: 'cut' },
]
const SERVICE_KILLED: Blow = { at: 'service', how: 'kill' }
const KEEPER_KILLED: Blow = { at: 'keeper', how: 'kill' }

const PAIRS: readonly (readonly Blow[])[] = PARTS.flatMap((one) =>
  PARTS.filter((other) => other !== one).flatMap((other) =>
    (['kill', 'stop', 'flap'] as const).flatMap((how) =>
      (['kill', 'stop'] as const).map((then) => [
        { at: one, how },
        { at: other, how: then },
      ]),
    ),
  ),
)

type Bare = Omit<Kind, 'words' | 'link'>

const BARE: readonly Bare[] = [
  { figure: 'safe.kill', blows: [SERVICE_KILLED], spoilt: WELL },
  { figure: 'safe.stop', blows: [{ at: 'service', how: 'stop' }], spoilt: WELL },
  { figure: 'safe.stop', blows: [{ at: 'service', how: 'flap' }], spoilt: WELL },
  { figure: 'safe.frozen-keeper', blows: [{ at: 'keeper', how: 'stop' }], spoilt: WELL },
  { figure: 'safe.frozen-keeper', blows: [{ at: 'keeper', how: 'flap' }], spoilt: WELL },
  { figure: 'safe.frozen-keeper', blows: [KEEPER_KILLED], spoilt: WELL },
  ...PAIRS.map((blows): Bare => ({ figure: 'safe.pairs', blows, spoilt: WELL })),
  ...SPOILT.flatMap((spoilt): readonly Bare[] => [
    { figure: 'safe.spoilt', blows: [SERVICE_KILLED], spoilt },
    { figure: 'safe.spoilt', blows: [KEEPER_KILLED], spoilt },
    { figure: 'safe.spoilt', blows: [], order: 'safe', spoilt },
  ]),
  { figure: 'safe.setting', blows: [], order: 'safe', spoilt: WELL },
  { figure: 'safe.setting', blows: [], order: 'close', spoilt: WELL },
]

/** All kinds, each over a network socket and over a serial line. */
export const KINDS: readonly Kind[] = LINKS.flatMap((link) =>
  BARE.map((bare) => ({ ...bare, link, words: `${link}, ${wordsFor(bare)}` })),
)

function wordsFor({ blows, order, spoilt }: Bare): string {
  const struck = blows.map(({ at, how }) => `${at} ${how}`)
  const told = order === undefined ? [] : [`told "${order}"`]
  const link = spoilt.kind === 'well' ? [] : [`link ${spoiltWords(spoilt)}`]
  return [...struck, ...told, ...link].join(', ')
}

function spoiltWords(spoilt: Spoilt): string {
  if (spoilt.kind === 'late') return `late by ${spoilt.ms / 1000} s`
  return spoilt.kind === 'garbled' ? `garbles ${spoilt.share * 100} % of the commands` : spoilt.kind
}

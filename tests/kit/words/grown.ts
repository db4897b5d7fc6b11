import { pseudo } from '../../../src/words/sentence/pseudo.ts'

/** Fields that hold sentences of the program: in the pseudo-language they are accented and a third longer. */
const SAID = ['words', 'because', 'word', 'targetWords', 'tone', 'before', 'result', 'reading', 'allows']
const SAID_LISTS = ['words', 'supplyCautions']
/** Fields that hold texts of files and of persons, the same in every language: accented here, as long as they are, so that what stands plain is the page's own. */
const WRITTEN = [
  ...['row', 'title', 'adjuster', 'adjusterWhere', 'instrument', 'procedure', 'serial', 'band', 'found', 'left'],
  ...[
    'reason',
    'lowLabel',
    'highLabel',
    'aimLabel',
    'wallLabel',
    'bestLabel',
    'label',
    'name',
    'example',
    'job',
    'closedAt',
  ],
]
const WRITTEN_LISTS = ['cautions', 'cautionsSeen', 'bands']
/** Names of one kind of thing that are names of another kind elsewhere. */
const KINDS: readonly string[] = ['settled', 'peaked', 'drifting', 'short', 'highest', 'typed']

/** A text accented letter by letter: no longer than it was. */
export function accented(text: string): string {
  return [...text].map((letter) => pseudo(letter)).join('')
}

/** A frame or welcome as the pseudo-language has it; codes, states, units and figures stay. */
export function grown<T>(value: T): T {
  return put(value) as T
}

function put(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(put)
  if (typeof value !== 'object' || value === null) return value
  // a place or tool of a step: its words are the sheet's; the mode of a step is the sheet's too
  const ofSheet = 'is' in value
  const isStep = 'technique' in value
  return Object.fromEntries(
    Object.entries(value).map(([key, one]): [string, unknown] => {
      if (typeof one === 'string') {
        if (KINDS.includes(one)) return [key, one]
        if (WRITTEN.includes(key) || (ofSheet && key === 'words') || (isStep && key === 'mode'))
          return [key, accented(one)]
        if (key === 'at' && !/^\d{4}-/.test(one)) return [key, accented(one)]
        return [key, SAID.includes(key) ? pseudo(one) : one]
      }
      if (Array.isArray(one) && one.every((text) => typeof text === 'string')) {
        if (SAID_LISTS.includes(key)) return [key, one.map(pseudo)]
        return [key, WRITTEN_LISTS.includes(key) ? one.map(accented) : one]
      }
      return [key, put(one)]
    }),
  )
}

import { type Argument, said, type Words } from './said.ts'

/**
 * Several as one, joined as its code says: "PW and DK", "Power; Frequency", sentences one behind the other. A list with commas is an
 * array where it stands in a sentence. Nothing for none.
 */
export function joined(
  items: readonly Argument[],
  joint: 'list.and' | 'list.or' | 'list.semicolon' | 'list.sentences',
): Argument {
  const [first = '', ...others] = items
  return others.reduce((some, last) => said(joint, { some, last }), first)
}

/** Words with commas between them, as words of their own; "" for none. */
export function listed(items: readonly Words[]): Words {
  const [first = ''] = items
  return items.length < 2 ? first : said('list.commas', { items })
}

/** Sentences one behind the other, as words of their own; "" for none. */
export function sentences(all: readonly Words[]): Words {
  const [first = '', ...others] = all
  return others.reduce<Words>((some, last) => said('list.sentences', { some, last }), first)
}

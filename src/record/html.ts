import { visibleText } from '../quantity/visible-text.ts'
import { isSaid, type Words } from '../words/said/said.ts'
import { sentence } from '../words/sentence/sentence.ts'

/** A piece of a page, harmless as it stands. */
export interface Html {
  readonly html: string
}

/** What may stand in a template: HTML as it is, words that are put into the language that is spoken and made harmless, nothing. */
export type Piece = Html | Words | readonly Html[] | null

/**
 * A piece of a page. Whatever is put into it and is not HTML itself is made harmless: text of files, people and instruments can do nothing
 * but be read.
 *
 *     html`<td>${said('report.row')}</td>`
 */
export function html(parts: TemplateStringsArray, ...pieces: readonly Piece[]): Html {
  const filled = parts.map((part, at) => part + textOf(pieces[at] ?? null))
  return { html: filled.join('') }
}

/** HTML that was written by us and holds nothing from outside. */
export function asItIs(text: string): Html {
  return { html: text }
}

function textOf(piece: Piece): string {
  if (piece === null) return ''
  if (typeof piece === 'string' || isSaid(piece)) return harmless(sentence(piece))
  return 'html' in piece ? piece.html : piece.map((one) => one.html).join('')
}

const ENTITIES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
}

function harmless(text: string): string {
  return visibleText(text).replace(/[&<>"']/g, (sign) => ENTITIES[sign] ?? sign)
}

import type { Dictionary } from './sentence.ts'

const PLAIN = 'abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ'
const ACCENTED = [...'áƀçďéƒǧĥíĵķľḿñóƥɋŕšťúṽŵẋýžÁƁÇĎÉƑǦĤÍĴĶĽḾÑÓƤɊŔŠŤÚṼŴẊÝŽ']

/**
 * A language that nobody speaks: every letter accented, every sentence a third longer. A screen rendered in it shows at once what stands
 * outside the dictionary and what is cut when words grow.
 */
export function pseudoOf(dictionary: Dictionary): Dictionary {
  return Object.fromEntries(Object.entries(dictionary).map(([code, template]) => [code, pseudo(template)]))
}

/** One template: the places stay as they are, and the sentence is a third longer, by vowels said twice from its end. */
export function pseudo(template: string): string {
  const parts = template.split(/(\{[^{}]+\})/)
  return parts.map((part) => (part.startsWith('{') ? part : accented(part))).join('')
}

function accented(text: string): string {
  let owed = 0
  return [...text]
    .map((letter) => {
      const at = PLAIN.indexOf(letter)
      if (at === -1) return letter
      owed += 1
      const shown = ACCENTED[at] ?? letter
      if (owed < 3 || !/[a-z]/.test(letter)) return shown
      owed -= 3
      return shown + shown
    })
    .join('')
}

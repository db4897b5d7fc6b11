import { ENGLISH } from '../english/english.ts'
import { pseudoOf } from './pseudo.ts'
import { speak } from './sentence.ts'

/**
 * Speaks the language of that name from here on; English where none is named or it is not known. To be called once, before anything is
 * said. "pseudo" is for proof alone: nobody speaks it.
 */
export function speakAs(name: string | undefined): void {
  speak(name === 'pseudo' ? pseudoOf(ENGLISH) : ENGLISH)
}

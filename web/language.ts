import { pseudoOf } from '../src/words/sentence/pseudo.ts'
import { language, speak } from '../src/words/sentence/sentence.ts'
import { speakOnPage } from './words/text.ts'

// `?language=pseudo` shows at once what stands outside the dictionaries, and what is cut when words grow
if (new URLSearchParams(location.search).get('language') === 'pseudo') {
  speak(pseudoOf(language()))
  speakOnPage(pseudoOf)
}

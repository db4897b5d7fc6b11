import './language.ts'
import { make } from './draw/dom.ts'
import { startPage } from './page/page.ts'
import { TOKEN_MISSING } from './words/words.ts'

const token = document.querySelector('meta[name="trimwright-token"]')?.getAttribute('content') ?? ''
if (/^[\w.~-]+$/.test(token)) startPage(document.body, token)
else document.body.append(make('p', 'stranded', TOKEN_MISSING))

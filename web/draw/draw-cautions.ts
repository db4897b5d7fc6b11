import { CAUTION, seenBeforeWords } from '../words/words-of-hands.ts'
import { make, makeSvg, show } from './dom.ts'

/** What has to be read before "ready", large and edged; what was read before in this job is one line that opens. */
export function drawCautions(fresh: readonly string[], seen: readonly string[]): readonly HTMLElement[] {
  if (fresh.length + seen.length === 0) return []
  return [
    make(
      'div',
      'caution-place',
      ...(fresh.length > 0 ? [freshPart(fresh)] : []),
      ...(seen.length > 0 ? [seenPart(seen)] : []),
    ),
  ]
}

function freshPart(cautions: readonly string[]): HTMLElement {
  const sign = makeSvg('svg', { class: 'caution-sign', viewBox: '0 0 100 90', 'aria-hidden': 'true' })
  sign.append(makeSvg('path', { d: 'M50 6L95 84H5Z' }), makeSvg('path', { d: 'M50 32V58M50 68V74' }))
  const head = make('p', 'caution-head', sign, make('b', '', CAUTION.title), ` ${CAUTION.first}`)
  const list = make('ul', '', ...cautions.map((words) => make('li', '', words)))
  const more = make('p', 'caution-more', CAUTION.more)
  const scroll = make('div', 'caution-scroll', head, list)
  scroll.tabIndex = 0 // the keyboard scrolls it
  scroll.setAttribute('role', 'group')
  scroll.setAttribute('aria-label', CAUTION.title)
  const follow = () => show(more, below(scroll) > LEAST_PX)
  scroll.addEventListener('scroll', follow)
  new ResizeObserver(follow).observe(scroll)
  return make('section', 'cautions', scroll, more)
}

/** What is still below the edge, px. */
function below(scroll: Element): number {
  return scroll.scrollHeight - scroll.scrollTop - scroll.clientHeight
}
const LEAST_PX = 4
/** The last lines stay in sight at the top. */
const SHARE_ON = 0.8

/** Class of a drawing that lies over a whole step, and so over its cautions. */
export const WHOLE = 'hook-up-whole'

/** Shows what is still to be read before "ready"; false where all of it was in sight. Nothing counts as seen that never was on the screen. */
export function readOn(within: HTMLElement): boolean {
  const scroll = within.querySelector('.caution-scroll')
  if (scroll === null) return false
  const over = within.querySelector(`.${WHOLE}`)
  if (over !== null) {
    over.remove()
    return true
  }
  if (below(scroll) <= LEAST_PX) return false
  scroll.scrollBy({ top: scroll.clientHeight * SHARE_ON, behavior: 'instant' })
  return true
}

function seenPart(cautions: readonly string[]): HTMLElement {
  const summary = make('summary', '', seenBeforeWords(cautions.length))
  return make('details', 'cautions-seen', summary, make('ul', '', ...cautions.map((words) => make('li', '', words))))
}

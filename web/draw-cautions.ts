import { make, makeSvg, show } from './dom.ts'
import { CAUTION, seenBeforeWords } from './words-of-hands.ts'

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
  const follow = () => show(more, scroll.scrollHeight - scroll.scrollTop - scroll.clientHeight > 4)
  scroll.addEventListener('scroll', follow)
  new ResizeObserver(follow).observe(scroll)
  return make('section', 'cautions', scroll, more)
}

function seenPart(cautions: readonly string[]): HTMLElement {
  const summary = make('summary', '', seenBeforeWords(cautions.length))
  return make('details', 'cautions-seen', summary, make('ul', '', ...cautions.map((words) => make('li', '', words))))
}

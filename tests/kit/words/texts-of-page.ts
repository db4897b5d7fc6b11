import type { Page } from 'playwright-core'

/** A text on the screen: where it stands in the page, and what is wrong with its place; "" where nothing is. */
export interface TextOnPage {
  readonly at: string
  readonly text: string
  /** `cut` by a part that hides what is too long, `outside` the screen where nothing scrolls, `shortened` with three dots. */
  readonly wrong: '' | 'cut' | 'outside' | 'shortened'
}

/** Every text in the page, shown or not, with names and hints for who cannot see it. */
export function allTexts(page: Page): Promise<readonly string[]> {
  return page.evaluate(() => {
    const found: string[] = []
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT)
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode())
      if (node.parentElement?.closest('noscript') === null) found.push(node.textContent ?? '')
    for (const element of document.body.querySelectorAll('*'))
      for (const name of ['aria-label', 'title', 'placeholder', 'alt']) found.push(element.getAttribute(name) ?? '')
    return found.filter((text) => text.trim() !== '')
  })
}

/** Every text that is on the screen, and whether all of it can be read. */
export function textsOnPage(page: Page): Promise<readonly TextOnPage[]> {
  return page.evaluate(() => {
    /** px that fonts and rounding may take. */
    const SIDE = 2
    const place = (element: Element): string => {
      const path: string[] = []
      for (let one: Element | null = element; one !== null && one !== document.body; one = one.parentElement) {
        const index = [...(one.parentElement?.children ?? [])].indexOf(one)
        path.unshift(`${one.tagName.toLowerCase()}${one.classList.length > 0 ? `.${one.classList[0]}` : ''}:${index}`)
      }
      return path.join(' ')
    }
    /** The glyphs of a line may hang out of a box that is as high as the line. */
    const slack = (element: Element) => 0.3 * Number.parseFloat(getComputedStyle(element).fontSize)
    const judge = (element: Element, box: DOMRect): TextOnPage['wrong'] => {
      const up = slack(element)
      let [x, y] = [true, true] // still has to fit, sideways and in height
      for (
        let one: Element | null = element;
        one !== null && one !== document.documentElement;
        one = one.parentElement
      ) {
        const style = getComputedStyle(one)
        const room = one.getBoundingClientRect()
        const hides = (overflow: string) => overflow === 'hidden' || overflow === 'clip'
        const isSvg = one instanceof SVGElement
        if (x && hides(style.overflowX) && !isSvg && (box.left < room.left - SIDE || box.right > room.right + SIDE))
          return 'cut'
        if (y && hides(style.overflowY) && !isSvg && (box.top < room.top - up || box.bottom > room.bottom + up))
          return 'cut'
        if (one instanceof SVGSVGElement && (box.left < room.left - SIDE || box.right > room.right + SIDE)) return 'cut'
        // forms scroll in height alone (tables both ways): what sticks out at their side is lost
        if (x && one.matches('.panel') && (box.right > room.right + SIDE || box.left < room.left - SIDE))
          return 'outside'
        if (style.overflowX === 'auto' || style.overflowX === 'scroll') x = one.scrollWidth <= one.clientWidth && x
        if (style.overflowY === 'auto' || style.overflowY === 'scroll') y = one.scrollHeight <= one.clientHeight && y
        if (style.position === 'fixed') break
      }
      if (x && (box.left < -SIDE || box.right > innerWidth + SIDE)) return 'outside'
      if (y && (box.top < -up || box.bottom > innerHeight + up)) return 'outside'
      return ''
    }
    // what the drawing of a step has no room for stands whole in the rows beside it
    const shortened = (text: string, element: Element) =>
      text.includes('…') &&
      (element.closest('.hook-up') === null || document.querySelector('.sheet-rows .cut') === null)
    const found: TextOnPage[] = []
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT)
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      const element = node.parentElement
      const text = node.textContent ?? ''
      if (element === null || text.trim() === '' || element.closest('.for-readers, noscript') !== null) continue
      if (!element.checkVisibility({ visibilityProperty: true, opacityProperty: true })) continue
      const range = document.createRange()
      range.selectNodeContents(node)
      const boxes = [...range.getClientRects()].filter(({ width, height }) => width > 0 && height > 0)
      const wrong = boxes.map((box) => judge(element, box)).find((one) => one !== '') ?? ''
      if (boxes.length > 0)
        found.push({ at: place(element), text, wrong: wrong || (shortened(text, element) ? 'shortened' : '') })
    }
    return found
  })
}

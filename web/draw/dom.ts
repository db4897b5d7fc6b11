import { visibleText } from '../../src/quantity/visible-text.ts'

/** An element with a class, ready to be filled; text and children are set through the DOM, never as markup. */
export function make<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  className = '',
  ...children: readonly (Node | string)[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag)
  if (className !== '') element.className = className
  element.append(...children.map((child) => (typeof child === 'string' ? visibleText(child) : child)))
  return element
}

/** An SVG element with attributes. */
export function makeSvg<K extends keyof SVGElementTagNameMap>(
  tag: K,
  attributes: Readonly<Record<string, string | number>> = {},
  ...children: readonly Node[]
): SVGElementTagNameMap[K] {
  const element = document.createElementNS('http://www.w3.org/2000/svg', tag)
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value))
  element.append(...children)
  return element
}

/** Writes text only where it differs: most of a picture stays as it is from frame to frame. */
export function say(element: Element, text: string): void {
  const shown = visibleText(text)
  if (element.textContent !== shown) element.textContent = shown
}

/** As `say`; a line is broken after a comma, not between a number and its unit. */
export function sayInParts(element: Element, text: string): void {
  const shown = visibleText(text)
  if (element.textContent !== shown)
    element.replaceChildren(...shown.split(/(?<=, )/).map((part) => make('span', 'part', part)))
}

export function show(element: Element, shown: boolean): void {
  const hidden = element.hasAttribute('hidden')
  if (shown === hidden) element.toggleAttribute('hidden', !shown)
}

export function mark(element: Element, name: string, value: string | number): void {
  const text = String(value)
  if (element.getAttribute(name) !== text) element.setAttribute(name, text)
}

/** A big button that does one thing. */
export function button(className: string, text: string, press: () => void): HTMLButtonElement {
  const element = make('button', className, text)
  element.type = 'button'
  element.addEventListener('click', press)
  return element
}

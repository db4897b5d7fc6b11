import type { TypeSizes } from '../measure/type-sizes.ts'

/** Hands the sizes to the style sheets: CSS px, heights of capitals. */
export function putSizes(root: HTMLElement, sizes: TypeSizes): void {
  const { mm, digit, name, target, guide, second, label, place, foot, gap } = sizes
  for (const [part, px] of Object.entries({ mm, digit, name, target, guide, second, label, place, foot, gap }))
    root.style.setProperty(`--${part}`, `${px.toFixed(3)}px`)
  root.dataset.foot = sizes.footShort ? 'short' : 'full'
}

/** What a key of the foot switch or the keyboard does; the names are those of KeyboardEvent.key. */
export interface KeyPlan {
  readonly main: string
  readonly stop: string
}

/** PageDown is what foot switches send as they come; Enter, Space and letters fall into fields and buttons. */
export const USUAL_KEYS: KeyPlan = { main: 'PageDown', stop: 'End' }

const DEBOUNCE_MS = 150

/** Hears the two keys in the whole page, each press once, and not while a person types. */
export function hearKeys(plan: KeyPlan, does: { readonly main: () => void; readonly stop: () => void }): void {
  let lastMs = Number.NEGATIVE_INFINITY
  document.addEventListener('keydown', (event) => {
    if (event.key !== plan.main && event.key !== plan.stop) return
    if (rests(event.target, event.key === plan.stop) || event.ctrlKey || event.altKey || event.metaKey) return
    event.preventDefault()
    if (event.repeat) return
    if (event.key === plan.stop) return does.stop()
    if (event.timeStamp - lastMs < DEBOUNCE_MS) return
    lastMs = event.timeStamp
    does.main()
  })
}

/** Keys belong to a line of text in which somebody writes; of a short number only the stop does not. */
function rests(target: EventTarget | null, stop: boolean): boolean {
  return target instanceof HTMLInputElement && target.type === 'text' && !(stop && target.dataset.stops === 'yes')
}

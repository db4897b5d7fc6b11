// The set's menu, opened by keys held at power-on: what its display offers, item by item.

/** Items and values as the display has them. */
export const MENU = {
  'key click': ['off', 'on'],
  'time-out timer': ['off', ...Array.from({ length: 12 }, (_, at) => `${15 * (at + 1)} s`)],
  brightness: ['1', '2', '3', '4', '5'],
  'end-of-call tone': ['off', 'on'],
  'call channel': Array.from({ length: 40 }, (_, at) => String(at + 1)),
}

/** Fills `holder` with the items; `choose(name, value)` is told of each change. Returns what draws a view of the set. */
export function makeMenu(holder, choose) {
  const selects = new Map()
  for (const [name, values] of Object.entries(MENU)) {
    const label = document.createElement('label')
    const select = document.createElement('select')
    select.name = name
    for (const value of values) select.append(new Option(value, value))
    select.addEventListener('change', () => choose(name, select.value))
    label.append(name, select)
    holder.append(label)
    selects.set(name, select)
  }
  const dark = document.createElement('p')
  dark.className = 'hint'
  dark.textContent = 'The display is dark: no supply, no menu.'
  holder.append(dark)
  return (view) => {
    const lit = view.display !== ''
    holder.disabled = !lit
    dark.hidden = lit
    for (const [name, select] of selects) select.value = lit ? view.settings[name] : ''
  }
}

/** What the set's menu offers, item by item, in the words of its display. The menu opens by keys held at power-on. */
export const MENU = {
  'key click': ['off', 'on'],
  'time-out timer': [
    'off',
    '15 s',
    '30 s',
    '45 s',
    '60 s',
    '75 s',
    '90 s',
    '105 s',
    '120 s',
    '135 s',
    '150 s',
    '165 s',
    '180 s',
  ],
  brightness: ['1', '2', '3', '4', '5'],
  'end-of-call tone': ['off', 'on'],
  'call channel': Array.from({ length: 40 }, (_, at) => String(at + 1)),
} as const satisfies Record<string, readonly string[]>

export type MenuItem = keyof typeof MENU

/** What each item stands at. */
export type Menu = Record<MenuItem, string>

/** The menu as the set arrives. */
export const MENU_ARRIVES: Readonly<Menu> = {
  'key click': 'on',
  'time-out timer': '60 s',
  brightness: '3',
  'end-of-call tone': 'off',
  'call channel': '9',
}

/** Whether something names an item of the menu. */
export function isMenuItem(value: unknown): value is MenuItem {
  return typeof value === 'string' && Object.hasOwn(MENU, value)
}

/** Whether the menu offers this value for the item. */
export function offers(item: MenuItem, value: string): boolean {
  const values: readonly string[] = MENU[item]
  return values.includes(value)
}

/** How long one transmission may last before the set ends it, ms; Infinity with the timer off. */
export function timeOutMs(menu: Readonly<Menu>): number {
  const words = menu['time-out timer']
  return words === 'off' ? Number.POSITIVE_INFINITY : 1000 * Number.parseInt(words, 10)
}

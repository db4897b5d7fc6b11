import { LEVELS, type Level } from './heard.ts'

/** What this device remembers of its person. A browser that refuses storage forgets with the page. */
export interface Settings {
  readonly level: Level
  readonly ground: 'light' | 'dark'
}

const KEY = 'trimwright.settings'

export function loadSettings(): Settings {
  const stored = read()
  const level = LEVELS.find((one) => one === stored.level) ?? 'guide'
  return { level, ground: stored.ground === 'dark' ? 'dark' : 'light' }
}

export function saveSettings(settings: Settings): void {
  try {
    localStorage.setItem(KEY, JSON.stringify(settings))
  } catch {
    // Private windows refuse storage: the choice holds until the page goes.
  }
}

function read(): { readonly level?: unknown; readonly ground?: unknown } {
  try {
    const value: unknown = JSON.parse(localStorage.getItem(KEY) ?? '{}')
    return typeof value === 'object' && value !== null ? value : {}
  } catch {
    // Storage refused or overwritten by hand: start with the usual choices.
    return {}
  }
}

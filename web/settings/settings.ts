import { type DistanceM, distanceOf, screenOf } from '../measure/arc-size.ts'
import { LEVELS, type Level } from '../sound/heard.ts'
import { type KeyPlan, planOf } from './keys.ts'

/** What this device remembers of its person. A browser that refuses storage forgets with the page. */
export interface Settings {
  readonly level: Level
  readonly ground: 'light' | 'dark'
  readonly pedals: KeyPlan
  /** CSS px in a millimetre of this screen, matched by a card; null: not set up, the usual is assumed. */
  readonly pxPerMm: number | null
  /** From the eye to the screen, m. */
  readonly distanceM: DistanceM
}

const KEY = 'trimwright.settings'

export function loadSettings(): Settings {
  const stored = read()
  const level = LEVELS.find((one) => one === stored.level) ?? 'guide'
  return {
    level,
    ground: stored.ground === 'dark' ? 'dark' : 'light',
    pedals: planOf(stored.pedals),
    pxPerMm: screenOf(stored.pxPerMm),
    distanceM: distanceOf(stored.distanceM),
  }
}

export function saveSettings(settings: Settings): void {
  try {
    localStorage.setItem(KEY, JSON.stringify(settings))
  } catch {
    // Private windows refuse storage: the choice holds until the page goes.
  }
}

function read(): { readonly [K in keyof Settings]?: unknown } {
  try {
    const value: unknown = JSON.parse(localStorage.getItem(KEY) ?? '{}')
    return typeof value === 'object' && value !== null ? value : {}
  } catch {
    // Storage refused or overwritten by hand: start with the usual choices.
    return {}
  }
}

import { make } from '../draw/dom.ts'
import type { Settings } from '../settings/settings.ts'
import { LEVELS } from '../sound/heard.ts'
import { SETTINGS } from '../words/words.ts'
import { pick } from './form-parts.ts'

/** Sound and ground of this device, as choices; `awake` false adds that the screen may go to sleep; `doors` lead to its other screens. */
export function settingsRow(
  settings: Settings,
  awake: boolean,
  change: (to: Settings) => void,
  doors: readonly HTMLElement[] = [],
): HTMLElement {
  let now = settings
  const set = (part: Partial<Settings>) => {
    now = { ...now, ...part }
    change(now)
  }
  const sounds = LEVELS.map((level) => {
    const choice = pick('radio', 'sound', make('span', '', SETTINGS.levels[level]), level === now.level)
    choice.input.addEventListener('change', () => set({ level }))
    return choice.element
  })
  const grounds = (['light', 'dark'] as const).map((ground) => {
    const choice = pick('radio', 'ground', make('span', '', SETTINGS[ground]), ground === now.ground)
    choice.input.addEventListener('change', () => set({ ground }))
    return choice.element
  })
  const sound = make('div', 'choices', make('span', 'choices-name', SETTINGS.sound), ...sounds)
  const handbook = make('a', 'handbook', SETTINGS.handbook)
  handbook.href = '/handbook'
  handbook.target = '_blank' // the gauge stays where it is
  const row = make('div', 'settings row apart', sound, make('div', 'choices', ...grounds), ...doors, handbook)
  return make('div', 'foot', row, make('p', 'lead may-sleep', awake ? '' : SETTINGS.maySleep))
}

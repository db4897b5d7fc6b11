import { putSizes } from '../draw/put-sizes.ts'
import { keepAwake } from '../hands/awake.ts'
import { USUAL_PX_PER_MM } from '../measure/arc-size.ts'
import { typeSizes } from '../measure/type-sizes.ts'
import { loadSettings, type Settings, saveSettings } from '../settings/settings.ts'
import { SETTINGS } from '../words/words.ts'

/** What this device remembers of its person, put on the page. */
export interface Device {
  readonly settings: Settings
  /** CSS px in a millimetre of this screen, as type is sized by. */
  readonly pxPerMm: number
  /** False while the screen may go to sleep. */
  readonly awake: boolean
  /** Keeps other settings, and puts them on the page. */
  change(part: Partial<Settings>): void
  /** A touch or key press came: the screen is to stay awake. */
  touch(): void
}

export interface DeviceEnds {
  /** The sizes of this device have changed. */
  restyle(): void
  changed(): void
}

/** Reads what is remembered and puts it on the page; `panel` is where the settings are shown when they are open. */
export function openDevice(panel: HTMLElement, ends: DeviceEnds): Device {
  let settings = loadSettings()
  let pxPerMm = USUAL_PX_PER_MM
  let awake = true
  const refit = () => {
    pxPerMm = fitToScreen(settings)
    ends.restyle()
  }
  const dress = () => {
    document.documentElement.dataset.ground = settings.ground
    refit()
    ends.changed()
  }
  const stayAwake = keepAwake((now) => {
    awake = now
    const note = panel.querySelector('.may-sleep')
    if (note !== null) note.textContent = now ? '' : SETTINGS.maySleep
  })
  addEventListener('resize', refit)
  dress()
  return {
    get settings() {
      return settings
    },
    get pxPerMm() {
      return pxPerMm
    },
    get awake() {
      return awake
    },
    change(part) {
      settings = { ...settings, ...part }
      saveSettings(settings)
      dress()
    },
    touch: stayAwake,
  }
}

/** Puts the sizes of type for this screen on the page; returns its CSS px in a millimetre. */
function fitToScreen({ pxPerMm, distanceM }: Settings): number {
  const sizes = typeSizes({ width: innerWidth, height: innerHeight, pxPerMm, distanceM })
  putSizes(document.documentElement, sizes)
  return sizes.mm
}

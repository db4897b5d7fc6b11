import type { LiveFrame } from '../../src/schema/messages/shown.ts'
import { SETTING_LIST } from '../words/words-of-forms.ts'

/** A column of the list; a person writes into two of them as found, into one as left. */
export type SettingColumn = 'found' | 'job' | 'left'

export interface SettingRow {
  readonly name: string
  readonly found: string
  readonly job: string
  readonly left: string
  readonly reason: string
  /** Left is written and is not what was found: the record wants to know why. */
  readonly asksReason: boolean
}

/** The set's own settings, to be written down. */
export interface SettingListView {
  readonly title: string
  /** Columns that can be written now; none on a page that does not steer. */
  readonly writes: readonly SettingColumn[]
  readonly rows: readonly SettingRow[]
  readonly guide: string
}

export function settingListOf(frame: LiveFrame, steers: boolean): SettingListView {
  const left = frame.step?.pass === 'left'
  const writes: readonly SettingColumn[] = left ? ['left'] : ['found', 'job']
  return {
    title: SETTING_LIST.title[left ? 'left' : 'found'],
    writes: steers && frame.offers.includes('note setting') ? writes : [],
    rows: frame.settings.map((one) => ({ ...one, asksReason: left && one.left !== '' && one.left !== one.found })),
    guide: frame.guide.words,
  }
}

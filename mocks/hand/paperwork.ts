import type { FromPage, LiveFrame, SettingView } from '../../src/schema/messages/shown.ts'
import { isBandId } from '../plant/channels.ts'
import { hasSetting, type SimulatedSet } from '../plant/simulated-set.ts'

type Note = Omit<Extract<FromPage, { kind: 'note setting' }>, 'id'>

/** A key-down of the sheet lasts up to 20 s; a set that unkeys itself sooner is told not to. */
const LEAST_TIMEOUT_S = 30
const LONG_TIMEOUT = '60 s'

/** What is to be written down of the set's settings, as acts of a person reading its menu; in the last pass each is put back first. */
export function settingsActs(frame: LiveFrame, set: SimulatedSet, note: (note: Note) => void): readonly (() => void)[] {
  const left = frame.step?.pass === 'left'
  return frame.settings.flatMap((one) => {
    if (left) return one.left === '' ? [() => leave(set, one, note)] : []
    return one.found === '' || one.job === '' ? [() => find(set, one, note)] : []
  })
}

function shown(set: SimulatedSet, name: string): string {
  return set.settings()[name] ?? 'not fitted'
}

function find(set: SimulatedSet, { name, found, job }: SettingView, note: (note: Note) => void): void {
  const value = shown(set, name)
  if (found === '') note({ kind: 'note setting', name, column: 'found', value })
  if (job !== '') return
  const seconds = /^(\d+) s$/.exec(value)
  if (/time-out/.test(name) && seconds && Number(seconds[1]) < LEAST_TIMEOUT_S) set.setting(name, LONG_TIMEOUT)
  note({ kind: 'note setting', name, column: 'job', value: shown(set, name) })
}

function leave(set: SimulatedSet, { name, found }: SettingView, note: (note: Note) => void): void {
  if (hasSetting(name, found) && shown(set, name) !== found) set.setting(name, found)
  const value = shown(set, name)
  const reason = found === '' ? 'nobody wrote down how it was found' : 'the set does not take the old value back'
  note({ kind: 'note setting', name, column: 'left', value, ...(value === found ? {} : { reason }) })
}

/** What an action asks for besides turning something: band, channel, cover, load, microphone. Words it does not know ask for nothing. */
export function handActs(words: string, set: SimulatedSet): readonly (() => void)[] {
  const acts: (() => void)[] = []
  const band = /band keys/i.test(words) ? words.split(/[^A-Za-z0-9-]+/).find(isBandId) : undefined
  const channel = /channel (\d+)/i.exec(words)?.[1]
  if (band !== undefined) acts.push(() => set.powerOnBand(band))
  if (channel !== undefined) acts.push(() => set.channel(Number(channel)))
  if (/cover off/i.test(words)) acts.push(() => set.cover(false))
  if (/load on/i.test(words)) acts.push(() => set.load(true))
  if (/own microphone in/i.test(words)) acts.push(() => set.microphone('own'))
  else if (/oscillator in\b/i.test(words)) acts.push(() => set.microphone('oscillator'))
  else if (/oscillator (lead )?(out|off)\b/i.test(words)) acts.push(() => set.microphone('nothing'))
  if (/hands off|tool out|cover on/i.test(words)) acts.push(() => set.hand(null))
  if (/cover on/i.test(words)) acts.push(() => set.cover(true))
  return acts
}

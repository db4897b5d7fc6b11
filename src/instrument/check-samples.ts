import type { FieldFault } from '../schema/door/field-fault.ts'
import { nearest } from '../schema/door/nearest.ts'
import type { DriverFile } from '../schema/files/driver-file.ts'
import type { ReadingRow, SettingRow, StateRow } from '../schema/files/driver-rows.ts'
import { headerProblem } from '../scpi/header.ts'
import { decodeReply } from './decode-reply.ts'
import { DECODERS } from './decoders.ts'
import { agrees, messageOfSwitch, messageOfValue, stateRead, switchRead, valueRead } from './setting-message.ts'

/** Every sample of a driver that does not decode to its value, by the code that reads real replies; decoders that do not exist; misspelt messages. */
export function sampleFaults(driver: DriverFile): readonly FieldFault[] {
  const samples = [
    ...driver.readings.flatMap(readingFaults),
    ...driver.settings.flatMap(settingFaults),
    ...driver.states.flatMap(stateFaults),
  ]
  return driver.link?.resync === 'sentinel' ? [...samples, ...messageFaults(driver)] : samples
}

/** An instrument of IEEE 488.2 (it has the sentinel) takes headers of one form; older ones take anything. */
function messageFaults(driver: DriverFile): readonly FieldFault[] {
  return [
    ...driver.readings.flatMap((row) => messageFault(['readings', row.quantity, 'ask'], row.ask)),
    ...driver.settings.flatMap((row) => messageFault(['settings', row.name, 'tell'], row.sample.message)),
    ...driver.states.flatMap((row) => messageFault(['states', row.name, 'ask'], row.ask)),
    ...driver.functions.flatMap(({ name, select, readBack }) => [
      ...select.flatMap((message) => messageFault(['functions', name, 'select'], message)),
      ...messageFault(['functions', name, 'read back'], readBack),
    ]),
    ...driver.start.flatMap((message, index) => messageFault(['start', index], message)),
    ...driver.stop.flatMap((message, index) => messageFault(['stop', index], message)),
    ...(driver.stand?.answers ?? []).flatMap(({ ask }) => messageFault(['settings stand when', 'answers', ask], ask)),
  ]
}

type Path = FieldFault['path']

const FORMS = ['number', 'two numbers', 'fixed', ...Object.keys(DECODERS)]

const faultAt = (path: Path, words: string): readonly FieldFault[] => [{ path, at: 'value', words }]

function readingFaults(row: ReadingRow): readonly FieldFault[] {
  const path = ['readings', row.quantity]
  if (!FORMS.includes(row.reply)) return faultAt([...path, 'reply'], unknownDecoder(row.reply))
  return row.samples.flatMap((sample) => sampleFault(row, sample))
}

function sampleFault(row: ReadingRow, sample: ReadingRow['samples'][number]): readonly FieldFault[] {
  const read = decodeReply(row, sample.reply)
  const [first] = sample.value
  const path = ['readings', row.quantity, 'sample']
  const said = read.state === 'good' ? (read.parts ?? [read.value]).join(' and ') : read.state
  const words = `"${sample.reply}" decodes to ${said}${read.state === 'good' ? ` ${row.unit}` : ''}, not to ${wanted(row, sample.value)}`
  if (!first) return faultAt(path, 'names no value')
  if (first.state !== 'good') return read.state === first.state ? [] : faultAt(path, words)
  const values = read.parts ?? (read.value === null ? [] : [read.value])
  const same =
    values.length === sample.value.length &&
    values.every((value, index) => close(value, sample.value[index]?.value ?? null))
  return same ? [] : faultAt(path, words)
}

function wanted(row: ReadingRow, values: ReadingRow['samples'][number]['value']): string {
  return values.map((one) => (one.value === null ? one.state : `${one.value} ${row.unit}`)).join(' and ')
}

function settingFaults(row: SettingRow): readonly FieldFault[] {
  const path = ['settings', row.name]
  const { sample } = row
  const message = row.kind === 'value' ? messageOfValue(row, row.sample.value) : messageOfSwitch(row, row.sample.value)
  const told =
    message === sample.message
      ? []
      : faultAt([...path, 'sample', 'message'], `this row sends "${message}", not "${sample.message}"`)
  if (sample.reply === null) return told
  const read = row.kind === 'value' ? valueRead(row, sample.reply) : switchRead(row, sample.reply)
  const right =
    row.kind === 'value' ? typeof read === 'number' && agrees(row, row.sample.value, read) : read === row.sample.value
  const words = `"${sample.reply}" decodes to ${read ?? 'nothing'}, not to ${sample.value}`
  return [...told, ...(right ? [] : faultAt([...path, 'sample', 'reply'], words))]
}

function stateFaults(row: StateRow): readonly FieldFault[] {
  const path = ['states', row.name]
  const wrong = row.samples.filter((sample) => stateRead(row, sample.reply) !== sample.value)
  const words = wrong.map(
    (sample) => `"${sample.reply}" decodes to ${stateRead(row, sample.reply) ?? 'nothing'}, not to ${sample.value}`,
  )
  return words.flatMap((one) => faultAt([...path, 'sample'], one))
}

function messageFault(path: Path, message: string | null): readonly FieldFault[] {
  if (message === null) return []
  const problem = headerProblem(message)
  return problem === null ? [] : faultAt(path, problem)
}

function unknownDecoder(name: string): string {
  const near = nearest(name, FORMS)
  return near
    ? `unknown form of reply; did you mean "${near}"?`
    : `unknown form of reply; right here are: ${FORMS.join(', ')}`
}

function close(read: number, sample: number | null): boolean {
  return sample !== null && Math.abs(read - sample) <= 1e-9 * Math.max(Math.abs(read), Math.abs(sample))
}

import { describe, expect, test } from 'vitest'
import type { FromPage } from '../../../src/schema/messages/live-frame.ts'
import { JobBench, METERS, WHOLE_SHEET } from '../../kit/job/job-bench.ts'

/** A request that is refused changes nothing but the clock on the wall. */
function refused(bench: JobBench, request: { readonly kind: FromPage['kind'] } & Record<string, unknown>): string {
  const { wall: _, ...before } = bench.job
  const effects = bench.effects.length
  const { ok, words } = bench.ask(request)
  const { wall: __, ...after } = bench.job
  expect(ok).toBe(false)
  expect(words).not.toBe('')
  expect(after).toEqual(before)
  expect(bench.effects).toHaveLength(effects)
  return words
}

function accepted(bench: JobBench, request: { readonly kind: FromPage['kind'] } & Record<string, unknown>): string {
  const { ok, words } = bench.ask(request)
  expect({ ok, words }).toMatchObject({ ok: true })
  return words
}

/** The whole sheet with the lines that have to come first left out. */
function sheet(...left: readonly string[]): JobBench {
  const bench = new JobBench(METERS, { procedure: WHOLE_SHEET })
  for (const step of left) bench.ask({ kind: 'leave out', step, reason: 'not for this test' })
  return bench
}

const FOUND = ['control-voltage.found', 'frequency.found', 'power-normal.found', 'deviation.found']
const line = (bench: JobBench, id: string) => bench.job.plan.lines.findIndex((one) => one.id === id)

describe('what is asked for at the wrong time is refused and changes nothing', () => {
  test.each([
    { kind: 'confirm' },
    { kind: 'capture', by: 'key' },
    { kind: 'next' },
    { kind: 'keep' },
    { kind: 'again' },
    { kind: 'go on' },
    { kind: 'take back' },
    { kind: 'explain', mark: 1, words: 'x' },
    { kind: 'note setting', name: 'no such', column: 'found', value: 'on' },
    { kind: 'open step', step: 'nowhere' },
    { kind: 'leave out', step: 'nowhere', reason: 'x' },
    { kind: 'here' },
    { kind: 'steer' },
    { kind: 'type in', value: 1 },
    { kind: 'start job' },
  ] as const)('%j while a step is read', (request) => {
    refused(new JobBench(), request)
  })

  test('ready while it is measured, or done', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    refused(bench, { kind: 'ready' })
    bench.shows.set('DC voltage', 2.4 / 1.01)
    for (let at = 0; at < 300 && bench.job.phase.name !== 'done'; at++) bench.run(0.05)
    expect(bench.job.phase.name).toBe('done')
    refused(bench, { kind: 'ready' })
    refused(bench, { kind: 'keep' })
    refused(bench, { kind: 'capture', by: 'key' })
  })

  test('next and again with the key down', () => {
    const bench = new JobBench()
    bench.begin('power-normal')
    bench.shows.set('RF power', 3.7).set('frequency', 27_205_000)
    bench.run(2.1)
    bench.key(true)
    for (let at = 0; at < 60 && bench.job.phase.name !== 'done'; at++) bench.run(0.25)
    expect(bench.job.phase.name).toBe('done')
    refused(bench, { kind: 'next' })
    refused(bench, { kind: 'again' })
  })

  test('opening a step while the supply is off for safety: "go on" first', () => {
    const bench = new JobBench()
    bench.begin('control-voltage')
    accepted(bench, { kind: 'stop' })
    refused(bench, { kind: 'open step', step: 'power' })
    accepted(bench, { kind: 'go on' })
    expect(bench.job.armed).toBeNull()
    expect(bench.job.phase.name).toBe('read')
    accepted(bench, { kind: 'open step', step: 'power' })
  })
})

describe('what has to come first', () => {
  test('the first key-down before any other that is keyed; nothing that is read in receive waits for it', () => {
    const bench = sheet(...FOUND)
    accepted(bench, { kind: 'open step', step: 'control-keyed' })
    refused(bench, { kind: 'ready' })
    bench.begin('control-low')
    expect(bench.job.armed).not.toBeNull()
    accepted(bench, { kind: 'open step', step: 'first-key' })
    accepted(bench, { kind: 'ready' })
    const after = sheet(...FOUND, 'first-key')
    accepted(after, { kind: 'open step', step: 'control-keyed' })
    accepted(after, { kind: 'ready' })
  })

  test('as found before anything is turned, each of them by name; left out is read enough', () => {
    const bench = sheet('first-key', ...FOUND.slice(1))
    accepted(bench, { kind: 'open step', step: 'control-voltage' })
    const words = refused(bench, { kind: 'ready' })
    const found = bench.job.plan.lines[line(bench, FOUND[0] ?? '')]
    expect(words).toContain(found?.step.title)
    const other = bench.job.plan.lines[line(bench, FOUND[1] ?? '')]
    expect(words).not.toContain(other?.step.title)
    accepted(bench, { kind: 'leave out', step: FOUND[0], reason: 'not for this test' })
    accepted(bench, { kind: 'open step', step: 'control-voltage' })
    accepted(bench, { kind: 'ready' })
  })

  test('once something is turned, as found is closed', () => {
    const bench = sheet('first-key', ...FOUND)
    bench.begin('control-voltage')
    expect(bench.job.turned).toBe(true)
    refused(bench, { kind: 'open step', step: FOUND[0] })
    const fresh = sheet('first-key')
    accepted(fresh, { kind: 'open step', step: FOUND[1] })
  })
})

describe('settings of the set', () => {
  const NAMES = ['band', 'key click', 'time-out timer', 'brightness', 'end-of-call tone', 'call channel']
  const noted = (bench: JobBench, column: string, value = 'on', more = {}) => {
    for (const { name } of bench.job.settings) accepted(bench, { kind: 'note setting', name, column, value, ...more })
  }

  test('as found is what the job uses, unless it says otherwise; blanks around a value are none of it', () => {
    const bench = sheet()
    expect(bench.job.settings.map(({ name }) => name)).toEqual(NAMES)
    accepted(bench, { kind: 'note setting', name: 'key click', column: 'found', value: ' on ' })
    expect(bench.job.settings[1]).toEqual({ name: 'key click', found: 'on', job: 'on', left: '', reason: '' })
    accepted(bench, { kind: 'note setting', name: 'key click', column: 'job', value: 'off' })
    accepted(bench, { kind: 'note setting', name: 'key click', column: 'found', value: 'low' })
    expect(bench.job.settings[1]).toMatchObject({ found: 'low', job: 'off' })
    expect(bench.job.settings[0]).toMatchObject({ found: '', job: '' })
  })

  test('the list as found is done when each is written down', () => {
    const bench = sheet()
    accepted(bench, { kind: 'open step', step: 'settings-found' })
    expect(bench.job.phase.name).toBe('settings')
    expect(refused(bench, { kind: 'ready' })).toContain('time-out timer')
    noted(bench, 'found')
    accepted(bench, { kind: 'note setting', name: 'band', column: 'found', value: '' })
    expect(refused(bench, { kind: 'ready' })).toMatch(/band/)
    accepted(bench, { kind: 'note setting', name: 'band', column: 'found', value: 'cept' })
    accepted(bench, { kind: 'ready' })
    expect(bench.job.results[line(bench, 'settings-found')]?.state).toBe('done')
  })

  test('the list as left, when each is as it was found, or has a reason', () => {
    const bench = sheet()
    noted(bench, 'found')
    noted(bench, 'left')
    accepted(bench, { kind: 'note setting', name: 'brightness', column: 'left', value: '5' })
    accepted(bench, { kind: 'open step', step: 'settings-left' })
    const words = refused(bench, { kind: 'ready' })
    expect(words).toContain('brightness')
    expect(words).not.toContain('key click')
    accepted(bench, { kind: 'note setting', name: 'brightness', column: 'left', value: '5', reason: ' asked for ' })
    expect(bench.job.settings[3]).toMatchObject({ left: '5', reason: 'asked for' })
    accepted(bench, { kind: 'ready' })
    expect(bench.job.results[line(bench, 'settings-left')]?.state).toBe('done')
  })

  test('as found cannot be written anew once something is turned; what was never written still can', () => {
    const bench = sheet('first-key', ...FOUND)
    accepted(bench, { kind: 'note setting', name: 'band', column: 'found', value: 'cept' })
    bench.begin('control-voltage')
    refused(bench, { kind: 'note setting', name: 'band', column: 'found', value: 'uk' })
    accepted(bench, { kind: 'note setting', name: 'band', column: 'left', value: 'cept' })
    accepted(bench, { kind: 'note setting', name: 'brightness', column: 'found', value: '3' })
  })

  test('a job on which something was turned is not closed past a list that is not in order; left out with a reason it is', () => {
    const bench = sheet('first-key', ...FOUND)
    bench.begin('control-voltage')
    refused(bench, { kind: 'close job' })
    accepted(bench, { kind: 'leave out', step: 'settings-left', reason: 'set went back' })
    accepted(bench, { kind: 'close job' })
    expect(bench.job.phase.name).toBe('finished')
    expect(bench.output).toBe('off')
    expect(bench.did('tone off').length).toBeGreaterThan(0)
    const untouched = sheet()
    accepted(untouched, { kind: 'close job' })
    const inOrder = sheet('first-key', ...FOUND)
    noted(inOrder, 'found')
    noted(inOrder, 'left')
    inOrder.begin('control-voltage')
    accepted(inOrder, { kind: 'close job' })
  })
})

describe('leaving out', () => {
  test('the step that is open opens the next one; another one, or while it is stopped, changes nothing else', () => {
    const bench = new JobBench()
    const { at } = bench.job
    accepted(bench, { kind: 'leave out', step: 'power', reason: 'later' })
    expect(bench.job.at).toBe(at)
    expect(bench.job.results[bench.job.plan.lines.findIndex(({ id }) => id === 'power')]).toEqual({
      state: 'left out',
      reason: 'later',
    })
    bench.begin('control-voltage')
    accepted(bench, { kind: 'stop' })
    accepted(bench, { kind: 'leave out', step: 'control-voltage', reason: 'later' })
    expect(bench.job.phase.name).toBe('stopped')
  })
})

describe('marks', () => {
  test('are explained by their number, and not before there are so many', () => {
    const bench = new JobBench()
    accepted(bench, { kind: 'mark' })
    accepted(bench, { kind: 'explain', mark: 1, words: 'the prod slipped' })
    refused(bench, { kind: 'explain', mark: 2, words: 'x' })
    expect(bench.job.marks).toHaveLength(1)
  })
})

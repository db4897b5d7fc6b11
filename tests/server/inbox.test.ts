import { expect, test } from 'vitest'
import { openAllowance, openInbox } from '../../src/server/inbox.ts'
import { virtualClock } from '../../src/system/virtual-clock.ts'

const ready = (id: string) => JSON.stringify({ kind: 'ready', id })
const HERE = JSON.stringify({ kind: 'here', visible: true })

test.each([
  ['a sign of life', { kind: 'here', visible: false }],
  ['a request', { kind: 'leave out', id: 'a1', step: 'drive', reason: 'mode not legal here' }],
])('understands %s', (_, message) => {
  expect(openInbox(virtualClock())(JSON.stringify(message), false)).toEqual({ ok: true, message })
})

test.each([
  ['bytes', ready('a'), true, '', 'it sent bytes, not text'],
  ['no text', '', false, '', 'it sent 0 characters that are not JSON'],
  ['half a message', '{"kind":"ready","id"', false, '', 'it sent 20 characters that are not JSON'],
  ['a number', '5', false, '', 'message: Invalid input: expected object'],
  ['a list', '[]', false, '', 'message: Invalid input: expected object'],
  ['null', 'null', false, '', 'message: Invalid input: expected object'],
  ['deep brackets', '['.repeat(30_000), false, '', 'it sent 30000 characters that are not JSON'],
  [
    'an unknown kind',
    '{"kind":"set supply","id":"a","volts":99}',
    false,
    'a',
    "kind: Invalid discriminator value. Expected 'here' | 'watch'",
  ],
  ['no id', '{"kind":"ready"}', false, '', 'id: Invalid input: expected string, received undefined'],
  [
    'an id that is a number',
    '{"kind":"ready","id":7}',
    false,
    '',
    'id: Invalid input: expected string, received number',
  ],
  ['a field too many', '{"kind":"ready","id":"a","volts":99}', false, 'a', 'message: Unrecognized key: "volts"'],
  [
    'a wrong field',
    '{"kind":"capture","id":"a","by":"dwell"}',
    false,
    'a',
    'by: Invalid option: expected one of "key"|"click"',
  ],
  [
    'two wrong fields',
    '{"kind":"leave out","id":"a","step":5,"reason":"x"}',
    false,
    'a',
    'step: Invalid input: expected string, received number; reason: Too small: expected string to have >=3 characters',
  ],
  [
    'a prototype',
    '{"kind":"ready","id":"a","__proto__":{"x":1}}',
    false,
    'a',
    'message: Unrecognized key: "__proto__"',
  ],
])('refuses %s and says what is wrong', (_, text, binary, id, happened) => {
  const heard = openInbox(virtualClock())(text, binary)
  expect(heard).toMatchObject({ ok: false, id })
  expect(!heard.ok && heard.happened).toContain(happened)
})

test('takes 20 messages at once, refuses the next ones, takes one more each 50 ms', async () => {
  const clock = virtualClock()
  const read = openInbox(clock)
  const taken = () =>
    Array.from({ length: 30 }, (_, index) => read(ready(`r${index}`), false)).filter((heard) => heard.ok)
  expect(taken()).toHaveLength(20)
  expect(read(ready('late'), false)).toEqual({
    ok: false,
    id: 'late',
    happened: 'it sent more than 20 messages in a second',
  })
  await clock.advance(49)
  expect(read(ready('early'), false).ok).toBe(false)
  await clock.advance(1)
  expect(read(ready('due'), false).ok).toBe(true)
  await clock.advance(60_000)
  expect(taken()).toHaveLength(20) // no more is saved up than that
})

test('takes 5 signs of life a second beside the 20 messages, more than that count as messages', () => {
  const read = openInbox(virtualClock())
  const kinds = [...Array<string>(6).fill(HERE), ...Array.from({ length: 20 }, (_, index) => ready(`r${index}`))]
  expect(kinds.map((text) => read(text, false).ok)).toEqual([...Array<boolean>(25).fill(true), false])
})

test('counts what is refused as well, so that rubbish is not free', () => {
  const read = openInbox(virtualClock())
  for (let count = 0; count < 20; count += 1) read('rubbish', false)
  expect(read('rubbish', false)).toMatchObject({ happened: 'it sent more than 20 messages in a second' })
})

test('an allowance of 10 with one more every 10 s is used up by 10 tries', async () => {
  const clock = virtualClock()
  const allow = openAllowance(10, 0.1, clock)
  expect(Array.from({ length: 11 }, allow)).toEqual([...Array<boolean>(10).fill(true), false])
  await clock.advance(10_000)
  expect([allow(), allow()]).toEqual([true, false])
})
